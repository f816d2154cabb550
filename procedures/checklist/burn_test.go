package checklist

import (
	"math"
	"strings"
	"testing"

	"daytank/procedures/record"
)

// By hand: estimated 6 to 16, expected 10 mL/min, so 2.5 mL/min wide; 300 mL in
// 20 min are 15 mL/min, off by √2·20/20 = 1.4142. Weights 0.16 and 0.5:
// (10·0.16 + 15·0.5)/0.66 = 13.788, and 1/√0.66 = 1.2309.
func TestBurnUpdate(t *testing.T) {
	e := Estimate{LowULMin: 6000, ExpULMin: 10000, HighULMin: 16000}
	mean, sd := e.Update(300000, math.Sqrt2*20000, 20)
	if math.Abs(mean-13787.9) > 0.1 || math.Abs(sd-1230.9) > 0.1 {
		t.Errorf("%.1f ± %.1f µL/min, want 13787.9 ± 1230.9", mean, sd)
	}
	if mean, sd := e.Update(300000, math.Sqrt2*20000, 0); mean != 10000 || sd != 2500 {
		t.Errorf("without a reading %.0f ± %.0f", mean, sd)
	}
}

// The countdown follows: after 20 min at 15 mL/min, 900 mL above the stop level, the
// burn may be 13.788 + 2·1.231 = 16.25 mL/min, which takes 55.38 min; the planned
// earliest is that of the estimate.
func TestCountdownFollowsTheReadings(t *testing.T) {
	level := func(ms, ul int64, baseline bool) record.Reading {
		mk := int64(288150)
		return record.Reading{Stage: 1, RunMS: ms, LevelUL: &ul, TemperatureMK: &mk, Baseline: baseline}
	}
	earliest := 75 * minute // 1200 mL at 16 mL/min
	plan := Run{
		Stages: []Stage{{What: "idle", LengthMS: 120 * minute, FactorPPM: 1e6, DrawnHighULMin: 16000}}, StopUL: 600000, EarliestMS: &earliest,
		ExpansionPPM: 830, Burn: &Estimate{LowULMin: 6000, ExpULMin: 10000, HighULMin: 16000},
	}
	r := engineRun{baseline: true, running: true, starts: []int64{0}, readings: []record.Reading{level(0, 1800000, true)}}
	if at := r.stopAtMS(plan, 0); at == nil || *at != earliest {
		t.Errorf("before a reading the plan's %d stands, not %v", earliest, at)
	}
	r.readings = append(r.readings, level(20*minute, 1500000, false))
	at := r.stopAtMS(plan, 0)
	if at == nil || math.Abs(float64(*at)/float64(minute)-75.38) > 0.01 {
		t.Fatalf("the stop level at %v ms, want 75.38 min", at)
	}
	plan.Stages[0].LengthMS = 60 * minute
	if at := r.stopAtMS(plan, 0); at != nil {
		t.Errorf("reached at %d ms of a run of 60 min", *at)
	}
	// Measured: the plan stands, but for what was read. 900 mL above the stop level after 20
	// min, read to ±40, last at the least (900 − 40)/16 = 53.75 min more; 400 mL at the most
	// (400 + 40)/16 = 27.5 min.
	plan.Burn, earliest = nil, 70*minute
	if at := r.stopAtMS(plan, 0); at == nil || math.Abs(float64(*at)/float64(minute)-73.75) > 0.01 {
		t.Errorf("read high: %v ms, want 73.75 min", at)
	}
	r.readings[1] = level(20*minute, 1000000, false)
	if at := r.stopAtMS(plan, 0); at == nil || math.Abs(float64(*at)/float64(minute)-47.5) > 0.01 {
		t.Errorf("read low: %v ms, want 47.5 min", at)
	}
	r.readings = nil
	if at := r.stopAtMS(plan, 0); at == nil || *at != earliest {
		t.Errorf("%v", at)
	}
	// A soak that took 5 min longer than planned puts it off by as much; a minute too
	// long at twice the burn brings it a minute nearer.
	plan.Stages = []Stage{
		{LengthMS: 10 * minute, DrawnHighULMin: 16000},
		{LengthMS: 2 * minute, DrawnHighULMin: 32000},
		{LengthMS: 10 * minute, Soak: true},
		{LengthMS: 20 * minute, DrawnHighULMin: 16000},
	}
	r.stage = 3
	for _, c := range []struct {
		name   string
		starts []int64
		want   int64
	}{
		{"as planned", []int64{0, 10 * minute, 12 * minute, 22 * minute}, 70 * minute},
		{"a longer soak", []int64{0, 10 * minute, 12 * minute, 27 * minute}, 75 * minute},
		{"longer at the higher speed", []int64{0, 10 * minute, 13 * minute, 23 * minute}, 69 * minute},
	} {
		r.starts = c.starts
		if at := r.stopAtMS(plan, 0); at == nil || *at != c.want {
			t.Errorf("%s: %v, want %d", c.name, at, c.want)
		}
	}
	r.stage, r.starts = 2, []int64{0, 10 * minute, 12 * minute}
	if at := r.stopAtMS(plan, 30*minute); at == nil || *at != 78*minute {
		t.Errorf("a soak that goes on: %v, want 78 min", at)
	}
}

