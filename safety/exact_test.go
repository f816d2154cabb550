package safety

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"daytank/planner"
	"daytank/planner/quantity"
)

// What is exactly enough is enough, whatever the last bit of a product says.
func TestExactlyEnoughIsEnough(t *testing.T) {
	text, library := vanText(t)
	stopped := func(rule string, set ...string) bool {
		t.Helper()
		j, err := planner.ReadJobWith("van.yaml", text, set, library, planner.Date{Year: 2026, Month: 3, Day: 14})
		if err != nil {
			t.Fatal(err)
		}
		s := subject{job: j, plan: planner.Compute(j), rules: rules, trying: true} // without what would lift it
		return slices.ContainsFunc(s.stops(), func(stop string) bool { return strings.HasPrefix(stop, rule+":") })
	}
	for tenths := 800; tenths <= 1100; tenths += 3 {
		hottest, rating := fmt.Sprintf("%d.%d °C", tenths/10, tenths%10), fmt.Sprintf("%d.%d °C", tenths/10+10, tenths%10)
		if stopped("hose-rating", "engine.return_temperature_max="+hottest, "rig.return_hose.rating="+rating, "rig.supply_hose.rating=130 °C") {
			t.Errorf("hose-rating: %s is refused for a return of %s", rating, hottest)
		}
	}
	for n := 10; n <= 300; n++ {
		charge, capacity := fmt.Sprintf("%d.%d L", n/10, n%10), fmt.Sprintf("%d.%02d L", n*11/100, n*11%100)
		// Waste keeps the charge as cold as the air, so nothing expands.
		if stopped("container-small", "rig.charge="+charge, "rig.container.capacity="+capacity, "rig.return_to=waste", "site.ambient=1 °C", "engine.idle_burn=0.7 L/h") {
			t.Errorf("container-small: %s does not hold %s and a tenth", capacity, charge)
		}
	}
	for kilopascals := 100; kilopascals <= 600; kilopascals += 7 {
		p := fmt.Sprintf("%d kPa", kilopascals)
		pump := fmt.Sprintf("rig.feed_pump={flow: 80 L/h, pressure: %s}", p)
		if stopped("hose-pressure", "rig.feed=pump", pump, "rig.supply_hose.working_pressure="+p) {
			t.Errorf("hose-pressure: %s is refused for as much", p)
		}
	}
	for _, c := range [][]string{
		{"run-speed", "run=[{speed: 2500 rpm, for: 1 min}, {speed: idle, for: 5 min}]"},
		{"flash-point", "fluid.flash_point=38 °C"},
		{"cold", "fluid.cloud_point=-10 °C", "site.ambient=-10 °C"},
		{"siphon", "rig.lift=-1 m", "rig.taps=false", "run=[{soak: 30 min}, {speed: idle, for: 5 min}]"},
	} {
		if stopped(c[0], c[1:]...) {
			t.Errorf("%v is refused at its boundary", c)
		}
	}
	// That what is not enough is refused shows that the stops above are looked for.
	for _, c := range [][]string{
		{"hose-rating", "engine.return_temperature_max=85 °C", "rig.return_hose.rating=94.9 °C"},
		{"container-small", "rig.charge=1.1 L", "rig.container.capacity=1.2 L"},
		{"hose-pressure", "rig.feed=pump", "rig.feed_pump={flow: 80 L/h, pressure: 101 kPa}", "rig.supply_hose.working_pressure=100 kPa"},
		{"run-speed", "run=[{speed: 2501 rpm, for: 1 min}, {speed: idle, for: 5 min}]"},
		{"flash-point", "fluid.flash_point=37.9 °C"},
		{"cold", "fluid.cloud_point=-10 °C", "site.ambient=-10.1 °C"},
		{"siphon", "rig.lift=-1 m", "rig.taps=false", "run=[{soak: 30.1 min}, {speed: idle, for: 5 min}]"},
	} {
		if !stopped(c[0], c[1:]...) {
			t.Errorf("%v is not refused", c)
		}
	}
}

