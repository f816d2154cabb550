package checklist

import (
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"daytank/planner"
	"daytank/planner/engine"
	"daytank/planner/quantity"
	"daytank/procedures"
	"daytank/safety"
)

// What steps depend on, as the plan has it at the limits: a container that stands as high as
// the pump is not above it, and metal is needed only where the fluid may get warmer than warm.
func TestFactsAtTheirLimits(t *testing.T) {
	p := planned(t)
	warm := p.Plan.Heat.Warm
	for _, c := range []struct {
		name, fact, want string
		change           func(*planner.Job, *planner.Plan)
	}{
		{"below the pump", "container_above", "no", func(j *planner.Job, _ *planner.Plan) { j.Rig.Lift = 0.001 }},
		{"as high as the pump", "container_above", "no", func(j *planner.Job, _ *planner.Plan) { j.Rig.Lift = 0 }},
		{"above the pump", "container_above", "yes", func(j *planner.Job, _ *planner.Plan) { j.Rig.Lift = -0.001 }},
		{"below warm", "metal_needed", "no", func(_ *planner.Job, p *planner.Plan) { p.Heat.Peak.High = warm - 0.1 }},
		{"just warm", "metal_needed", "no", func(_ *planner.Job, p *planner.Plan) { p.Heat.Peak.High = warm }},
		{"above warm", "metal_needed", "yes", func(_ *planner.Job, p *planner.Plan) { p.Heat.Peak.High = warm + 0.1 }},
		{"with a tank additive", "dose", "yes", func(*planner.Job, *planner.Plan) {}},
		{"without one", "dose", "no", func(j *planner.Job, _ *planner.Plan) { j.TankDose = nil }},
	} {
		job, plan := p.Basis.Job, p.Plan
		c.change(&job, &plan)
		if got := factsOf(job, plan)[c.fact]; got != c.want {
			t.Errorf("%s: %s is %s, want %s", c.name, c.fact, got, c.want)
		}
	}
}

// Words for values of the plan in each of their forms. Five times line and filter are
// circulated (common practice, no source); the limit of priming is twice its guide.
func TestValuesInWords(t *testing.T) {
	p := planned(t)
	for _, c := range []struct {
		name   string
		want   map[string]string
		change func(*planner.Job, *planner.Plan)
	}{
		{"line of 150 mL and filter of 350 mL", map[string]string{"circulate": "2.50 L"}, func(*planner.Job, *planner.Plan) {}},
		{"with a hand primer", map[string]string{"prime_count": "84 strokes", "prime_limit": "168 strokes"}, func(_ *planner.Job, p *planner.Plan) {
			p.Priming.Method, p.Priming.Strokes, p.Priming.KeyCycles = "hand", 84, 0
		}},
		{"with an electric pump", map[string]string{"prime_count": "3 key cycles", "prime_limit": "6 key cycles"}, func(_ *planner.Job, p *planner.Plan) {
			p.Priming.Method, p.Priming.Strokes, p.Priming.KeyCycles = "electric", 0, 3
		}},
		{"in measures", map[string]string{"dose": "160 mL for 41.0 L in main, 4 × 40 mL"}, func(*planner.Job, *planner.Plan) {}},
		{"where no measure fits", map[string]string{"dose": "160 mL for 41.0 L in main"}, func(_ *planner.Job, p *planner.Plan) {
			p.Doses = slices.Clone(p.Doses)
			p.Doses[0].Measures = 0
		}},
	} {
		job, plan := p.Basis.Job, p.Plan
		c.change(&job, &plan)
		values := valuesOf(Context{Job: job, Plan: plan})
		for key, want := range c.want {
			if values[key] != want {
				t.Errorf("%s: %s is %q, want %q", c.name, key, values[key], want)
			}
		}
	}
}

// The run has of the plan what each stage burns beside idling, the burn to be made better
// where it was estimated, what it begins with where the plan has levels,
// and the area of the container where its diameter is known.
func TestRunOfAPlan(t *testing.T) {
	p := planned(t)
	of := func(change func(*planner.Plan)) Run {
		plan := p.Plan
		plan.Stages = slices.Clone(plan.Stages)
		change(&plan)
		return runOf(Context{Job: p.Basis.Job, Plan: plan})
	}
	idle := quantity.Band[quantity.Flow]{Low: quantity.LitresPerHour(0.6), Expected: quantity.LitresPerHour(0.75), High: quantity.LitresPerHour(0.9)}
	run := of(func(p *planner.Plan) {
		p.IdleBurn = idle
		for i, times := range []quantity.Flow{1, 2.5, 0, 1} { // the stages of the van's job file
			p.Stages[i].Rate.Expected = times * idle.Expected
		}
	})
	var factors []int64
	for _, s := range run.Stages {
		factors = append(factors, s.FactorPPM)
	}
	if diff := cmp.Diff([]int64{1e6, 2.5e6, 0, 1e6}, factors); diff != "" {
		t.Errorf("beside idling (-want +got)\n%s", diff)
	}

	want := Estimate{LowULMin: 10000, ExpULMin: 12500, HighULMin: 15000} // a sixtieth of an hour's
	for source, made := range map[string]bool{engine.BurnMeasured: false, engine.BurnEstimated: true} {
		run := of(func(p *planner.Plan) { p.IdleBurn, p.BurnSource = idle, source })
		if run.Idle == nil || *run.Idle != want || (run.Burn != nil) != made || made && *run.Burn != want {
			t.Errorf("%s: idle %v, to be made better %v", source, run.Idle, run.Burn)
		}
	}

	level := planner.Level{Volume: quantity.Band[quantity.Volume]{Expected: quantity.Millilitres(1340)}}
	for full, levels := range map[int64][]planner.Level{0: nil, 1340000: {level}} {
		run := of(func(p *planner.Plan) { p.Levels = levels })
		if run.FullUL != full || len(run.Marks) != len(levels) {
			t.Errorf("with %d levels it begins with %d µL, %d marks", len(levels), run.FullUL, len(run.Marks))
		}
	}

	// By hand: π/4 · 110² = 9503 mm², and a millimetre of it 9503 µL.
	for diameter, want := range map[quantity.Length]int64{0: 0, 0.110: 9503} {
		job := p.Basis.Job
		job.Rig.Container.Diameter = diameter
		if got := runOf(Context{Job: job, Plan: p.Plan}).ULPerMM; got != want {
			t.Errorf("a container of %g m has %d µL a millimetre, want %d", diameter.Metres(), got, want)
		}
	}
}

