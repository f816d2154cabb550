package bay

import (
	"context"
	"os"
	"strings"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/google/uuid"

	"daytank/cmd/internal/sitting"
	"daytank/planner"
	"daytank/procedures"
	"daytank/procedures/checklist"
	"daytank/procedures/checklist/rehearsal"
	"daytank/procedures/record"
	"daytank/procedures/store"
)

// rig is a screen in a test, with clocks that are set by hand: that of the
// record, and that of the hands.
type rig struct {
	t     testing.TB
	s     *Screen
	kept  store.Store
	bench sitting.Bench
	wall  time.Time
	mono  time.Duration
	hands time.Duration
	rung  int
}

// newRig opens a screen on a new job of the demo van, with changes PATH=VALUE
// made to it.
func newRig(t testing.TB, kept store.Store, set ...string) *rig {
	t.Helper()
	r := &rig{t: t, kept: kept, wall: time.Date(2026, 3, 14, 9, 0, 0, 0, time.UTC)}
	process := uuid.NewSHA1(uuid.NameSpaceOID, []byte("process"))
	r.bench = sitting.Bench{
		Store: kept, Procedures: shipped(t), EmergencyNumber: "112", Program: "test",
		NewID: func() (uuid.UUID, error) { return uuid.NewSHA1(uuid.NameSpaceOID, []byte("van")), nil },
		Now: func() record.Stamp {
			return record.Stamp{At: r.wall, MonoMS: r.mono.Milliseconds(), Run: process, By: "Tobi Fenn"}
		},
	}
	planned, err := planVan(r.bench, set...)
	if err != nil {
		t.Fatal(err)
	}
	at, err := r.bench.Begin(t.Context(), planned)
	if err != nil {
		t.Fatal(err)
	}
	r.open(at, false)
	return r
}

// open makes the screen of a sitting.
func (r *rig) open(at *sitting.Sitting, again bool) {
	r.s = New(r.t.Context(), r.config(at, again))
}

func (r *rig) config(at *sitting.Sitting, again bool) Config {
	return Config{
		Sitting: at, Operator: "Tobi Fenn", EmergencyNumber: "112", Whys: true, Again: again,
		Events: func(ctx context.Context) ([]record.Event, error) { return r.kept.Events(ctx, at.Summary.Job) },
		Now:    func() time.Time { return r.wall },
		Hands:  func() time.Duration { return r.hands },
		Alarm:  func() { r.rung++ },
	}
}

// send gives the screen a message, and rings where it wants to.
func (r *rig) send(msg tea.Msg) {
	_, cmd := r.s.Update(msg)
	if cmd != nil && r.s.Sleep == nil { // without ticks there is only the bell, or the end
		cmd()
	}
}

// pass lets time pass on all clocks, and has the screen look.
func (r *rig) pass(d time.Duration) {
	r.wall, r.mono, r.hands = r.wall.Add(d), r.mono+d, r.hands+d
	r.send(tickMsg{r.s.tick})
}

// press presses a key, as hands do.
func (r *rig) press(key tea.KeyType) {
	r.hands += 250 * time.Millisecond
	r.send(tea.KeyMsg{Type: key})
}

// type types a text, without Enter.
func (r *rig) typed(text string) {
	r.hands += 250 * time.Millisecond
	for _, c := range text {
		r.hands += 60 * time.Millisecond
		r.send(keyOf(c))
	}
}

func keyOf(c rune) tea.KeyMsg {
	if c == ' ' {
		return tea.KeyMsg{Type: tea.KeySpace, Runes: []rune{' '}}
	}
	return tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune{c}}
}

// line types a line.
func (r *rig) line(text string) {
	r.typed(text)
	r.press(tea.KeyEnter)
}

// begin leaves the opening.
func (r *rig) begin() *rig {
	if r.s.panel == panelOpening {
		r.press(tea.KeyEnter)
	}
	return r
}

// planned does what the rehearsal would at the question that stands there.
func (r *rig) planned() {
	r.t.Helper()
	if r.s.panel == panelAlarm {
		r.press(tea.KeyDown)
	}
	ask := r.s.ask
	text, takes := rehearsal.Answer(ask, r.s.Sitting.State().List())
	if ask.Kind == checklist.AskRun && ask.Run.Part == checklist.RunReading && takes == 0 {
		r.pass(time.Duration(max(1000, min(ask.Run.WakeMS, 60000))) * time.Millisecond)
		return
	}
	if takes > 0 {
		r.wall, r.mono = r.wall.Add(takes), r.mono+takes
		if ask.Kind == checklist.AskWait {
			r.send(tickMsg{r.s.tick})
		}
	}
	r.line(text)
	if strings.HasPrefix(r.s.saying, "Not") {
		r.t.Fatalf("%s %s: %q: %s", ask.Kind, ask.Step.ID, text, r.s.saying)
	}
}

// until goes on as planned until something is true.
func (r *rig) until(what string, is func(checklist.Ask) bool) *rig {
	r.t.Helper()
	r.begin()
	for range 4000 {
		if r.s.over() {
			break
		}
		if is(r.s.ask) {
			return r
		}
		r.planned()
	}
	r.t.Fatalf("never came to %s: at %s %s, %v", what, r.s.ask.Kind, r.s.ask.Step.ID, r.s.err)
	return nil
}

func (r *rig) untilKind(kind checklist.AskKind) *rig {
	r.t.Helper()
	return r.until(string(kind), func(a checklist.Ask) bool { return a.Kind == kind })
}

func (r *rig) untilStep(id string) *rig {
	r.t.Helper()
	return r.until(id, func(a checklist.Ask) bool { return a.Step.ID == id })
}

func (r *rig) untilPart(part checklist.RunPart) *rig {
	r.t.Helper()
	return r.until("the run: "+string(part), func(a checklist.Ask) bool { return a.Kind == checklist.AskRun && a.Run.Part == part })
}

// events gives the record so far.
func (r *rig) events() []record.Event {
	r.t.Helper()
	events, err := r.kept.Events(r.t.Context(), r.s.Sitting.Summary.Job)
	if err != nil {
		r.t.Fatal(err)
	}
	return events
}

func shipped(t testing.TB) *procedures.Library {
	t.Helper()
	library, err := procedures.Shipped()
	if err != nil {
		t.Fatal(err)
	}
	return library
}

// planVan plans the demo van, with changes PATH=VALUE made to it.
func planVan(bench sitting.Bench, set ...string) (checklist.Planned, error) {
	text, err := os.ReadFile("../../../testdata/jobs/van.yaml")
	if err != nil {
		return checklist.Planned{}, err
	}
	today := planner.Date{Year: 2026, Month: 3, Day: 14}
	job, err := planner.ReadJobWith("van.yaml", text, set, bench.Procedures.Engines(), today)
	if err != nil {
		return checklist.Planned{}, err
	}
	return bench.Prepare(job)
}

// realBench is a bench by the system's clock.
func realBench(kept store.Store) (sitting.Bench, error) {
	library, err := procedures.Shipped()
	if err != nil {
		return sitting.Bench{}, err
	}
	process, start := uuid.New(), time.Now()
	return sitting.Bench{
		Store: kept, Procedures: library, EmergencyNumber: "112", Program: "test", NewID: uuid.NewV7,
		Now: func() record.Stamp {
			return record.Stamp{At: time.Now().UTC().Truncate(time.Millisecond), MonoMS: time.Since(start).Milliseconds(), Run: process, By: "Tobi Fenn"}
		},
	}, nil
}
