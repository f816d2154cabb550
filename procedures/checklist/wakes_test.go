package checklist

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"daytank/procedures"
	"daytank/procedures/record"
)

// inMS gives seconds as the run counts them.
func inMS(seconds ...int64) []int64 {
	for i := range seconds {
		seconds[i] *= second
	}
	return seconds
}

// The run of the tests here: 10 min of idling, 5 min at 1500 rpm, 10 min of soak, 10 min of
// idling, warm at 60 °C. Its stages begin at 0, 600, 900 and 1500 s.
var planOfWakes = Run{WarmMK: 333150, StopUL: 600000, Stages: []Stage{
	{What: "idle", LengthMS: 10 * minute},
	{What: "1500 rpm", LengthMS: 5 * minute},
	{What: "soak", LengthMS: 10 * minute, Soak: true},
	{What: "idle", LengthMS: 10 * minute},
}}

// runAt gives a run in a stage of that plan, with its last reading and the last look at the
// return, in seconds of the run.
func runAt(stage int, read, flows int64) engineRun {
	ul := int64(1300000)
	r := engineRun{
		baseline: true, running: true, started: record.Stamp{At: beganWakes}, stage: stage,
		starts: inMS(0, 600, 900, 1500)[:stage+1], lastMS: read * second, flowsMS: flows * second,
		readings: []record.Reading{{Baseline: true, LevelUL: &ul}, {RunMS: read * second, LevelUL: &ul}},
	}
	r.stageMS = r.starts[stage]
	return r
}

var beganWakes = time.Date(2026, 3, 14, 9, 0, 0, 0, time.UTC)

func atSecond(s int64) record.Stamp {
	return record.Stamp{At: beganWakes.Add(time.Duration(s) * time.Second)}
}

// What the run asks for, when the next reading is due, and how soon it looks again: as soon
// as the stage ends, a reading or a look at the return is due, or bubbles have been seen for
// a minute, whichever comes first; while something is due, every half minute, and every 10 s
// where the engine is to be switched off or the return to be looked at.
func TestLooksAgain(t *testing.T) {
	bubbles := func(r engineRun, since int64) engineRun {
		since *= second
		r.bubblesMS = &since
		return r
	}
	off := runAt(0, 240, 70)
	off.off = "the fluid is hot"
	for _, c := range []struct {
		name      string
		run       engineRun
		at        int64
		part      RunPart
		due, wake int64
	}{
		{"before the return is to be looked at", runAt(0, 0, 0), 4, RunReading, 26, 6},
		{"the return is to be looked at", runAt(0, 0, 0), 20, RunFlow, 10, 10},
		{"that and the end of the stage near", runAt(1, 880, 0), 895, RunFlow, 5, 5},
		{"a reading due just now, the return before long", runAt(0, 0, 12), 30, RunReading, 0, 30},
		{"a reading overdue, the return sooner than half a minute", runAt(0, 0, 12), 40, RunReading, -10, 20},
		{"a reading overdue", runAt(0, 60, 70), 200, RunReading, -80, 30},
		{"a reading overdue, the stage nearly over", runAt(0, 240, 70), 595, RunReading, -235, 5},
		{"a reading to come", runAt(0, 245, 70), 250, RunReading, 110, 110},
		{"bubbles", bubbles(runAt(0, 245, 70), 248), 250, RunReading, 110, 58},
		{"bubbles for a minute", bubbles(runAt(0, 245, 70), 180), 250, RunReading, 110, 1},
		{"bubbles, a reading sooner", bubbles(runAt(0, 245, 70), 350), 351, RunReading, 9, 9},
		{"the next stage", runAt(0, 590, 70), 605, RunStage, -5, 30},
		{"the planned end", runAt(3, 2099, 1520), 2101, RunOff, 0, 10},
		{"something switches it off", off, 250, RunOff, 0, 10},
		{"the soak begins", runAt(2, 890, 0), 905, RunReading, 0, 30},
		{"in the soak", runAt(2, 905, 0), 1000, RunReading, 500, 500},
		{"the level after the soak", runAt(2, 905, 0), 1500, RunReading, 0, 30},
		{"that is not read", runAt(2, 905, 0), 1510, RunReading, 0, 30},
		{"after the soak", runAt(2, 1500, 0), 1505, RunStage, 0, 30},
	} {
		a := c.run.ask(Checklist{Run: planOfWakes}, atSecond(c.at))
		if a.Part != c.part || a.DueInMS != c.due*second || a.WakeMS != c.wake*second {
			t.Errorf("%s: %s due in %d ms, looks again in %d ms; want %s in %d s, %d s", c.name, a.Part, a.DueInMS, a.WakeMS, c.part, c.due, c.wake)
		}
	}
}

// A run that ends with a soak ends with it: nothing comes after.
func TestSoakAtTheEnd(t *testing.T) {
	list := Checklist{Run: planOfWakes}
	list.Run.Stages = list.Run.Stages[:3]
	for _, c := range []struct {
		read, at int64
		part     RunPart
	}{{905, 1000, RunReading}, {905, 1500, RunOff}, {1500, 1510, RunOff}} {
		a := runAt(2, c.read, 0).ask(list, atSecond(c.at))
		if a.Part != c.part || (a.Reason == "planned end") != (c.part == RunOff) {
			t.Errorf("read at %d s, at %d s: %s %q, want %s", c.read, c.at, a.Part, a.Reason, c.part)
		}
	}
}