// By hand: 300 mL in 20 min are 15 mL/min. Read in mL it is off by 2·√2·20/20 = 2.828;
// weighed at 800 g/L by 2·√2·6.25/20 = 0.884. With the estimate, 2.5 wide, the weights are
// 0.16 and 5.12: (10·0.16 + 15·5.12)/5.28 = 14.848, 2/√5.28 = 0.870. Against a burn measured as 14 ± 0.7 neither
// is narrower; against an estimate of 6 to 16 both are, but only the scale is firm.
func TestBurnReadOfARun(t *testing.T) {
	run := func(idle Estimate, estimated bool, unit string) (BurnRead, bool) {
		plan := Run{Stages: []Stage{{LengthMS: 20 * minute, FactorPPM: 1e6}}, ExpansionPPM: 830, MGPerML: 800, Idle: &idle}
		if estimated {
			plan.Burn = &idle
		}
		level := func(ms, ul int64, baseline bool) record.Reading {
			mk := int64(288150)
			return record.Reading{RunMS: ms, LevelUL: &ul, LevelUnit: unit, TemperatureMK: &mk, Baseline: baseline}
		}
		r := engineRun{starts: []int64{0}, ended: true, readings: []record.Reading{level(0, 1800000, true), level(20*minute, 1500000, false)}}
		return State{planned: Planned{List: Checklist{Run: plan}}, run: r}.BurnRead()
	}
	measured, wide := Estimate{13300, 14000, 14700}, Estimate{6000, 10000, 16000}
	for _, c := range []struct {
		name           string
		idle           Estimate
		estimated      bool
		unit           string
		want           Estimate
		narrower, firm bool
	}{
		{"measured, in mL", measured, false, "mL", Estimate{12172, 15000, 17828}, false, false},
		{"measured, weighed", measured, false, "g", Estimate{14116, 15000, 15884}, false, true},
		{"estimated, in mL", wide, true, "mL", Estimate{11326, 13788, 16250}, true, false},
		{"estimated, weighed", wide, true, "g", Estimate{13978, 14848, 15719}, true, true},
	} {
		got, ok := run(c.idle, c.estimated, c.unit)
		if !ok || got.Read != c.want || got.Narrower() != c.narrower || got.Firm() != c.firm {
			t.Errorf("%s: %+v, %t, narrower %t, firm %t; want %+v, %t, %t", c.name, got.Read, ok, got.Narrower(), got.Firm(), c.want, c.narrower, c.firm)
		}
	}
}