// Each rule exactly on its limits, which no job file writes to the last bit: what
// is "less", "under", "above" or "more than" leaves the limit out, what is hot
// takes it in. What a lift is tried by says the same as the rule.
func TestOnTheLimit(t *testing.T) {
	const loose, one, open, waste = "rig.return_fastened=false", "site.people=1", "rig.container.closed=false", "rig.return_to=waste"
	faster := func(speed quantity.Speed) func(*planner.Job, *planner.Plan) {
		return func(j *planner.Job, _ *planner.Plan) { j.Run[1].Speed = speed }
	}
	for _, r := range []struct {
		because string
		rule    Rule
		set     []string
		onLimit func(*planner.Job, *planner.Plan)
		want    string             // what the rule finds: stop, caution or nothing
		holds   func(subject) bool // what a lift of the graver finding is tried by
		held    bool
	}{
		{"just what is needed, three minutes left", chargeShort, nil, func(_ *planner.Job, p *planner.Plan) {
			margin := leastMargin
			p.Fluid.Charge, p.RunDry.Margin = p.Fluid.Needed, &margin
		}, "", isShort, false},
		{"empty in just ten seconds, not fastened", returnOff, []string{loose}, func(_ *planner.Job, p *planner.Plan) { p.RunDry.AtEnd = tooSoon }, "caution", slipsTooSoon, false},
		{"alone, not fastened, in just twice the watch time", returnOff, []string{loose, one}, func(j *planner.Job, p *planner.Plan) { p.RunDry.AtEnd = 2 * j.Rig.WatchTime }, "", slipsAlone, false},
		{"in just a minute", returnOff, nil, func(_ *planner.Job, p *planner.Plan) { p.RunDry.AtEnd = soon }, "", slipsSoon, false},
		{"led away, and just room for what is needed", returnWasted, []string{waste}, func(j *planner.Job, p *planner.Plan) { j.Rig.Container.Capacity = p.Fluid.Needed }, "caution", wastesMoreThanThereIsRoomFor, false},
		{"the air just warm", fluidTemperature, nil, func(j *planner.Job, p *planner.Plan) { j.Site.Ambient = p.Heat.Warm }, "stop", tooHot, false},
		{"the expected peak just hot", fluidTemperature, nil, func(_ *planner.Job, p *planner.Plan) { p.Heat.Peak.Expected = p.Heat.Hot }, "stop", tooHot, true},
		{"the high case just hot", fluidTemperature, nil, func(_ *planner.Job, p *planner.Plan) { p.Heat.Peak.High = p.Heat.Hot }, "caution", getsWarm, true},
		{"closed, the expected peak just warm", fluidTemperature, nil, func(_ *planner.Job, p *planner.Plan) {
			p.Heat.Peak.Expected, p.Heat.Peak.High = p.Heat.Warm, p.Heat.Warm
		}, "", getsWarm, false},
		{"open, the high case just warm", fluidTemperature, []string{open}, func(_ *planner.Job, p *planner.Plan) { p.Heat.Peak.High = p.Heat.Warm }, "", getsWarm, false},
		{"hoses rated to just what is wanted", hoseRating, nil, func(j *planner.Job, p *planner.Plan) {
			p.Supply.Required, p.Return.Required = *j.Rig.SupplyHose.Rating, *j.Rig.ReturnHose.Rating
		}, "", nil, false},
		{"a pull of just the limit as expected", suction, nil, func(_ *planner.Job, p *planner.Plan) { p.Suction.Limit = p.Suction.Expected }, "caution", pullsTooHard, false},
		{"a pull of just 60 % of the limit", suction, nil, func(_ *planner.Job, p *planner.Plan) {
			p.Suction.Total = quantity.Pressure(easyPart * float64(p.Suction.Limit))
		}, "", pullsHard, false},
		{"pushed back by just the most", returnHead, nil, func(j *planner.Job, p *planner.Plan) { p.ReturnHead = j.Engine.Layout.ReturnHeadLimit }, "caution", pushesTooHard, false},
		{"pushed back by just 10 kPa", returnHead, nil, func(_ *planner.Job, p *planner.Plan) { p.ReturnHead = cautionHead }, "", pushesHard, false},
		{"just 2500 rpm", runSpeed, nil, faster(mostSpeed), "caution", runsTooFast, false},
		{"just 2000 rpm", runSpeed, nil, faster(briskSpeed), "", runsFast, false},
	} {
		job := van(t, r.set...)
		job.Run = slices.Clone(job.Run)
		plan := planner.Compute(job)
		r.onLimit(&job, &plan)
		s := subject{job: job, plan: plan, rules: rules, trying: true}
		got := ""
		for _, f := range r.rule.find(s) {
			got = f.Severity.String()
		}
		if got != r.want {
			t.Errorf("%s: %s finds %q, want %q", r.because, r.rule.ID, got, r.want)
		}
		if r.holds != nil && r.holds(s) != r.held {
			t.Errorf("%s: while a lift is tried, %s holds %v, want %v", r.because, r.rule.ID, !r.held, r.held)
		}
	}
}

// A pull of just the limit at the high flow is within it: what is said of it is
// that it is over 60 %.
func TestPullOfJustTheLimit(t *testing.T) {
	job := van(t)
	plan := planner.Compute(job)
	plan.Suction.Total = plan.Suction.Limit
	found := suction.find(subject{job: job, plan: plan, rules: rules, trying: true})
	const want = "the pump may have to pull %v, more than 60 %% of its limit of %v"
	if len(found) != 1 || found[0].Message.Format != want {
		t.Errorf("%+v, want %q", found, want)
	}
}