// A run may begin with a soak: the level it begins with is read all the same.
func TestSoakThatComesFirst(t *testing.T) {
	plan := Run{Stages: []Stage{{Soak: true, LengthMS: 5 * minute}, {LengthMS: 5 * minute}}}
	r := engineRun{readings: []record.Reading{{Baseline: true}}}
	if a := r.askSoak(RunAsk{ElapsedMS: second}, plan); a.Part != RunReading || a.Mark != markBefore {
		t.Errorf("it asks %s, %q", a.Part, a.Mark)
	}
}

// A stage by the clock that goes on too long takes its time off the planned end; a soak that
// ends when the fluid is cool, and is planned to be over, does not. The time to the stop
// level is counted from now.
func TestToThePlannedEnd(t *testing.T) {
	earliest := 40 * minute
	list := Checklist{Run: planOfWakes}
	list.Run.EarliestMS = &earliest
	soak := list
	soak.Run.Stages = append([]Stage(nil), list.Run.Stages...)
	soak.Run.Stages[2].UntilMK = 313150
	for _, c := range []struct {
		name           string
		list           Checklist
		stage          int
		at, ends, stop int64
	}{
		{"in the first stage", list, 0, 120, 1980, 2280},
		{"past the end of a stage", list, 1, 960, 1140, 1440},
		{"past the end of a soak by the clock", list, 2, 1560, 540, 840},
		{"in a soak by the temperature", soak, 2, 1000, 1100, 1400},
		{"past the planned end of that", soak, 2, 1560, 600, 840},
	} {
		a := runAt(c.stage, c.at-10, c.at-10).ask(c.list, atSecond(c.at))
		if a.EndsInMS != c.ends*second || a.StopInMS == nil || *a.StopInMS != c.stop*second {
			t.Errorf("%s: ends in %d ms, the stop level in %v; want %d s, %d s", c.name, a.EndsInMS, a.StopInMS, c.ends, c.stop)
		}
	}
}

// A reading without a temperature leaves the last one that was read: the fluid stays warm,
// and a reading is due every two minutes.
func TestWarmByTheLastTemperature(t *testing.T) {
	cold, warm := planOfWakes.WarmMK-1, planOfWakes.WarmMK
	for _, c := range []struct {
		name string
		read []*int64
		due  int64
	}{
		{"never read", []*int64{nil, nil}, 900},
		{"warm just now", []*int64{&cold, &warm}, 725},
		{"warm, then not read", []*int64{&warm, nil, nil}, 725},
		{"nearly warm, then not read", []*int64{&warm, &cold, nil}, 900},
	} {
		r := engineRun{lastMS: 605 * second}
		for _, mk := range c.read {
			r.readings = append(r.readings, record.Reading{TemperatureMK: mk})
		}
		if got := r.due(planOfWakes.WarmMK); got != c.due*second {
			t.Errorf("%s: due at %d ms, want %d s", c.name, got, c.due)
		}
	}
}

// What is left of a planned wait when the last event was written may pass beside a break.
func TestLeftOfAPlannedWait(t *testing.T) {
	for _, c := range []struct {
		name    string
		stage   int
		running bool
		at      int64
		want    int64
	}{
		{"as the soak begins", 2, true, 900, 600},
		{"in the soak", 2, true, 1140, 360},
		{"when it is over", 2, true, 1500, 0},
		{"long after that", 2, true, 2000, 0},
		{"while the engine runs", 1, true, 700, 0},
		{"the run is over", 2, false, 1140, 0},
	} {
		r := runAt(c.stage, 0, 0)
		r.running = c.running
		if got := r.soakLeftMS(planOfWakes, atSecond(c.at)); got != c.want*second {
			t.Errorf("%s: %d ms left, want %d s", c.name, got, c.want)
		}
	}
	beyond := runAt(3, 0, 0)
	beyond.stage = 4
	if got := beyond.soakLeftMS(planOfWakes, atSecond(2200)); got != 0 {
		t.Errorf("in a stage that the plan does not have %d ms are left", got)
	}

	wait := State{planned: Planned{List: Checklist{Steps: []Step{
		{ID: "rest", Needed: true, Kind: procedures.Timer, WaitMS: 4 * minute, AtMostMS: 10 * minute},
	}}}, steps: map[string]progress{}}
	left := map[int64]int64{}
	wait.apply(atSecond(0), record.StepStarted{Step: "rest"})
	left[-1] = wait.plannedWaitMS()
	wait.apply(atSecond(0), record.Timer{Step: "rest", Mark: record.MarkStarted})
	for _, s := range []int64{0, 240, 600, 700} {
		wait.apply(atSecond(s), record.Note{})
		left[s] = wait.plannedWaitMS() / second
	}
	if diff := cmp.Diff(map[int64]int64{-1: 0, 0: 600, 240: 360, 600: 0, 700: 0}, left); diff != "" {
		t.Errorf("left of a wait, by what has passed of it (-want +got)\n%s", diff)
	}
}