// At 12 mL a minute, with a soak from minute 10 to 20: what may have been drawn between two
// readings, and whether a soak lay between. A level read twice at one moment of a soak is
// one of it; the readings after the moment at which it ended are not.
func TestDrawnBetweenReadings(t *testing.T) {
	plan := Run{Stages: []Stage{{DrawnHighULMin: 12000}, {Soak: true}, {DrawnHighULMin: 12000}}}
	for _, c := range []struct {
		name     string
		begun    int // so many stages
		from, to int64
		most     float64
		soaked   bool
	}{
		{"idle", 1, 2, 4, 24000, false},
		{"into the soak, as it begins", 2, 8, 10, 24000, false},
		{"into the soak", 2, 8, 12, 24000, false},
		{"in the soak", 2, 10, 12, 0, true},
		{"twice at one moment of the soak", 2, 12, 12, 0, true},
		{"over the soak", 3, 8, 24, 72000, true},
		{"since the soak ended", 3, 20, 22, 24000, false},
		{"in a stage that the plan does not have", 4, 28, 32, 24000, false},
	} {
		r := engineRun{stage: c.begun - 1, starts: []int64{0, 10 * minute, 20 * minute, 30 * minute}[:c.begun]}
		most, soaked := r.drawnUL(plan, record.Reading{RunMS: c.from * minute}, record.Reading{RunMS: c.to * minute})
		if most != c.most || soaked != c.soaked {
			t.Errorf("%s: %.0f µL, soaked %t; want %.0f, %t", c.name, most, soaked, c.most, c.soaked)
		}
	}
}

// Over a soak what was burned beside it does not count, and a level just as far from that of
// before the soak as it may be, 20 mL, is that level again.
func TestCalledOutOverASoak(t *testing.T) {
	plan := Run{Stages: []Stage{{DrawnHighULMin: 12000}, {Soak: true}, {DrawnHighULMin: 12000}}, ExpansionPPM: 830}
	level := func(at, ul int64) record.Reading {
		mk := int64(288150)
		return record.Reading{RunMS: at * minute, LevelUL: &ul, TemperatureMK: &mk}
	}
	for _, c := range []struct {
		name     string
		begun    int
		readings []record.Reading
		want     string
	}{
		// 80 mL less, of which 4 min at 12 mL are 48.
		{"more than was burned", 3, []record.Reading{level(8, 1300000), level(22, 1220000)}, "soak: over the soak the level changed by 32 mL more"},
		{"the level of before", 2, []record.Reading{level(10, 1310000), level(20, 1265000), level(20, 1290000)}, ""},
		{"below that", 2, []record.Reading{level(10, 1310000), level(20, 1265000), level(20, 1289999)}, "soak: over the soak the level changed by 25 mL more"},
	} {
		starts := []int64{0, 10 * minute, 20 * minute}[:c.begun]
		on := State{planned: Planned{List: Checklist{Run: plan}}}.turn(record.Stamp{})
		on.run = engineRun{running: true, stage: c.begun - 1, stageMS: starts[c.begun-1], starts: starts, readings: c.readings}
		on.differences(Ask{})
		if got := called(on); !strings.HasPrefix(got, c.want) || (got == "") != (c.want == "") {
			t.Errorf("%s: it calls out %q, want %q", c.name, got, c.want)
		}
	}
}

// called gives the alarms of a turn, one after the other.
func called(t *turn) string {
	var all []string
	for _, body := range t.bodies {
		if a, is := body.(record.Alarm); is {
			all = append(all, a.Name+": "+a.Message)
		}
	}
	return strings.Join(all, "; ")
}

