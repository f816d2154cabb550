package checklist

import (
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"daytank/procedures"
	"daytank/procedures/record"
)

// walkOf gives a walk that stands in these steps, all needed, after these events.
func walkOf(list Checklist, steps []Step, bodies ...record.Body) State {
	for _, step := range steps {
		step.Needed = true
		list.Steps = append(list.Steps, step)
	}
	s := State{planned: Planned{List: list}, steps: map[string]progress{}, acknowledged: map[string]string{}}
	for _, body := range bodies {
		s.apply(record.Stamp{}, body)
	}
	return s
}

// Under a stop of the plan a step that is a danger is blocked, with its number in the sitting
// and the numbers of the steps done that wrote into the job; one skipped wrote nothing.
func TestNumbersWhereAStopBlocks(t *testing.T) {
	steps := []Step{
		{ID: "oil", Kind: procedures.Choice, Sets: "condition.oil_level"},
		{ID: "bonnet", Kind: procedures.Do},
		{ID: "lamp", Kind: procedures.Choice, Sets: "condition.soot_lamp"},
		{ID: "warmth", Kind: procedures.Value, Sets: "site.ambient"},
		{ID: "key-out", Kind: procedures.Confirm},
		{ID: "tidy", Kind: procedures.Do},
		{ID: "week-later", Kind: procedures.Do, Phase: procedures.FollowUp},
	}
	a := walkOf(Checklist{Stops: []Finding{{Message: "the oil stands too high"}}}, steps,
		record.StepDone{Step: "oil"}, record.StepDone{Step: "bonnet"}, record.StepSkipped{Step: "lamp", Reason: "no lamp in VAN-07"},
		record.StepDone{Step: "warmth"}, record.StepStarted{Step: "key-out"}).Ask(record.Stamp{})
	if a.Kind != AskBlocked || a.Number != 5 || a.Of != 6 || len(a.Stops) != 1 {
		t.Errorf("it asks %s at step %d of %d with %d stops, want it blocked at step 5 of 6 by one", a.Kind, a.Number, a.Of, len(a.Stops))
	}
	if diff := cmp.Diff([]int{1, 4}, a.Answers); diff != "" {
		t.Errorf("the answers to put right (-want +got)\n%s", diff)
	}
}

// What wrote into the job and is answered again is asked before the stops and cautions that it
// may have made; whatever else is a danger is not done under a stop, and waits for the caution.
func TestPutRightBeforeStopsAndCautions(t *testing.T) {
	for _, c := range []struct {
		name              string
		step              Step
		answered          bool
		stopped, cautious AskKind
	}{
		{"a value of the job", Step{Kind: procedures.Value, Sets: "site.ambient", Hazard: "spill"}, true, AskValue, AskValue},
		{"a choice of the job", Step{Kind: procedures.Choice, Sets: "condition.leaks", Hazard: "spill"}, true, AskChoice, AskChoice},
		{"a value of the job, the first time", Step{Kind: procedures.Value, Sets: "site.ambient", Hazard: "spill"}, false, AskBlocked, AskAcknowledge},
		{"a choice of the job, the first time", Step{Kind: procedures.Choice, Sets: "condition.leaks", Hazard: "spill"}, false, AskBlocked, AskAcknowledge},
		{"a harmless choice of the job, the first time", Step{Kind: procedures.Choice, Sets: "condition.leaks"}, false, AskChoice, AskAcknowledge},
		{"a value that is not of the job", Step{Kind: procedures.Value, Hazard: "spill"}, true, AskBlocked, AskAcknowledge},
		{"a confirmation of the job", Step{Kind: procedures.Confirm, Sets: "rig.return_fastened"}, true, AskBlocked, AskAcknowledge},
		{"a tick", Step{Kind: procedures.Do, Hazard: "spill"}, true, AskBlocked, AskAcknowledge},
	} {
		c.step.ID, c.step.Value = "it", &procedures.ValueSpec{Unit: "degC", Min: -40, Max: 60}
		var bodies []record.Body
		if c.answered {
			bodies = []record.Body{record.Value{Step: "it", Text: "20"}, record.StepDone{Step: "it"}, record.StepReopened{Step: "it"}}
		}
		stop, caution := Checklist{Stops: []Finding{{Key: "a"}}}, Checklist{ToAccept: []Finding{{Key: "a"}}}
		if got := walkOf(stop, []Step{c.step}, bodies...).Ask(record.Stamp{}).Kind; got != c.stopped {
			t.Errorf("%s: under a stop it asks %s, want %s", c.name, got, c.stopped)
		}
		if got := walkOf(caution, []Step{c.step}, bodies...).Ask(record.Stamp{}).Kind; got != c.cautious {
			t.Errorf("%s: beside a caution it asks %s, want %s", c.name, got, c.cautious)
		}
	}
}

