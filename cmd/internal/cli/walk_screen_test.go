package cli

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/google/go-cmp/cmp"
	"github.com/google/uuid"

	"daytank/cmd/internal/bay"
	"daytank/cmd/internal/demo"
	"daytank/cmd/internal/prompt"
	"daytank/planner"
	"daytank/procedures"
	"daytank/procedures/checklist"
	"daytank/procedures/checklist/rehearsal"
	"daytank/procedures/record"
	"daytank/procedures/store"
)

// newJobOf makes a walker with a new job of a file in a store of its own, by a
// clock that is set by hand. The same file makes the same job, identifier and
// all.
func newJobOf(t *testing.T, file string, set ...string) (*walker, *demo.Clock) {
	t.Helper()
	clock := demo.NewClock(time.Date(2026, 3, 14, 9, 0, 0, 0, time.UTC))
	ids := 0
	a := &app{env: Env{
		Stdout: io.Discard, Stderr: io.Discard, Now: clock.Now, Mono: clock.Mono,
		NewID: func() (uuid.UUID, error) {
			ids++
			return uuid.NewSHA1(uuid.NameSpaceOID, append([]byte{byte(ids)}, filepath.Base(file)...)), nil
		},
	}.filled()}
	a.root = a.newRoot(nil)
	library, err := procedures.Shipped()
	if err != nil {
		t.Fatal(err)
	}
	w := &walker{app: a, store: store.OpenMemory(), library: library, operator: demo.Operator, told: map[string]bool{}}
	if w.bench, err = a.bench(w.store, library, w.operator); err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	job, err := planner.ReadJobWith(file, text, set, library.Engines(), planner.Date{Year: 2026, Month: 3, Day: 14})
	if err != nil {
		t.Fatal(err)
	}
	planned, err := w.bench.Prepare(job)
	if err != nil {
		t.Fatal(err)
	}
	if w.sitting, err = w.bench.Begin(t.Context(), planned); err != nil {
		t.Fatal(err)
	}
	return w, clock
}

// bodies gives what happened, without when.
func (w *walker) bodies(t *testing.T) []record.Body {
	t.Helper()
	events, err := w.store.Events(t.Context(), w.sitting.Summary.Job)
	if err != nil {
		t.Fatal(err)
	}
	var bodies []record.Body
	for _, e := range events {
		body, err := e.Decode()
		if err != nil {
			t.Fatal(err)
		}
		bodies = append(bodies, body)
	}
	return bodies
}

// odd is what goes otherwise than planned in a walk of these tests, by the step
// it happens at, once each.
type odd map[string][]string

// next gives what is typed at a question: what is odd there, then what is
// planned.
func (o odd) next(ask checklist.Ask, list checklist.Checklist) (string, time.Duration) {
	text, takes := rehearsal.Answer(ask, list)
	if lines := o[ask.Step.ID]; len(lines) > 0 && ask.Kind != checklist.AskAcknowledge {
		o[ask.Step.ID] = lines[1:]
		if ask.Kind == checklist.AskRun {
			return lines[0], 5 * time.Second // sooner than a return that nobody looks at is called out
		}
		return lines[0], time.Minute
	}
	return text, takes
}

// oddActor answers in line mode.
type oddActor struct {
	actor
	odd   odd
	stuck int // answers since the record last grew
	seen  int64
}

func (o *oddActor) ReadFresh(ctx context.Context, question string, wake time.Duration, _ func() time.Duration) (string, error) {
	return o.Read(ctx, question, wake)
}

func (o *oddActor) Read(_ context.Context, _ string, wake time.Duration) (string, error) {
	ask := o.walker.asked
	if n := o.walker.sitting.Summary.Events; n != o.seen {
		o.seen, o.stuck = n, 0
	}
	if o.stuck++; o.stuck > 1000 || o.seen > 5000 {
		return "", fmt.Errorf("stuck at %s of %s: %s", ask.Kind, ask.Step.ID, ask.Reason)
	}
	text, takes := o.odd.next(ask, o.walker.sitting.State().List())
	if wake > 0 && takes == 0 {
		o.clock.Advance(wake)
		return "", prompt.ErrWake
	}
	o.clock.Advance(takes)
	return text, nil
}

// fingers drive a screen as hands do.
type fingers struct {
	screen *bay.Screen
	at     time.Duration
	tick   tea.Msg // that the screen waits for
	ended  bool
}

func (f *fingers) send(msg tea.Msg) {
	f.at += 200 * time.Millisecond
	_, cmd := f.screen.Update(msg)
	f.run(cmd)
}

// run does what the screen library does with a command.
func (f *fingers) run(cmd tea.Cmd) {
	if cmd == nil {
		return
	}
	switch msg := cmd().(type) {
	case nil:
	case tea.QuitMsg:
		f.ended = true
	case tea.BatchMsg:
		for _, one := range msg {
			f.run(one)
		}
	default:
		f.tick = msg
	}
}