// A level at the stop level is no level to begin with, and calls the key off in the run; one
// to begin with may be 15 % from the plan's, where the checklist knows that.
func TestLevelsAtTheirLimits(t *testing.T) {
	for _, c := range []struct {
		name     string
		full     int64
		baseline bool
		text     string
		refused  string
		calls    string
	}{
		{"begin at the stop level", 1000000, true, "600 mL", "not above the stop level", ""},
		{"begin just above it", 0, true, "600.001 mL", "", ""},
		{"begin 15 % above the plan", 1000000, true, "1150 mL 15", "", ""},
		{"begin 15 % below it", 1000000, true, "850 mL 15", "", ""},
		{"begin further above", 1000000, true, "1150.1 mL 15", "", "begin: the level to begin with is 150 mL above"},
		{"begin further below", 1000000, true, "849.9 mL 15", "", "begin: the level to begin with is 150 mL below"},
		{"begin where the plan's level is not kept", 0, true, "1150 mL 15", "", ""},
		{"run at the stop level", 1000000, false, "600 mL", "", "stop level: "},
		{"run just above it", 1000000, false, "600.001 mL", "", ""},
	} {
		list := Checklist{Fastened: true, Run: Run{StopUL: 600000, FullUL: c.full, ExpansionPPM: 830}}
		on := State{planned: Planned{List: list}}.turn(record.Stamp{})
		take := on.reading
		if c.baseline {
			take = on.baseline
		}
		err := take(Ask{}, c.text)
		if (err == nil) != (c.refused == "") || err != nil && !strings.Contains(err.Error(), c.refused) {
			t.Errorf("%s: %v, want %q", c.name, err, c.refused)
		}
		if got := called(on); !strings.HasPrefix(got, c.calls) || (got == "") != (c.calls == "") {
			t.Errorf("%s: it calls out %q, want %q", c.name, got, c.calls)
		}
	}
}

// An estimate without a band is certain: no reading changes it.
func TestBurnWithoutABand(t *testing.T) {
	e := Estimate{LowULMin: 10000, ExpULMin: 10000, HighULMin: 10000}
	if mean, sd := e.Update(300000, 28000, 20); mean != 10000 || sd != 0 {
		t.Errorf("%g ± %g µL/min, want 10000 ± 0", mean, sd)
	}
}

// Readings tell the burn from a minute of idling on, and where the level has fallen. By hand,
// 15 mL in 1 min with an estimate of 6 to 16, expected 10 mL/min, off by √2·20 mL: the weights
// are 0.16 and 0.00125, (10·0.16 + 15·0.00125)/0.16125 = 10.039 mL/min.
func TestBurnReadAtItsLimits(t *testing.T) {
	for _, c := range []struct {
		name      string
		estimated bool
		ms, fall  int64
		want      int64 // µL/min; 0: they do not tell it
	}{
		{"a minute, measured before", false, minute, 15000, 15000},
		{"a minute, estimated before", true, minute, 15000, 10039},
		{"less than that, measured before", false, minute - 1, 15000, 0},
		{"less than that, estimated before", true, minute - 1, 15000, 0},
		{"the level just fell", false, 20 * minute, 20, 1},
		{"the level stayed", false, 20 * minute, 0, 0},
		{"the level rose", false, 20 * minute, -20, 0},
	} {
		idle := Estimate{LowULMin: 6000, ExpULMin: 10000, HighULMin: 16000}
		plan := Run{Stages: []Stage{{LengthMS: 20 * minute, FactorPPM: 1e6}}, ExpansionPPM: 830, Idle: &idle}
		if c.estimated {
			plan.Burn = &idle
		}
		mk, full, left := int64(288150), int64(1800000), 1800000-c.fall
		r := engineRun{starts: []int64{0}, ended: true, readings: []record.Reading{
			{LevelUL: &full, TemperatureMK: &mk, Baseline: true}, {RunMS: c.ms, LevelUL: &left, TemperatureMK: &mk},
		}}
		got, ok := State{planned: Planned{List: Checklist{Run: plan}}, run: r}.BurnRead()
		if ok != (c.want > 0) || ok && got.Read.ExpULMin != c.want {
			t.Errorf("%s: %d µL/min, %t; want %d", c.name, got.Read.ExpULMin, ok, c.want)
		}
	}
}

