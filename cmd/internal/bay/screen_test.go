package bay

import (
	"context"
	"errors"
	"io"
	"strings"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/lipgloss"
	"github.com/charmbracelet/x/ansi"
	"github.com/google/go-cmp/cmp"
	"github.com/muesli/termenv"

	"daytank/procedures/checklist"
	"daytank/procedures/checklist/rehearsal"
	"daytank/procedures/record"
	"daytank/procedures/store"
)

// fits holds the screen against its size.
func (r *rig) fits(width, height int) {
	r.t.Helper()
	r.send(tea.WindowSizeMsg{Width: width, Height: height})
	lines := strings.Split(r.s.View(), "\n")
	if len(lines) != height {
		r.t.Errorf("%s %s at %d x %d: %d lines", r.s.ask.Kind, r.s.ask.Step.ID, width, height, len(lines))
	}
	for _, l := range lines {
		if w := lipgloss.Width(l); w > width {
			r.t.Errorf("%s %s at %d x %d: %d columns: %q", r.s.ask.Kind, r.s.ask.Step.ID, width, height, w, l)
		}
	}
}

// Over a whole walk no line is wider than the screen, at any of many sizes.
func TestNothingIsWiderThanTheScreen(t *testing.T) {
	r := newRig(t, store.OpenMemory()).begin()
	i := 0
	for !r.s.over() {
		for _, width := range []int{40, 41, 60, 80, 120} {
			r.fits(width, 12+(i*7)%29)
			i++
		}
		r.planned()
	}
	if i < 500 {
		t.Errorf("%d screens only", i)
	}
}

// At every size from 40 x 12 to 120 x 40 the question and the line to type in
// are there, in whatever state of the screen.
func TestEverySize(t *testing.T) {
	for _, screen := range screens {
		t.Run(screen.name, func(t *testing.T) {
			t.Parallel()
			r := newRig(t, store.OpenMemory(), screen.set...)
			screen.come(r)
			for width := 40; width <= 120; width += 8 {
				for height := 12; height <= 40; height += 4 {
					r.fits(width, height)
					if r.s.panel == noPanel && !strings.Contains(r.s.View(), "_") {
						t.Fatalf("no line to type in at %d x %d:\n%s", width, height, r.s.View())
					}
				}
			}
		})
	}
}

// Even a screen too small for anything holds together.
func TestTinyScreens(t *testing.T) {
	r := newRig(t, store.OpenMemory()).untilStep("pump-dead")
	for width := 1; width < 130; width += 1 + width/40 {
		for height := 1; height < 12; height++ {
			r.fits(width, height)
		}
	}
}

// Everything of a long step can be read by scrolling.
func TestLongStepIsScrolled(t *testing.T) {
	r := newRig(t, store.OpenMemory()).untilStep("pump-dead")
	r.send(tea.WindowSizeMsg{Width: 60, Height: 16})
	if strings.Contains(r.s.View(), "open line.") || !strings.Contains(r.s.View(), "more (Down)") {
		t.Fatalf("nothing to scroll:\n%s", r.s.View())
	}
	for range 40 {
		r.press(tea.KeyDown)
		r.s.View()
	}
	if view := r.s.View(); !strings.Contains(view, "open line.") || strings.Contains(view, "more (Down)") {
		t.Errorf("the end is not seen:\n%s", view)
	}
	if r.s.ask.Step.ID != "pump-dead" {
		t.Errorf("asks %s", r.s.ask.Step.ID)
	}
}

// Without colours nothing is lost: the text is the same, and each colour stands
// behind its word.
func TestColoursStandBehindWords(t *testing.T) {
	renderer := lipgloss.NewRenderer(io.Discard)
	renderer.SetColorProfile(termenv.ANSI256)
	renderer.SetHasDarkBackground(false)
	for _, c := range []struct {
		word, colour string
		come         func(r *rig)
	}{
		{"STOP", "48;5;160", func(r *rig) { r.untilKind(checklist.AskRelease) }},
		{"CAUTION", "48;5;220", func(r *rig) { r.untilKind(checklist.AskAcknowledge) }},
		{"DO", "48;5;26", func(r *rig) { r.untilStep("pump-dead") }},
		{"SAFE", "48;5;28", func(r *rig) { r.untilKind(checklist.AskTick).typed("p") }},
	} {
		r := newRig(t, store.OpenMemory())
		c.come(r)
		grey := r.s.View()
		r.s.painter = painterOf(renderer)
		painted := r.s.View()
		if diff := cmp.Diff(grey, ansi.Strip(painted)); diff != "" {
			t.Errorf("%s: the colours change the text:\n%s", c.word, diff)
		}
		if !strings.Contains(painted, c.colour+"m"+c.word) {
			t.Errorf("%s is not painted with %s:\n%q", c.word, c.colour, painted)
		}
	}
}