func (f *fingers) line(text string) {
	for _, c := range text {
		if c == ' ' {
			f.send(tea.KeyMsg{Type: tea.KeySpace, Runes: []rune{c}})
			continue
		}
		f.send(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune{c}})
	}
	f.send(tea.KeyMsg{Type: tea.KeyEnter})
}

// walkByHand walks on the screen, with the answers and the times of line mode.
func (w *walker) walkByHand(t *testing.T, clock *demo.Clock, o odd) *fingers {
	t.Helper()
	f := &fingers{}
	f.screen = bay.New(t.Context(), bay.Config{
		Sitting:  w.sitting,
		Events:   func(ctx context.Context) ([]record.Event, error) { return w.store.Events(ctx, w.sitting.Summary.Job) },
		Operator: w.operator, Now: clock.Now, Hands: func() time.Duration { return f.at },
		Sleep: func(context.Context, time.Duration) {},
	})
	f.send(tea.KeyMsg{Type: tea.KeyEnter}) // the opening
	for range 5000 {
		if f.ended {
			return f
		}
		ask := w.sitting.State().Ask(w.bench.Now())
		text, takes := o.next(ask, w.sitting.State().List())
		if wake := wake(ask); wake > 0 && takes == 0 {
			clock.Advance(wake)
			f.send(f.tick)
			continue
		}
		clock.Advance(takes)
		if ask.Kind == checklist.AskWait {
			f.send(f.tick)
		}
		f.send(tea.KeyMsg{Type: tea.KeyDown}) // an alarm is heard; otherwise nothing
		f.line(text)
	}
	t.Fatalf("the walk never ended:\n%s", f.screen.View())
	return nil
}

// The same answers make the same events on the screen and in plain lines, but
// for when.
func TestScreenAndLinesMakeTheSameEvents(t *testing.T) {
	for name, c := range map[string]struct {
		set []string
		odd func() odd
	}{
		"as planned":   {nil, func() odd { return odd{} }},
		"alone":        {[]string{"site.people=1"}, func() odd { return odd{} }},
		"with a turn":  {nil, turns},
		"left":         {nil, func() odd { return odd{"fuel-sample": {"p"}} }},
		"emergency":    {nil, func() odd { return odd{"lines-open": {"!"}} }},
		"into a stop":  {nil, func() odd { return odd{"fuel-sample": {"water"}, "leaks-looked": {"p"}} }},
		"in the run":   {nil, func() odd { return odd{"engine-run": {"1340 20", "", "1335 24", "c r; 1330 24; misread", "1300"}} }},
		"run ended":    {nil, func() odd { return odd{"engine-run": {"1340 20", "", "e smoke from the hose"}} }},
		"level lost":   {nil, func() odd { return odd{"engine-run": {"1340 20", "", "600 24"}} }},
		"fluid is hot": {nil, func() odd { return odd{"engine-run": {"1340 20", "", "1330 52", "1325 61"}} }},
	} {
		t.Run(name, func(t *testing.T) {
			inLines, clock := newJobOf(t, vanFile, c.set...)
			inLines.talk = &oddActor{actor: actor{walker: inLines, clock: clock}, odd: c.odd()}
			lineErr := inLines.walk(t.Context())
			onScreen, clock := newJobOf(t, vanFile, c.set...)
			onScreen.walkByHand(t, clock, c.odd())
			want, got := inLines.bodies(t), onScreen.bodies(t)
			if diff := cmp.Diff(want, got); diff != "" {
				t.Errorf("in lines (-) and on the screen (+), %d and %d events; %v:\n%s", len(want), len(got), lineErr, diff)
			}
			if len(want) < 20 {
				t.Errorf("only %d events; %v", len(want), lineErr)
			}
		})
	}
}

// jobOf are jobs of all layouts.
var jobOf = map[string]string{
	"rail-pumped": "van", "rail-recirculating": "mail-van", "rail-suction": "pickup", "rotary": "tractor", "inline": "boat",
	"unit-injector": "car", "unit-injector-heavy": "dredger", "rail-heavy": "crane",
}

// alone gives what lets one person do a job: nothing may get warm.
func alone(layout string) []string {
	set := []string{"site.people=1", "run=[{speed: idle, for: 8 min}]"}
	if layout != "rail-pumped" {
		set = append(set, "rig.return_cooler={material: metal, length: 20 m, water: 300 L}")
	}
	return set
}