// That fluid has gone or come since the last reading is called out beside the steps of the run
// that follow the one at which it is read, and nowhere else.
func TestBalanceIsCalledBesideTheRun(t *testing.T) {
	for _, c := range []struct {
		step   Step
		called bool
	}{
		{Step{ID: "smoke-seen", Phase: "run", Kind: procedures.Do}, true},
		{Step{ID: "left-over", Phase: "run", Kind: procedures.Value}, false},
		{Step{ID: "engine-run", Phase: "run", Kind: procedures.Run}, false},
		{Step{ID: "cooled", Phase: "cool", Kind: procedures.Do}, false},
	} {
		c.step.Value = &procedures.ValueSpec{Unit: "mL", Max: 20000}
		a := walkOf(Checklist{}, []Step{c.step}, record.Alarm{Name: "balance", Message: "200 mL are missing"}).Ask(record.Stamp{})
		if (a.Called == "200 mL are missing") != c.called || (a.Called == "") == c.called {
			t.Errorf("at %s it calls out %q, want it called out: %t", c.step.ID, a.Called, c.called)
		}
	}
}

// A value with a hold point is asked first, and then for its release; without one it is the
// value that is asked, also where one was typed before.
func TestValueBeforeItsRelease(t *testing.T) {
	for _, c := range []struct {
		name  string
		hold  *procedures.Hold
		typed bool
		want  AskKind
	}{
		{"held, not typed", &procedures.Hold{Alone: "refuse"}, false, AskValue},
		{"held, typed", &procedures.Hold{Alone: "refuse"}, true, AskRelease},
		{"free, not typed", nil, false, AskValue},
		{"free, typed before", nil, true, AskValue},
	} {
		s := walkOf(Checklist{}, []Step{{ID: "caps", Kind: procedures.Value, Hold: c.hold, Value: &procedures.ValueSpec{Unit: "count", Max: 12}}}, record.StepStarted{Step: "caps"})
		if c.typed {
			s.apply(record.Stamp{}, record.Value{Step: "caps", Text: "4", Unit: "count"})
		}
		if got := s.Ask(record.Stamp{}).Kind; got != c.want {
			t.Errorf("%s: it asks %s, want %s", c.name, got, c.want)
		}
		s.apply(record.Stamp{}, record.StepReopened{Step: "caps", Reason: "gone back"})
		s.apply(record.Stamp{}, record.StepStarted{Step: "caps"})
		if got := s.Ask(record.Stamp{}).Kind; got != AskValue {
			t.Errorf("%s, gone back to: it asks %s, want the value again", c.name, got)
		}
		s.paper = true
		if got := s.Ask(record.Stamp{}).Kind; got != AskValue {
			t.Errorf("%s, gone back to on a sheet: it asks %s, want the value again", c.name, got)
		}
	}
}

// A wait for a temperature names its limit in °C, and how long it is at the least only while
// that is not over.
func TestPromptOfCooling(t *testing.T) {
	began := time.Date(2026, 3, 14, 9, 0, 0, 0, time.UTC)
	step := Step{ID: "rest", Kind: procedures.Timer, WaitMS: 10 * minute, UntilMK: 313150}
	s := walkOf(Checklist{}, []Step{step})
	s.apply(record.Stamp{At: began}, record.Timer{Step: "rest", Mark: record.MarkStarted})
	for _, c := range []struct {
		after time.Duration
		left  int64
		want  string
	}{
		{9 * time.Minute, minute, "the temperature in °C; it must be below 40 °C, 1:00 from now"},
		{10*time.Minute - time.Millisecond, 1, "the temperature in °C; it must be below 40 °C, 0:01 from now"},
		{10 * time.Minute, 0, "the temperature in °C; it must be below 40 °C"},
		{11 * time.Minute, 0, "the temperature in °C; it must be below 40 °C"},
	} {
		if a := s.Ask(record.Stamp{At: began.Add(c.after)}); a.LeftMS != c.left || a.Prompt != c.want {
			t.Errorf("after %v it asks for %q with %d ms left, want %q, %d", c.after, a.Prompt, a.LeftMS, c.want, c.left)
		}
	}
}

