package checklist

import (
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"daytank/procedures"
	"daytank/procedures/record"
	"daytank/safety"
)

// The digits that are due at a place of the record prove as the word does, typed with spaces
// or without, and are shown as digits, so that nobody takes them for a reading. Those of
// another place, step or job prove nothing.
func TestDigitsAtTheirPlace(t *testing.T) {
	job := uuid.UUID{7}
	step := Step{ID: "tied", Kind: procedures.Confirm, Demand: &safety.Demand{Ask: "tied, if it stayed", Word: "tied"}}
	due := func(job uuid.UUID, step string, seq int64) string { return safety.Digits(job.String(), step, seq) }
	now := due(job, "tied", 1) // after one event
	for _, c := range []struct {
		name, answer, shown, says string
		proved                    bool
	}{
		{"the word", "tied", now, "tied", true},
		{"the digits", now, now, "the digits " + now, true},
		{"with spaces", strings.Join(strings.Split(now, ""), " "), now, "the digits " + strings.Join(strings.Split(now, ""), " "), true},
		{"those of the place before", due(job, "tied", 0), due(job, "tied", 0), "the digits " + due(job, "tied", 0), false},
		{"those of the place after", due(job, "tied", 2), due(job, "tied", 2), "the digits " + due(job, "tied", 2), false},
		{"those of another step", due(job, "dry", 1), due(job, "dry", 1), "the digits " + due(job, "dry", 1), false},
		{"those of another job", due(uuid.UUID{8}, "tied", 1), due(uuid.UUID{8}, "tied", 1), "the digits " + due(uuid.UUID{8}, "tied", 1), false},
		{"others than were shown", "000", now, "000", false},
		{"where none were shown", now, "", now, false},
	} {
		s := walkOf(Checklist{}, []Step{step}, record.StepStarted{Step: "tied"})
		s.job = job
		s.apply(record.Stamp{}, record.Cleared{Step: "tied", Answer: c.answer, Shown: c.shown})
		if s.Proved(step) != c.proved || s.AnswerOf("tied") != c.says {
			t.Errorf("%s: proved %t, shown as %q; want %t, %q", c.name, s.Proved(step), s.AnswerOf("tied"), c.proved, c.says)
		}
	}
}

// What a step took is counted until the work rests, and on from when it is taken up again,
// after a break as after an emergency; the steps before it took what they took.
func TestTakenBesideABreak(t *testing.T) {
	for _, rest := range []record.Body{record.Paused{Reason: "lunch"}, record.Emergency{}} {
		s := walkOf(Checklist{}, []Step{{ID: "a"}, {ID: "b"}})
		for _, e := range []struct {
			at   int // minutes
			body record.Body
		}{
			{0, record.StepStarted{Step: "a"}},
			{1, record.StepDone{Step: "a"}},
			{1, record.StepStarted{Step: "b"}},
			{4, rest},
			{64, record.Resumed{}},
			{66, record.StepDone{Step: "b"}},
		} {
			s.apply(record.Stamp{At: time.Date(2026, 3, 14, 9, e.at, 0, 0, time.UTC)}, e.body)
		}
		if a, b := s.TakenMS("a"), s.TakenMS("b"); a != minute || b != 5*minute {
			t.Errorf("beside %s: %d ms and %d ms, want 1 min and 5 min", rest.Kind(), a, b)
		}
	}
}

// What was read in a wait is its answer, with its unit; that it began or ended leaves the
// answer as it was.
func TestAnswerOfAWait(t *testing.T) {
	s := walkOf(Checklist{}, []Step{{ID: "rest", Kind: procedures.Timer}})
	for _, c := range []struct {
		body record.Body
		want string
	}{
		{record.Timer{Step: "rest", Mark: record.MarkStarted}, ""},
		{record.Value{Step: "rest", Text: "38", Unit: "degC"}, "38 degC"},
		{record.Value{Step: "rest", Text: "34", Unit: "degC"}, "34 degC"},
		{record.Timer{Step: "rest", Mark: record.MarkEnded, Text: "34"}, "34 degC"},
	} {
		s.apply(record.Stamp{}, c.body)
		if got := s.AnswerOf("rest"); got != c.want {
			t.Errorf("after %+v the answer is %q, want %q", c.body, got, c.want)
		}
	}
}

// What a step usually takes stands at it: of a group what all its needed steps took together,
// of any other step, in no group or in one of which nothing is needed, its own; never of the
// run, whose length is planned.
func TestUsualOfAGroup(t *testing.T) {
	list := Checklist{Steps: []Step{
		{ID: "alone", Needed: true},
		{ID: "first", Needed: true, Group: "caps"},
		{ID: "second", Needed: true, Group: "caps"},
		{ID: "not needed", Group: "caps"},
		{ID: "of none", Group: "filters"},
		{ID: "after", Needed: true},
		{ID: "new", Needed: true},
		{ID: "engine-run", Needed: true, Kind: procedures.Run},
	}}
	var walks []Times
	for range walksNeeded {
		walks = append(walks, Times{"alone": 1000, "first": 2000, "second": 4000, "not needed": 8000, "of none": 16000, "after": 32000, "engine-run": 64000})
	}
	list.usual(walks)
	want := map[string]int64{"alone": 1000, "first": 6000, "second": 6000, "not needed": 6000, "of none": 16000, "after": 32000}
	for _, s := range list.Steps {
		if s.UsualMS != want[s.ID] {
			t.Errorf("%s usually takes %d ms, want %d", s.ID, s.UsualMS, want[s.ID])
		}
	}
}