// The walk is left with everything kept, whichever way it ends.
func TestLeaving(t *testing.T) {
	for _, c := range []struct {
		name   string
		key    tea.KeyType
		reason string
	}{
		{"interrupt", tea.KeyCtrlC, "signal: interrupt"},
		{"end of the input", tea.KeyCtrlD, "the input has ended"},
	} {
		r := newRig(t, store.OpenMemory()).untilKind(checklist.AskProof)
		before := len(r.events())
		r.press(c.key)
		if diff := cmp.Diff(Result{Left, c.reason}, r.s.result); diff != "" {
			t.Errorf("%s (-want +got):\n%s", c.name, diff)
		}
		if diff := cmp.Diff([]record.Kind{record.KindPaused}, r.kinds(before)); diff != "" {
			t.Errorf("%s (-want +got):\n%s", c.name, diff)
		}
	}
}

// p shows the list; Enter leaves, Esc does not.
func TestLeaveSafe(t *testing.T) {
	r := newRig(t, store.OpenMemory()).untilKind(checklist.AskTick)
	before := len(r.events())
	r.typed("p")
	if view := r.s.View(); !strings.Contains(view, "Key off and out") {
		t.Errorf("no list:\n%s", view)
	}
	r.press(tea.KeyEsc)
	if r.s.over() || len(r.events()) != before {
		t.Fatal("Esc has left the walk")
	}
	r.typed("p")
	r.press(tea.KeyEnter)
	if r.s.result.Ending != LeftSafe {
		t.Errorf("ended %q", r.s.result.Ending)
	}
	if diff := cmp.Diff([]record.Kind{record.KindPaused}, r.kinds(before)); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

// Left where a stop keeps the walk from going on it is refused by safety.
func TestLeftAtAStop(t *testing.T) {
	r := newRig(t, store.OpenMemory()).untilStep("fuel-sample")
	r.line("water")
	r.untilKind(checklist.AskBlocked)
	if view := r.s.View(); !strings.Contains(view, "STOP what was found at the vehicle") || !strings.Contains(view, "fuel-sample: water") {
		t.Errorf("the stop does not say what it is about:\n%s", view)
	}
	r.typed("p")
	r.press(tea.KeyEnter)
	if r.s.result.Ending != Refused {
		t.Errorf("ended %q", r.s.result.Ending)
	}
}

// Commands do what they do in plain lines, on questions in words behind Enter,
// on others at once.
func TestCommands(t *testing.T) {
	r := newRig(t, store.OpenMemory()).untilStep("fuel-sample")
	before := len(r.events())
	r.line("n a clear jar")
	r.line("n")
	r.line("with a lid")
	r.line("s")
	r.line("no jar at hand")
	want := []record.Kind{record.KindNote, record.KindNote, record.KindStepSkipped, record.KindStepStarted}
	if diff := cmp.Diff(want, r.kinds(before)); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	r.line("< 5")
	if r.s.ask.Number != 5 {
		t.Errorf("asks step %d after < 5: %s", r.s.ask.Number, r.s.saying)
	}
	if r.typed("w"); r.s.Whys {
		t.Error("w does not hide why")
	}
	if r.typed("g"); !r.s.glance {
		t.Error("g does not show the glance view")
	}
	if r.typed("?"); r.s.panel != panelHelp {
		t.Error("? does not help")
	}
}

// A presenter ticks and goes back, and does nothing else.
func TestPresenter(t *testing.T) {
	r := newRig(t, store.OpenMemory()).untilStep("parked")
	r.press(tea.KeyPgDown)
	if r.s.ask.Step.ID != "vehicle-quiet" {
		t.Fatalf("asks %s", r.s.ask.Step.ID)
	}
	r.press(tea.KeyPgUp)
	if r.s.ask.Step.ID != "parked" {
		t.Fatalf("asks %s", r.s.ask.Step.ID)
	}
	r.untilStep("air-temperature").press(tea.KeyPgDown)
	if r.s.ask.Step.ID != "air-temperature" || !strings.Contains(r.s.saying, "wants an answer") {
		t.Errorf("asks %s, says %q", r.s.ask.Step.ID, r.s.saying)
	}
}

// What another terminal has changed ends the walk here.
func TestAnotherTerminal(t *testing.T) {
	r := newRig(t, store.OpenMemory()).untilKind(checklist.AskTick)
	other, err := r.bench.Resume(t.Context(), r.s.Sitting.Summary.Job)
	if err != nil {
		t.Fatal(err)
	}
	if err := other.Answer(t.Context(), checklist.Input{Do: checklist.AddNote, Text: "from elsewhere"}); err != nil {
		t.Fatal(err)
	}
	r.press(tea.KeyEnter)
	if !errors.Is(r.s.err, store.ErrMoved) || !r.s.over() {
		t.Errorf("error %v", r.s.err)
	}
}

// full keeps nothing while it is full.
type full struct {
	store.Store
	now bool
}

var errFull = errors.New("disk full")

func (f *full) Append(ctx context.Context, at record.Head, events []record.Event, blobs ...record.Blob) error {
	if f.now {
		return errFull
	}
	return f.Store.Append(ctx, at, events, blobs...)
}

// What cannot be stored is not shown as done. The screen stays, and an
// emergency is shown all the same.
func TestNothingIsShownThatIsNotStored(t *testing.T) {
	kept := &full{Store: store.OpenMemory()}
	r := newRig(t, kept).untilKind(checklist.AskTick)
	asked := r.s.ask.Step.ID
	kept.now = true
	r.press(tea.KeyEnter)
	if r.s.ask.Step.ID != asked || !strings.Contains(r.s.View(), "disk full") {
		t.Errorf("asks %s:\n%s", r.s.ask.Step.ID, r.s.View())
	}
	kept.now = false
	r.press(tea.KeyEnter)
	if r.s.ask.Step.ID == asked {
		t.Error("the second try was not taken")
	}
	kept.now = true
	r.press(tea.KeyF1)
	if r.s.panel != panelKeyOff || !strings.Contains(r.s.View(), "Not in the record") {
		t.Errorf("panel %d:\n%s", r.s.panel, r.s.View())
	}
}

// A proof that lapses in a break is asked again, and what is being typed then is
// no answer to it.
func TestLapseWhileTyping(t *testing.T) {
	r := newRig(t, store.OpenMemory()).untilStep("lines-open")
	r.typed("dea")
	r.pass(2 * time.Hour)
	if r.s.ask.Kind != checklist.AskProof || len(r.s.input) > 0 {
		t.Errorf("asks %s %s, the line holds %q", r.s.ask.Kind, r.s.ask.Step.ID, string(r.s.input))
	}
}

// A walk is taken up where it was left, with what it had: also the readings of
// a run, and the plan.
func TestTakenUp(t *testing.T) {
	r := newRig(t, store.OpenMemory()).untilPart(checklist.RunReading)
	r.pass(30 * time.Second)
	r.line("1320 28")
	seconds := r.s.emptyIn()
	at, err := r.bench.Resume(t.Context(), r.s.Sitting.Summary.Job)
	if err != nil {
		t.Fatal(err)
	}
	r.open(at, true)
	view := r.s.View()
	for _, want := range []string{"level  1320 mL", "container 28 °C", "return slips: " + seconds, "Taken up where it was left"} {
		if !strings.Contains(view, want) {
			t.Errorf("%q is not there:\n%s", want, view)
		}
	}
}

// Where nothing counts down the clock is looked at rarely, and nothing changes
// on the screen.
func TestQuietWhenNothingChanges(t *testing.T) {
	r := newRig(t, store.OpenMemory()).untilKind(checklist.AskTick)
	r.s.Sleep = func(context.Context, time.Duration) {}
	if r.s.next(); r.s.waiting != quiet {
		t.Errorf("looks every %v at a tick", r.s.waiting)
	}
	before := r.s.View()
	r.wall, r.hands = r.wall.Add(30*time.Second), r.hands+30*time.Second
	r.s.Update(tickMsg{r.s.tick})
	if diff := cmp.Diff(before, r.s.View()); diff != "" {
		t.Errorf("half a minute has changed it:\n%s", diff)
	}
	r.s.Sleep = nil
	r.untilKind(checklist.AskWait)
	r.s.Sleep = func(context.Context, time.Duration) {}
	r.s.waiting = 0
	if r.s.next(); r.s.waiting != counting {
		t.Errorf("looks every %v at a wait", r.s.waiting)
	}
	if r.s.next() != nil {
		t.Error("a second tick is waited for")
	}
	if _, cmd := r.s.Update(tickMsg{r.s.tick - 1}); cmd != nil {
		t.Error("an old tick counts")
	}
}

// In a window too small to read the step nothing is taken for an answer, and it says so; the
// emergency is called out all the same, and the run goes on at any size.
func TestTooSmallToRead(t *testing.T) {
	r := newRig(t, store.OpenMemory())
	for _, size := range []tea.WindowSizeMsg{{Width: leastColumns - 1, Height: 24}, {Width: 80, Height: leastRows - 1}, {Width: 20, Height: 5}} {
		r.send(tea.WindowSizeMsg{Width: 80, Height: 24})
		r.untilStep("pump-dead")
		right, _ := rehearsal.Answer(r.s.ask, r.s.Sitting.State().List())
		before := len(r.events())
		r.send(size)
		r.line(right)
		if got := len(r.events()); got != before || len(r.s.input) > 0 {
			t.Errorf("%d x %d: %d events, %d before; %q typed", size.Width, size.Height, got, before, string(r.s.input))
		}
		if view := r.s.View(); !strings.Contains(view, "F1 emergency") || !strings.Contains(strings.Join(strings.Fields(view), " "), "too small") {
			t.Errorf("%d x %d does not say why:\n%s", size.Width, size.Height, view)
		}
	}
	r.press(tea.KeyF1)
	if r.s.panel != panelKeyOff {
		t.Error("no emergency in a small window")
	}
	r = newRig(t, store.OpenMemory()).untilStep("pump-dead")
	right, _ := rehearsal.Answer(r.s.ask, r.s.Sitting.State().List())
	r.send(tea.WindowSizeMsg{Width: 20, Height: 5})
	r.send(tea.WindowSizeMsg{Width: leastColumns, Height: leastRows})
	r.line(right)
	if r.s.ask.Step.ID == "pump-dead" {
		t.Errorf("not taken once there is room: %s", r.s.saying)
	}
	r.until("the run", func(a checklist.Ask) bool { return a.Kind == checklist.AskRun && a.Run.Stage > 0 })
	before := len(r.events())
	r.send(tea.WindowSizeMsg{Width: 20, Height: 5})
	r.press(tea.KeySpace)
	if len(r.events()) == before {
		t.Error("no STOP in a small window")
	}
}

// In the smallest window every line of a step is seen by scrolling.
func TestSmallestWindowShowsAll(t *testing.T) {
	r := newRig(t, store.OpenMemory()).begin()
	seen := map[checklist.AskKind]bool{}
	for !r.s.over() {
		if kind := r.s.ask.Kind; !seen[kind] && !r.s.engineRuns() {
			seen[kind] = true
			r.send(tea.WindowSizeMsg{Width: leastColumns, Height: leastRows})
			all := r.s.step(" ")
			var shown strings.Builder
			for range all {
				shown.WriteString(r.s.View())
				r.press(tea.KeyDown)
			}
			for _, l := range all {
				if !strings.Contains(shown.String(), l.text) {
					t.Errorf("%s %s never shows %q", kind, r.s.ask.Step.ID, l.text)
				}
			}
			r.send(tea.WindowSizeMsg{Width: 80, Height: 24})
		}
		r.planned()
	}
	if len(seen) < 8 {
		t.Errorf("%d kinds of questions only", len(seen))
	}
}