// A number is asked for with its range and its unit, where it has one to be typed.
func TestPromptOfAValue(t *testing.T) {
	for unit, want := range map[string]string{
		"mL": "a number from -2.5 to 12 mL", "count": "a number from -2.5 to 12", "none": "a number from -2.5 to 12",
	} {
		if got := valuePrompt(procedures.ValueSpec{Unit: unit, Min: -2.5, Max: 12}); got != want {
			t.Errorf("in %s it asks for %q, want %q", unit, got, want)
		}
	}
}

// Temperatures and times as they are shown: hours only from a whole one on, a part of a second
// as a whole one.
func TestShownTemperaturesAndTimes(t *testing.T) {
	for mk, want := range map[int64]string{308150: "35 °C", 273150: "0 °C", 263150: "-10 °C", 294650: "21.5 °C"} {
		if got := Celsius(mk); got != want {
			t.Errorf("%d mK are shown as %q, want %q", mk, got, want)
		}
	}
	for ms, want := range map[int64]string{
		0: "0:00", 1: "0:01", 61_000: "1:01", 3_599_000: "59:59", 3_599_001: "1:00:00", 3_600_000: "1:00:00",
		3_723_000: "1:02:03", 36_000_000: "10:00:00", -90_500: "-1:31",
	} {
		if got := Clock(ms); got != want {
			t.Errorf("%d ms are shown as %q, want %q", ms, got, want)
		}
	}
}

// A record that broke off after the last value of an idle test asks for that value again.
func TestLastFieldOfABrokenOffTest(t *testing.T) {
	step := Step{ID: "idle-test", Kind: procedures.Test, Test: &procedures.TestSpec{Phase: "before", State: "hot"}}
	s := walkOf(Checklist{Cylinders: 1}, []Step{step}, record.StepStarted{Step: "idle-test"})
	for _, name := range []string{"coolant", "idle speed", "correction 1"} {
		if got := s.Ask(record.Stamp{}).Field.Name; got != name {
			t.Errorf("it asks for %q, want %q", got, name)
		}
		s.apply(record.Stamp{}, record.Value{Step: "idle-test", Field: name, Text: "1"})
	}
	if got := s.Ask(record.Stamp{}).Field.Name; got != "correction 1" {
		t.Errorf("after the last it asks for %q", got)
	}
}

// Somebody goes back to a step that is done or skipped, by its number in the sitting or its
// name, or to the one before; not to one that is open, or lies ahead.
func TestBackToAStep(t *testing.T) {
	steps := []Step{{ID: "oil"}, {ID: "lamp"}, {ID: "caps"}, {ID: "hoses"}, {ID: "run"}}
	s := walkOf(Checklist{}, steps, record.StepDone{Step: "oil"}, record.StepSkipped{Step: "lamp"}, record.StepStarted{Step: "hoses"})
	for _, c := range []struct{ to, want, refused string }{
		{"1", "oil", ""},
		{"2", "lamp", ""},
		{"oil", "oil", ""},
		{"", "lamp", ""},
		{"3", "", "step 3 is not done yet"},
		{"4", "", "step 4 is not done yet"},
		{"5", "", "no step before this one"},
		{"0", "", "no step before this one"},
		{"-1", "", "no step before this one"},
	} {
		got, err := s.turn(record.Stamp{}).stepBack(Ask{Step: steps[3]}, c.to)
		if got != c.want || (err == nil) != (c.refused == "") || err != nil && !strings.Contains(err.Error(), c.refused) {
			t.Errorf("back to %q leads to %q, %v; want %q, %q", c.to, got, err, c.want, c.refused)
		}
	}
}

