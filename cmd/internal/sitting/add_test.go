package sitting

import (
	"testing"
	"time"

	"daytank/planner/idletest"
	"daytank/procedures/checklist"
	"daytank/procedures/proof"
	"daytank/procedures/record"
	"daytank/procedures/store"
)

// A test that was added from a log answers the step that asks for one; without it the
// word is refused. Another terminal may write in between.
func TestAddedTestAnswersItsStep(t *testing.T) {
	kept, c := store.OpenMemory(), &clock{at: time.Date(2026, 3, 14, 9, 0, 0, 0, time.UTC)}
	s, b := begin(t, kept, c)
	for {
		ask, err := s.Ask(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		if ask.Kind == checklist.AskTest && ask.Step.Test.State == "hot" {
			break
		}
		advance(t, s, c, 1)
	}
	answer := func() error { return s.Answer(t.Context(), checklist.Input{Do: checklist.Enter, Text: "log"}) }
	if err := answer(); err == nil {
		t.Fatal("a log is taken that nobody added")
	}
	var samples idletest.Samples
	samples.Coolant.Add(0, 85)
	body, blob := proof.Added(idletest.Test{Phase: idletest.Before, State: idletest.Hot, Measure: idletest.Corrections, Samples: samples}, proof.Source{}, nil)
	if _, err := b.Add(t.Context(), s.Summary.Job, body, blob); err != nil {
		t.Fatal(err)
	}
	var err error
	if s, err = b.Resume(t.Context(), s.Summary.Job); err != nil {
		t.Fatal(err)
	}
	if err := answer(); err != nil {
		t.Fatal(err)
	}
	ask, err := s.Ask(t.Context())
	if err != nil || ask.Kind == checklist.AskTest {
		t.Errorf("asks %s of %s, %v", ask.Kind, ask.Step.ID, err)
	}
	events, err := kept.Events(t.Context(), s.Summary.Job)
	if err != nil {
		t.Fatal(err)
	}
	if err := record.Verify(s.Summary.Job, events, func(h record.Hash) ([]byte, error) { return kept.Blob(t.Context(), h) }); err != nil {
		t.Error(err)
	}
	r, err := proof.Of(s.Summary, events, func(h record.Hash) ([]byte, error) { return kept.Blob(t.Context(), h) })
	if err != nil || len(r.Tests) != 1 || r.Tests[0].Samples.Coolant.Len() != 1 {
		t.Errorf("%d tests, %v", len(r.Tests), err)
	}
}