// Every procedure is walked to its end, alone and with two people, on the screen and
// in lines, with a job of its layout, and raises no alarm: as planned, nothing is
// called out.
func TestEveryProcedureIsWalked(t *testing.T) {
	library, err := procedures.Shipped()
	if err != nil {
		t.Fatal(err)
	}
	if n := len(library.Engines().Layouts()); n != len(jobOf) {
		t.Errorf("%d layouts, %d jobs", n, len(jobOf))
	}
	for layout, job := range jobOf {
		if raceDetector && layout != "rail-pumped" && layout != "rotary" {
			continue // which is slow, and the logic is the same
		}
		for name, set := range map[string][]string{"together": nil, "alone": alone(layout)} {
			t.Run(layout+" "+name, func(t *testing.T) {
				file := "../../../testdata/jobs/" + job + ".yaml"
				inLines, clock := newJobOf(t, file, set...)
				if got := inLines.sitting.State().Job().Engine.Layout.ID; got != layout {
					t.Fatalf("%s is of the layout %s", file, got)
				}
				inLines.talk = &oddActor{actor: actor{walker: inLines, clock: clock}, odd: odd{}}
				if err := inLines.walk(t.Context()); err != nil {
					all := inLines.bodies(t)
					t.Fatalf("%v; the record ends with %+v", err, all[max(0, len(all)-6):])
				}
				onScreen, clock := newJobOf(t, file, set...)
				onScreen.walkByHand(t, clock, odd{})
				if state := inLines.sitting.Summary.State; state != record.StateToReview {
					t.Errorf("the walk ends %s", state)
				}
				want := inLines.bodies(t)
				if diff := cmp.Diff(want, onScreen.bodies(t)); diff != "" {
					t.Errorf("in lines (-) and on the screen (+):\n%s", diff)
				}
				for _, body := range want {
					if a, is := body.(record.Alarm); is {
						t.Errorf("alarm %s: %s", a.Name, a.Message)
					}
				}
			})
		}
	}
}

// turns are a walk with a bit of everything: refusals, notes, skips, a way back,
// a mending.
func turns() odd {
	return odd{
		"symptom-stated":  {"y", "n brought in by its driver", "rough when cold"},
		"air-temperature": {"warm", "99", "18"},
		"parked":          {"s", "done"},
		"sparks-away":     {"c 1; rough, cold and warm; misheard", "x a lamp stays on, over the other bay", "c 2; none; misread"},
		"gloves-on":       {"s no gloves of that size here"},
		"fuel-sample":     {"nothing", "< 6", "clean"},
		"pump-dead":       {"yes", "2000", "dead"},
		"rig-look":        {"wet"},
		"parts-fitted":    {"x"},
	}
}

// endings gives the status of each way a screen ends.
func TestEndOfScreen(t *testing.T) {
	for _, c := range []struct {
		result bay.Result
		code   Code
		says   []string
	}{
		{bay.Result{Ending: bay.Finished}, Done, []string{"The sitting is done", "record head"}},
		{bay.Result{Ending: bay.LeftSafe}, Stopped, []string{"Leave it safe:", "daytank walk VAN-07/1"}},
		{bay.Result{Ending: bay.Refused}, Refused, []string{"Leave it safe:"}},
		{bay.Result{Ending: bay.Emergency}, Stopped, []string{"KEY OFF", "RUNAWAY", "from isolate on"}},
		{bay.Result{Ending: bay.Left, Reason: "signal: hangup"}, Stopped, []string{"Left part way (signal: hangup)", "Key off and out"}},
	} {
		w, _ := newJobOf(t, vanFile)
		var out bytes.Buffer
		w.app.env.Stdout = &out
		failure := judge(t.Context(), w.endOfScreen(c.result))
		code := Done
		if failure != nil {
			code = failure.Code
		}
		if code != c.code {
			t.Errorf("%s: status %d, want %d", c.result.Ending, code, c.code)
		}
		for _, want := range c.says {
			if !strings.Contains(out.String(), want) {
				t.Errorf("%s: %q is not said:\n%s", c.result.Ending, want, out.String())
			}
		}
	}
}

// A walk that a signal ends says in the record which, and another terminal's
// walk is status 1.
func TestLeftBy(t *testing.T) {
	ctx, cancel := context.WithCancelCause(t.Context())
	cancel(Signalled{syscall.SIGHUP})
	if got := leftBy(ctx); got != "signal: hangup" {
		t.Errorf("left by %q", got)
	}
	if got := leftBy(t.Context()); got != "the input has ended" {
		t.Errorf("left by %q", got)
	}
	w, _ := newJobOf(t, vanFile)
	if failure := judge(t.Context(), w.failed(store.ErrMoved)); failure.Code != Failed || len(failure.Hints) == 0 {
		t.Errorf("status %d, hints %q", failure.Code, failure.Hints)
	}
}

// What was lent is given back: nothing is read from it any more, and what is
// typed afterwards is there for the screen.
func TestLentInput(t *testing.T) {
	from, to, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	defer from.Close()
	defer to.Close()
	a := &app{env: Env{Stdin: from}}
	in, takeBack := a.lentInput()
	ended := make(chan error, 1)
	go func() {
		_, err := in.Read(make([]byte, 16))
		ended <- err
	}()
	takeBack()
	select {
	case err := <-ended:
		if err == nil || errors.Is(err, io.EOF) {
			t.Errorf("the reading ended with %v", err)
		}
	case <-time.After(10 * time.Second):
		t.Fatal("the input is still being read")
	}
	if _, err := io.WriteString(to, "for the screen"); err != nil {
		t.Fatal(err)
	}
	got := make([]byte, 32)
	n, err := from.Read(got)
	if err != nil || string(got[:n]) != "for the screen" {
		t.Errorf("read %q, %v", got[:n], err)
	}
}