// A band as wide as the one before says no more than that; one of just 10 % to both sides is
// firm.
func TestBandsAtTheirLimits(t *testing.T) {
	planned := Estimate{LowULMin: 9000, ExpULMin: 10000, HighULMin: 11000}
	for _, c := range []struct {
		name           string
		read           Estimate
		narrower, firm bool
	}{
		{"as wide", Estimate{9000, 10000, 11000}, false, true},
		{"a little narrower", Estimate{9000, 10000, 10999}, true, true},
		{"a little wider", Estimate{9000, 10000, 11001}, false, false},
	} {
		b := BurnRead{Read: c.read, Planned: planned}
		if b.Narrower() != c.narrower || b.Firm() != c.firm {
			t.Errorf("%s: narrower %t, firm %t; want %t, %t", c.name, b.Narrower(), b.Firm(), c.narrower, c.firm)
		}
	}
}

// Minutes of idling are those of each stage times what it burns beside idling; a stage that
// the plan does not have counts nothing.
func TestIdleMinutes(t *testing.T) {
	plan := Run{Stages: []Stage{{FactorPPM: 1e6}, {Soak: true}, {FactorPPM: 2e6}}}
	r := engineRun{starts: []int64{0, 10 * minute, 20 * minute, 30 * minute}}
	for until, want := range map[int64]float64{0: 0, 4: 4, 10: 10, 15: 10, 20: 10, 25: 20, 30: 30, 40: 30} {
		if got := r.idleMinutes(plan, until*minute); got != want {
			t.Errorf("until minute %d: %g minutes, want %g", until, got, want)
		}
	}
}

// At 1 mL a second, with a soak before and between: so much is drawn as a stage ends, before
// the soak and not after it; what is drawn already is drawn now, in a soak too.
func TestReaches(t *testing.T) {
	plan := Run{Stages: []Stage{
		{Soak: true, LengthMS: 5 * minute}, {LengthMS: 10 * minute}, {Soak: true, LengthMS: 10 * minute}, {LengthMS: 5 * minute},
	}}
	rate := func(s Stage) float64 {
		if s.Soak {
			return 0
		}
		return 1 // µL a millisecond
	}
	for _, c := range []struct {
		name   string
		since  int64
		left   float64
		beyond bool
		want   int64 // -1: not reached
	}{
		{"nothing left, at the start", 0, 0, true, 0},
		{"nothing left, in the soak", 2 * minute, 0, true, 2 * minute},
		{"within a stage", 0, 300000, true, 10 * minute},
		{"as the soak begins", 0, 600000, true, 15 * minute},
		{"after the soak", 0, 600001, true, 25*minute + 1},
		{"from the soak on", 20 * minute, 60000, true, 26 * minute},
		{"at the planned end", 0, 900000, false, 30 * minute},
		{"beyond it", 0, 900001, false, -1},
		{"beyond it, where that counts", 0, 900001, true, 30*minute + 1},
	} {
		got := int64(-1)
		if at := (engineRun{starts: []int64{0}}).reaches(plan, c.since, 0, c.left, c.beyond, rate); at != nil {
			got = *at
		}
		if got != c.want {
			t.Errorf("%s: at %d ms, want %d", c.name, got, c.want)
		}
	}
}

// Where the plan does not say what the stages draw, its earliest time stands.
func TestEarliestWithoutRates(t *testing.T) {
	earliest := 70 * minute
	plan := Run{Stages: []Stage{{LengthMS: 120 * minute}}, EarliestMS: &earliest, ExpansionPPM: 830}
	if at := (engineRun{running: true, starts: []int64{0}}).stopAtMS(plan, 0); at == nil || *at != earliest {
		t.Errorf("the stop level at %v, want %d ms", at, earliest)
	}
}