// Two different words of three letters are the least that says something.
func TestWordsThatSaySomething(t *testing.T) {
	for text, want := range map[string]bool{
		"add oil": true, "more water on the coil": true, "öle weg": true,
		"oil": false, "no oil": false, "oil OIL": false, "I do it": false, "": false,
	} {
		if got := saysSomething(text); got != want {
			t.Errorf("%q says something: %t, want %t", text, got, want)
		}
	}
}

// A second person is proved where they showed who they are; whoever works alone and looks once
// more is not, whatever was shown.
func TestWhoReleases(t *testing.T) {
	step := Step{ID: "rig", Hold: &procedures.Hold{Alone: "self-check", Word: "tight", Ask: "still tight"}}
	for _, c := range []struct {
		kind   AskKind
		text   string
		proved bool
		want   record.HoldReleased
	}{
		{AskRelease, "Ines", true, record.HoldReleased{Step: "rig", By: "Ines", Proved: true}},
		{AskRelease, "Ines", false, record.HoldReleased{Step: "rig", By: "Ines"}},
		{AskSelfCheck, "tight", true, record.HoldReleased{Step: "rig", By: "Tobi", Answer: "tight"}},
		{AskSelfCheck, "4 7 1", false, record.HoldReleased{Step: "rig", By: "Tobi", Answer: "4 7 1"}},
	} {
		on := walkOf(Checklist{}, []Step{step}).turn(record.Stamp{By: "Tobi"})
		if err := on.release(Ask{Kind: c.kind, Step: step, Digits: "471"}, c.text, c.proved); err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff([]record.Body{c.want, record.StepDone{Step: "rig"}}, on.bodies); diff != "" {
			t.Errorf("%s by %q, proved %t (-want +got)\n%s", c.kind, c.text, c.proved, diff)
		}
	}
}

// Words are wanted where words are asked for, but of the symptom a no is an answer.
func TestWordsOfAValue(t *testing.T) {
	for _, c := range []struct {
		sets, text string
		taken      bool
	}{
		{"", "white smoke at first", true},
		{"", "no", false},
		{"", "ok", false},
		{"", "", false},
		{"condition.symptom", "no", true},
		{"condition.symptom", "knocks when cold", true},
		{"condition.symptom", "", false},
	} {
		on := State{planned: planned(t), steps: map[string]progress{}}.turn(record.Stamp{})
		err := on.value(Ask{Step: Step{ID: "seen", Sets: c.sets, Value: &procedures.ValueSpec{Text: true}}}, c.text)
		if (err == nil) != c.taken || (len(on.bodies) > 0) != c.taken {
			t.Errorf("%q for %q: %v, %d events; taken should be %t", c.text, c.sets, err, len(on.bodies), c.taken)
		}
	}
}

// A number is taken at either end of its range, and refused beyond it; a count is whole.
func TestNumbersAtTheirRange(t *testing.T) {
	for _, c := range []struct {
		text, unit string
		want       string // empty: refused
	}{
		{"-50", "mm3/stroke", "-50"},
		{"50 mm3/stroke", "mm3/stroke", "50"},
		{"49,9", "mm3/stroke", "49.9"},
		{"-50.01", "mm3/stroke", ""},
		{"50.01", "mm3/stroke", ""},
		{"4", "count", "4"},
		{"4.5", "count", ""},
	} {
		got, err := numberWithin(c.text, c.unit, -50, 50)
		if got != c.want || (err == nil) != (c.want != "") {
			t.Errorf("%q in %s from -50 to 50 is %q, %v; want %q", c.text, c.unit, got, err, c.want)
		}
	}
}

