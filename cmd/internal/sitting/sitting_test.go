package sitting

import (
	"context"
	"errors"
	"os"
	"testing"
	"time"

	"github.com/google/uuid"

	"daytank/planner"
	"daytank/procedures"
	"daytank/procedures/checklist"
	"daytank/procedures/checklist/rehearsal"
	"daytank/procedures/record"
	"daytank/procedures/store"
	"daytank/safety"
)

// clock is set by hand.
type clock struct {
	at   time.Time
	mono time.Duration
}

func (c *clock) pass(d time.Duration) { c.at, c.mono = c.at.Add(d), c.mono+d }

func newBench(t *testing.T, kept store.Store, by string, c *clock) Bench {
	t.Helper()
	library, err := procedures.Shipped()
	if err != nil {
		t.Fatal(err)
	}
	process := uuid.New()
	return Bench{
		Store: kept, Procedures: library, EmergencyNumber: "112", Program: "test", NewID: uuid.NewV7,
		Now: func() record.Stamp {
			return record.Stamp{At: c.at, MonoMS: c.mono.Milliseconds(), Run: process, By: by}
		},
	}
}

func van(t *testing.T, b Bench) checklist.Planned {
	t.Helper()
	text, err := os.ReadFile("../../../testdata/jobs/van.yaml")
	if err != nil {
		t.Fatal(err)
	}
	job, err := planner.ReadJob("van.yaml", text, b.Procedures.Engines(), planner.Date{Year: 2026, Month: 3, Day: 14})
	if err != nil {
		t.Fatal(err)
	}
	planned, err := b.Prepare(job)
	if err != nil {
		t.Fatal(err)
	}
	return planned
}

