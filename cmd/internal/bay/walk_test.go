package bay

import (
	"testing"

	"daytank/procedures/record"
	"daytank/procedures/store"
)

// The whole van is walked on the screen, to review.
func TestWalkOfTheVan(t *testing.T) {
	r := newRig(t, store.OpenMemory()).begin()
	for range 4000 {
		if r.s.over() {
			break
		}
		r.planned()
	}
	if r.s.result.Ending != Finished || r.s.err != nil {
		t.Fatalf("ended %q, %v, at %s %s", r.s.result.Ending, r.s.err, r.s.ask.Kind, r.s.ask.Step.ID)
	}
	events := r.events()
	if last := events[len(events)-1]; last.Kind != record.KindReadyForReview {
		t.Errorf("the record ends with %s", last.Kind)
	}
	if err := record.Verify(r.s.Sitting.Summary.Job, events, func(h record.Hash) ([]byte, error) { return r.kept.Blob(t.Context(), h) }); err != nil {
		t.Error(err)
	}
}
