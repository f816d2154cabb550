package checklist

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/uuid"

	"daytank/procedures"
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

// A step that is opened again while it is under way has taken what it took until then; one
// that was done keeps its time, however much later it is opened.
func TestTakenUntilOpenedAgain(t *testing.T) {
	at := func(minute int) record.Stamp {
		return record.Stamp{At: time.Date(2026, 3, 14, 9, minute, 0, 0, time.UTC)}
	}
	for _, c := range []struct {
		name string
		done bool
		want int64
	}{{"under way", false, 7 * minute}, {"done after two minutes", true, 2 * minute}} {
		s := State{planned: Planned{List: Checklist{Steps: []Step{{ID: "a", Needed: true}}}}, steps: map[string]progress{}}
		s.apply(at(0), record.StepStarted{Step: "a"})
		if c.done {
			s.apply(at(2), record.StepDone{Step: "a"})
		}
		s.apply(at(7), record.StepReopened{Step: "a", Reason: "looked at once more"})
		if got := s.TakenMS("a"); got != c.want {
			t.Errorf("%s: it took %d ms, want %d", c.name, got, c.want)
		}
	}
}

// The steps of the sitting are named by their numbers, from the first to the last, or by
// their names; what is in no sitting is not named.
func TestStepsByNumberAndName(t *testing.T) {
	s := State{planned: Planned{List: Checklist{Steps: []Step{
		{ID: "first", Needed: true},
		{ID: "not needed"},
		{ID: "second", Needed: true},
		{ID: "last", Needed: true},
		{ID: "next day", Needed: true, Phase: procedures.FollowUp},
	}}}}
	for name, want := range map[string]string{
		"0": "", "1": "first", "2": "second", "3": "last", "4": "", "-1": "",
		"first": "first", "last": "last", "not needed": "", "next day": "",
	} {
		if step, ok := s.turn(record.Stamp{}).stepNamed(name); ok != (want != "") || step.ID != want {
			t.Errorf("%s is %q, %t; want %q", name, step.ID, ok, want)
		}
	}
}

// What comes next is the stage after the one that is over: the engine faster, a soak, and the
// engine started again after it.
func TestNextStage(t *testing.T) {
	for _, c := range []struct {
		stage           int
		read, at        int64
		next            string
		soak, afterSoak bool
	}{
		{0, 590, 605, "1500 rpm", false, false},
		{1, 890, 905, "soak", true, false},
		{2, 1500, 1505, "idle", false, true},
	} {
		a := runAt(c.stage, c.read, 0).ask(Checklist{Run: planOfWakes}, atSecond(c.at))
		if a.Part != RunStage || a.Next != c.next || a.NextSoak != c.soak || a.WasSoak != c.afterSoak {
			t.Errorf("after stage %d: %s, next %q, a soak %t, after one %t; want %q, %t, %t", c.stage+1, a.Part, a.Next, a.NextSoak, a.WasSoak, c.next, c.soak, c.afterSoak)
		}
	}
}

// What is wrong with what is left over stays to be shown until the steps of the run are done;
// no other alarm says anything of it.
func TestBalanceIsKept(t *testing.T) {
	var r engineRun
	for _, c := range []struct{ name, want string }{
		{alarmBegin, ""},
		{alarmHot, ""},
		{alarmBalance, "said of " + alarmBalance},
		{alarmOverdue, "said of " + alarmBalance},
	} {
		r.apply(record.Stamp{}, 1, record.Alarm{Name: c.name, Message: "said of " + c.name})
		if r.balance != c.want {
			t.Errorf("after %s: %q, want %q", c.name, r.balance, c.want)
		}
	}
}