// What is left may fill the container to the brim, where its size is known; it may be 15 % of
// the last reading and twice the error of that from it, 20 mL or, on a scale and at 800 g/L,
// 5 g or 6.25 mL, without being called out (15 % is own judgement; 20 mL and 5 g are common
// practice, no source).
func TestLeftOverAtItsLimits(t *testing.T) {
	step := Step{ID: "left-over", Value: &procedures.ValueSpec{Unit: "mL", Max: 20000}}
	for _, c := range []struct {
		name, text     string
		capacity, last int64 // µL; 0: not known
		unit           string
		taken, calls   bool
	}{
		{"to the brim", "3000", 3000000, 0, "", true, false},
		{"to a brim in tenths", "16.1", 16100, 0, "", true, false},
		{"above the brim", "3000.1", 3000000, 0, "", false, false},
		{"of a container of no known size", "20000", 0, 0, "", true, false},
		{"much above the last reading", "1190", 0, 1000000, "mL", true, false},
		{"too much above it", "1190.1", 0, 1000000, "mL", true, true},
		{"much below it", "810", 0, 1000000, "mL", true, false},
		{"too much below it", "809.9", 0, 1000000, "mL", true, true},
		{"much above one on the scale", "1162.5", 0, 1000000, "g", true, false},
		{"too much above one on the scale", "1162.6", 0, 1000000, "g", true, true},
	} {
		on := walkOf(Checklist{Run: Run{CapacityUL: c.capacity, MGPerML: 800}}, []Step{step}).turn(record.Stamp{})
		if c.last > 0 {
			on.run.readings = []record.Reading{{LevelUL: &c.last, LevelUnit: c.unit}}
		}
		err := on.value(Ask{Step: step}, c.text)
		if got := called(on); (err == nil) != c.taken || (got != "") != c.calls {
			t.Errorf("%s: %v, it calls out %q; taken %t, called out %t", c.name, err, got, c.taken, c.calls)
		}
	}
}

// A wait for a temperature is over below its limit, not at it, and not before its time (40 °C and
// 10 min are common practice, no source).
func TestCooledAtItsLimit(t *testing.T) {
	for _, c := range []struct {
		text  string
		limit int64
		left  int64
		done  bool
	}{
		{"40", 313150, 0, false},
		{"40.1", 313150, 0, false},
		{"39.9", 313150, 0, true},
		{"39.9", 313150, 1, false},
		{"40.2", 313350, 0, false},
		{"40.4", 313550, 0, false},
		{"40.7", 313850, 0, false},
	} {
		step := Step{ID: "rest", Kind: procedures.Timer, WaitMS: 10 * minute, UntilMK: c.limit}
		s := walkOf(Checklist{}, []Step{step}, record.StepStarted{Step: "rest"})
		on := s.turn(record.Stamp{})
		if err := on.cooled(Ask{Step: on.planned.List.Steps[0], LeftMS: c.left}, c.text); err != nil {
			t.Fatal(err)
		}
		if got := on.StatusOf(on.planned.List.Steps[0]) == Done; got != c.done || on.AnswerOf("rest") != c.text+" degC" {
			t.Errorf("at %s °C with %d ms left it is done: %t, answered %q; want %t", c.text, c.left, got, on.AnswerOf("rest"), c.done)
		}
	}
}

// An idle test keeps what was read, without what the vehicle does not show; where it shows
// nothing there was nothing to measure.
func TestReadingsOfAnIdleTest(t *testing.T) {
	step := Step{ID: "idle-test", Kind: procedures.Test, Test: &procedures.TestSpec{Phase: "before", State: "hot"}}
	coolant := record.TestReading{Channel: "coolant", Text: "82", Unit: "degC"}
	speed := record.TestReading{Channel: "idle speed", Text: "810", Unit: "rpm"}
	for _, c := range []struct {
		typed      [2]string
		want       []record.TestReading
		measurable bool
	}{
		{[2]string{"82", "810"}, []record.TestReading{coolant, speed}, true},
		{[2]string{"82", "-"}, []record.TestReading{coolant}, true},
		{[2]string{"-", "810"}, []record.TestReading{speed}, true},
		{[2]string{"-", "-"}, []record.TestReading{}, false},
	} {
		on := walkOf(Checklist{}, []Step{step}).turn(record.Stamp{})
		for i, text := range c.typed {
			if err := on.testValue(Ask{Step: step, Field: on.testFields()[i]}, text); err != nil {
				t.Fatal(err)
			}
		}
		var added []record.Body
		for _, body := range on.bodies {
			if _, is := body.(record.TestAdded); is {
				added = append(added, body)
			}
		}
		want := []record.Body{record.TestAdded{Step: "idle-test", Phase: "before", State: "hot", Readings: c.want, Measurable: c.measurable}}
		if diff := cmp.Diff(want, added); diff != "" {
			t.Errorf("%v (-want +got)\n%s", c.typed, diff)
		}
	}
}