// advance answers as planned, some times.
func advance(t *testing.T, s *Sitting, c *clock, times int) {
	t.Helper()
	for range times {
		ask, err := s.Ask(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		text, takes := rehearsal.Answer(ask, s.State().List())
		c.pass(takes)
		if err := s.Answer(t.Context(), checklist.Input{Do: checklist.Enter, Text: text}); err != nil {
			t.Fatalf("%s %s: %v", ask.Kind, ask.Step.ID, err)
		}
	}
}

func begin(t *testing.T, kept store.Store, c *clock) (*Sitting, Bench) {
	t.Helper()
	b := newBench(t, kept, "Tobi Fenn", c)
	s, err := b.Begin(t.Context(), van(t, b))
	if err != nil {
		t.Fatal(err)
	}
	return s, b
}

func TestTakenUpWhereItWasLeft(t *testing.T) {
	kept, c := store.OpenMemory(), &clock{at: time.Date(2026, 3, 14, 9, 0, 0, 0, time.UTC)}
	s, b := begin(t, kept, c)
	advance(t, s, c, 7)
	want, err := s.Ask(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	again, err := b.Resume(t.Context(), s.Summary.Job)
	if err != nil {
		t.Fatal(err)
	}
	got, err := again.Ask(t.Context())
	if err != nil || got.Step.ID != want.Step.ID {
		t.Errorf("asks %s, want %s; %v", got.Step.ID, want.Step.ID, err)
	}
	if again.Summary.State != record.StateWalking || again.Summary.Operator != "Tobi Fenn" {
		t.Errorf("summary %+v", again.Summary)
	}
}

// Two terminals on one job: one wins, the other is told and loses nothing that
// was acknowledged.
func TestTwoTerminalsOnOneJob(t *testing.T) {
	kept, c := store.OpenMemory(), &clock{at: time.Date(2026, 3, 14, 9, 0, 0, 0, time.UTC)}
	first, b := begin(t, kept, c)
	advance(t, first, c, 3)
	second, err := b.Resume(t.Context(), first.Summary.Job)
	if err != nil {
		t.Fatal(err)
	}
	advance(t, second, c, 1)
	err = first.Answer(t.Context(), checklist.Input{Do: checklist.AddNote, Text: "from the first terminal"})
	if !errors.Is(err, store.ErrMoved) {
		t.Errorf("the first terminal is told %v", err)
	}
	advance(t, second, c, 1)
	events, err := kept.Events(t.Context(), first.Summary.Job)
	if err != nil {
		t.Fatal(err)
	}
	if err := record.Verify(first.Summary.Job, events, func(h record.Hash) ([]byte, error) { return kept.Blob(t.Context(), h) }); err != nil {
		t.Error(err)
	}
}

// failing keeps nothing.
type failing struct{ store.Store }

var errFull = errors.New("disk full")

func (failing) Append(context.Context, record.Head, []record.Event, ...record.Blob) error {
	return errFull
}

// What could not be stored has not been taken: the same is asked again.
func TestNothingIsTakenThatIsNotStored(t *testing.T) {
	kept, c := store.OpenMemory(), &clock{at: time.Date(2026, 3, 14, 9, 0, 0, 0, time.UTC)}
	s, _ := begin(t, kept, c)
	advance(t, s, c, 2)
	before, err := s.Ask(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	s.bench.Store = failing{kept}
	text, _ := rehearsal.Answer(before, s.State().List())
	if err := s.Answer(t.Context(), checklist.Input{Do: checklist.Enter, Text: text}); !errors.Is(err, errFull) {
		t.Errorf("got %v", err)
	}
	s.bench.Store = kept
	after, err := s.Ask(t.Context())
	if err != nil || after.Step.ID != before.Step.ID {
		t.Errorf("asks %s, want %s again; %v", after.Step.ID, before.Step.ID, err)
	}
	advance(t, s, c, 1)
}

// A refused answer is no error of the store, and writes nothing.
func TestRefusedAnswerWritesNothing(t *testing.T) {
	kept, c := store.OpenMemory(), &clock{at: time.Date(2026, 3, 14, 9, 0, 0, 0, time.UTC)}
	s, _ := begin(t, kept, c)
	before, _ := kept.Get(t.Context(), s.Summary.Job)
	err := s.Answer(t.Context(), checklist.Input{Do: checklist.Enter, Text: "y"})
	var refusal safety.Refusal
	if !errors.As(err, &refusal) {
		t.Errorf("got %v", err)
	}
	if after, _ := kept.Get(t.Context(), s.Summary.Job); after.Head != before.Head {
		t.Error("something was written")
	}
}

// Jobs of one asset are numbered in their order.
func TestJobsAreNumbered(t *testing.T) {
	kept, c := store.OpenMemory(), &clock{at: time.Date(2026, 3, 14, 9, 0, 0, 0, time.UTC)}
	for want := int64(1); want <= 3; want++ {
		s, _ := begin(t, kept, c)
		if s.Summary.Number != want || s.Summary.State != record.StateReady {
			t.Errorf("number %d, state %s, want %d, ready", s.Summary.Number, s.Summary.State, want)
		}
		c.pass(time.Minute)
	}
}

// Once five walks came to their end, the next is planned by what the steps took in
// them; a demonstration is none of them, and a wait is never planned shorter than it is.
func TestPlannedByTheLastWalks(t *testing.T) {
	kept, c := store.OpenMemory(), &clock{at: time.Date(2026, 3, 14, 9, 0, 0, 0, time.UTC)}
	slow := func(demo bool) {
		b := newBench(t, kept, "Tobi Fenn", c)
		b.Demo = demo
		s, err := b.Begin(t.Context(), van(t, b))
		if err != nil {
			t.Fatal(err)
		}
		for !s.State().Finished() {
			ask, err := s.Ask(t.Context())
			if err != nil {
				t.Fatal(err)
			}
			text, takes := rehearsal.Answer(ask, s.State().List())
			if ask.Kind == checklist.AskFinished {
				break
			}
			if ask.Kind == checklist.AskRun && takes == 0 {
				c.pass(time.Duration(max(1000, ask.Run.WakeMS)) * time.Millisecond)
				continue
			}
			if ask.Step.ID == "fuel-sample" {
				takes = 9 * time.Minute
			}
			c.pass(takes)
			if err := s.Answer(t.Context(), checklist.Input{Do: checklist.Enter, Text: text}); err != nil {
				t.Fatalf("%s %s: %v", ask.Kind, ask.Step.ID, err)
			}
		}
	}
	planned := func() (int, checklist.Checklist) {
		b := newBench(t, kept, "Tobi Fenn", c)
		var err error
		if b.Walks, err = Walks(t.Context(), kept); err != nil {
			t.Fatal(err)
		}
		return len(b.Walks), van(t, b).List
	}
	slow(true)
	for range 4 {
		slow(false)
	}
	n, before := planned()
	if n != 4 {
		t.Fatalf("%d walks are counted, want 4", n)
	}
	slow(false)
	_, after := planned()
	for _, want := range []struct {
		step          string
		before, after int64
	}{{"fuel-sample", before.StepPlannedMS(stepOf(t, before, "fuel-sample")), 9 * 60000}, {"pressure-wait", 10 * 60000, 10*60000 + 5000}} {
		if got := before.StepPlannedMS(stepOf(t, before, want.step)); got != want.before {
			t.Errorf("%s is planned for %d ms of four walks, want %d", want.step, got, want.before)
		}
		if got := after.StepPlannedMS(stepOf(t, after, want.step)); got != want.after {
			t.Errorf("%s is planned for %d ms of five walks, want %d", want.step, got, want.after)
		}
	}
	if b, a := before.PlannedMS(), after.PlannedMS(); a == b {
		t.Errorf("the sitting is planned for %d ms before and after", a)
	}
}

func stepOf(t *testing.T, list checklist.Checklist, id string) checklist.Step {
	t.Helper()
	s, ok := list.Step(id)
	if !ok {
		t.Fatalf("no step %s", id)
	}
	return s
}
