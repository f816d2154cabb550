package checklist

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/uuid"

	"daytank/procedures/record"
)

// The median of the last ten walks in which it was done, once there are five; the
// eleventh is too old, a walk that skipped it says nothing.
func TestMedianOfTheLastWalks(t *testing.T) {
	walks := func(ms ...int64) []Times {
		var all []Times
		for _, x := range ms {
			times := Times{"other": 1}
			if x > 0 {
				times["a"] = x
			}
			all = append(all, times)
		}
		return all
	}
	for _, c := range []struct {
		name  string
		walks []Times
		want  int64
	}{
		{"none", nil, 0},
		{"four", walks(10, 10, 10, 10), 0},
		{"five", walks(50, 10, 30, 20, 40), 30},
		{"six", walks(50, 10, 30, 20, 40, 60), 35},
		{"five with one skipped", walks(50, 10, 0, 20, 40), 0},
		{"the eleventh is too old", walks(10, 10, 10, 10, 10, 20, 20, 20, 20, 20, 9000), 15},
	} {
		if got, ok := median(c.walks, []string{"a"}); got != c.want || ok != (c.want > 0) {
			t.Errorf("%s: %d, %t, want %d", c.name, got, ok, c.want)
		}
	}
	both := []Times{{"a": 1, "b": 10}, {"a": 2, "b": 20}, {"a": 3, "b": 30}, {"a": 4, "b": 40}, {"a": 5, "b": 50}, {"a": 6}}
	if got, _ := median(both, []string{"a", "b"}); got != 33 {
		t.Errorf("of two steps together %d, want 33", got)
	}
}

// What a step took: all its goes, without a break that it was left for; a step that was
// opened again and not done says nothing.
func TestTimesOf(t *testing.T) {
	var events []record.Event
	head, at := record.Genesis(uuid.UUID{1}), time.Date(2026, 3, 14, 9, 0, 0, 0, time.UTC)
	process := uuid.UUID{2}
	do := func(after time.Duration, body record.Body) {
		at = at.Add(after)
		sealed, next, err := record.Seal(head, record.Stamp{At: at, MonoMS: at.UnixMilli(), Run: process, By: "Tobi"}, body)
		if err != nil {
			t.Fatal(err)
		}
		events, head = append(events, sealed...), next
	}
	do(0, record.Created{Asset: "VAN-07", Number: 1})
	do(0, record.StepStarted{Step: "a"})
	do(time.Minute, record.StepReopened{Step: "a", Reason: "waits"})
	do(0, record.StepStarted{Step: "b"})
	do(2*time.Minute, record.StepDone{Step: "b"})
	do(0, record.StepStarted{Step: "a"})
	do(3*time.Minute, record.StepDone{Step: "a"})
	do(0, record.StepStarted{Step: "c"})
	do(time.Minute, record.StepSkipped{Step: "c", Reason: "no time"})
	do(0, record.StepStarted{Step: "d"})
	do(2*time.Minute, record.Paused{Reason: "lunch"})
	do(time.Hour, record.Resumed{})
	do(time.Minute, record.StepDone{Step: "d"})
	do(0, record.StepReopened{Step: "b", Reason: "wrong"})
	got, err := TimesOf(events)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(Times{"a": 4 * 60000, "d": 3 * 60000}, got); diff != "" {
		t.Errorf("(-want +got)\n%s", diff)
	}
}