// A number that must be near one of the plan's may be off by its part to both sides, but for
// the stop level, where it may be only higher, and a millilitre lower for rounding. Another
// number stays as the procedure has it.
func TestNumbersNearThePlans(t *testing.T) {
	var plan planner.Plan
	plan.Fluid.Charge, plan.Fluid.Flush, plan.RunDry.StopLevel = quantity.Millilitres(2000), quantity.Millilitres(400), quantity.Millilitres(600)
	as := func(text string) string { return text }
	own := safety.Number{Min: 3, Max: 7, Unit: "bar"}
	for _, c := range []struct {
		near   string
		within float64
		want   safety.Number
	}{
		{"charge", 0.25, safety.Number{Min: 1500, Max: 2500, Unit: "mL"}},
		{"flush", 0.5, safety.Number{Min: 200, Max: 600, Unit: "mL"}},
		{"stop_level", 0.25, safety.Number{Min: 599, Max: 750, Unit: "mL"}},
		{"", 0, own},
	} {
		number := own
		d := procedures.Demand{Demand: safety.Demand{Ask: "what it shows", Number: &number}, Near: c.near, Within: c.within}
		got := *fillDemand(d, as, plan).Number
		for _, off := range []float64{got.Min - c.want.Min, got.Max - c.want.Max} {
			if off > 1e-6 || off < -1e-6 || got.Unit != c.want.Unit {
				t.Errorf("near %q: %+v, want %+v", c.near, got, c.want)
			}
		}
		if number != own {
			t.Errorf("near %q: the procedure's own number is now %+v", c.near, number)
		}
	}
}

// Between the rows of the plan's table what is expected is interpolated, outside them there
// is nothing; of two rows at one moment the second counts from then on.
func TestExpectedBetweenRows(t *testing.T) {
	rows := []Mark{
		{ExpUL: 1500000, MK: 290000},
		{ExpUL: 1400000, MK: 291000},
		{AtMS: 10 * minute, ExpUL: 1300000, MK: 301000},
		{AtMS: 20 * minute, ExpUL: 1250000, MK: 303000},
	}
	for _, c := range []struct {
		rows   []Mark
		ms     int64
		ul, mk int64 // 0: nothing
	}{
		{rows, -1, 0, 0},
		{rows, 0, 1400000, 291000},
		{rows, 5 * minute, 1350000, 296000},
		{rows, 10 * minute, 1300000, 301000},
		{rows, 20 * minute, 1250000, 303000},
		{rows, 20*minute + 1, 0, 0},
		{rows[:1], 0, 0, 0},
		{nil, 0, 0, 0},
	} {
		run := Run{Marks: c.rows}
		ul, ok := run.ExpectedUL(c.ms)
		if mk := run.ExpectedMK(c.ms); ul != c.ul || mk != c.mk || ok != (c.ul > 0) {
			t.Errorf("%d rows at %d ms: %d µL, %t, at %d mK; want %d, %d", len(c.rows), c.ms, ul, ok, mk, c.ul, c.mk)
		}
	}
}

// A level may be as much as the container holds, or 1000 L where that is not known, and a
// temperature from −40 to 150 °C (own judgement); a little more is none.
func TestReadingsAtTheirLimits(t *testing.T) {
	for _, c := range []struct {
		text     string
		capacity int64
		refused  string
	}{
		{"1000000 mL", 0, ""},
		{"1000000.001 mL", 0, "not a level in mL"},
		{"3000 mL", 3000000, ""},
		{"3000.001 mL", 3000000, "more than the container holds, 3000 mL"},
		{"3000.001 mL", 0, ""},
		{"1300 -40", 0, ""},
		{"1300 -40.1", 0, "not a temperature"},
		{"1300 150", 0, ""},
		{"1300 150.1", 0, "not a temperature"},
	} {
		r, err := Run{CapacityUL: c.capacity}.ParseReading(c.text, inML)
		if (err == nil) != (c.refused == "") || err != nil && !strings.Contains(err.Error(), c.refused) || err == nil && r.LevelUL == nil {
			t.Errorf("%s, of %d µL: %+v, %v; want %q", c.text, c.capacity, r, err, c.refused)
		}
	}
}

// The unit of a level counts before it and behind it, whatever space stands around.
func TestUnitOfAReading(t *testing.T) {
	run := Run{StopUL: 600000, FullUL: 1400000, CapacityUL: 2000000, ULPerMM: 20000}
	want, err := run.ParseReading("6 mark 28", inML)
	if err != nil || *want.LevelUL < 1000000 {
		t.Fatalf("%+v, %v", want, err)
	}
	for _, text := range []string{"mark 6 28", " mark 6 28", "  6 mark  28 ", "\tmark6 28"} {
		got, err := run.ParseReading(text, inML)
		if err != nil || *got.LevelUL != *want.LevelUL || *got.TemperatureMK != *want.TemperatureMK {
			t.Errorf("%q: %+v, %v; want %d µL", text, got, err, *want.LevelUL)
		}
	}
}
