package safety

import (
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"daytank/planner"
	"daytank/planner/engine"
)

// drawJob gives the van changed in what rules look at.
func drawJob(t *rapid.T, text []byte, library *engine.Library) planner.Job {
	number := func(name, unit string, low, high float64) string {
		return fmt.Sprintf("%s=%.3f %s", name, rapid.Float64Range(low, high).Draw(t, name), unit)
	}
	word := func(name string, words ...string) string {
		return name + "=" + rapid.SampledFrom(words).Draw(t, name)
	}
	set := []string{
		word("engine.layout", "rail-pumped", "rail-recirculating", "rail-suction", "rotary", "inline", "unit-injector", "unit-injector-heavy", "rail-heavy"),
		"engine.injectors=", "engine.return_temperature_max=",
		number("engine.displacement", "L", 1, 13),
		word("engine.return_flow", "", "32 L/h"), word("engine.idle_burn", "", "0.70 L/h"),
		word("engine.own_feed_pump", "", "true", "false"), word("engine.stop_device", "key", "proved", "unproved"),
		word("engine.extra_returns", "none", "accounted", "open"), word("engine.aftertreatment", "none", "particulate-filter"),
		number("fluid.flash_point", "°C", 36, 100), number("fluid.viscosity_40", "mm2/s", 1.9, 4), word("fluid.hazards", "[]", "[H304]", "[H351]"),
		number("rig.container.capacity", "L", 1, 30), number("rig.container.diameter", "mm", 90, 400),
		word("rig.charge", "", "1.8 L", "5 L", "12 L"), number("rig.lift", "m", -1, 1.5), number("rig.return_lift", "m", -1, 1.5),
		word("rig.taps", "true", "false"), word("rig.return_fastened", "true", "false"), word("rig.return_to", "container", "waste"),
		number("rig.supply_hose.bore", "mm", 5, 16), number("rig.supply_hose.rating", "°C", 60, 130), number("rig.return_hose.rating", "°C", 80, 130),
		word("rig.return_cooler", "none", "{material: metal, length: 3 m, water: 10 L}"),
		word("run", "[{speed: idle, for: 10 min}]", "[{speed: 1500 rpm, for: 4 min}, {soak: 40 min}, {speed: idle, for: 10 min}]", "[{speed: 2600 rpm, for: 1 min}, {speed: idle, for: 5 min}]"),
		number("site.ambient", "°C", -20, 45), word("site.place", "outdoors", "extraction", "indoors"), word("site.people", "1", "2"),
		word("site.at_risk", "[]", "[pregnant]"),
		word("condition.fuel_sample", "clean", "water"), word("condition.leaks", "none", "weeping", "leaking"), word("condition.soot_lamp", "off", "on"),
	}
	if rapid.Bool().Draw(t, "pump") {
		pressure := rapid.Float64Range(100, 600).Draw(t, "rig.feed_pump.pressure")
		set = append(set, "rig.feed=pump", fmt.Sprintf("rig.feed_pump={flow: 80 L/h, pressure: %.2f kPa}", pressure))
	}
	job, err := planner.ReadJobWith("van.yaml", text, set, library, planner.Date{Year: 2026, Month: 3, Day: 14})
	if err != nil {
		t.Fatal(err)
	}
	return job
}

func vanText(t *testing.T) ([]byte, *engine.Library) {
	t.Helper()
	text, err := os.ReadFile("../testdata/jobs/van.yaml")
	if err != nil {
		t.Fatal(err)
	}
	library, err := engine.Shipped()
	if err != nil {
		t.Fatal(err)
	}
	return text, library
}

// dangers are the inequalities behind the stops, written again.
func dangers(j planner.Job, p planner.Plan) map[string]bool {
	e, r, c := j.Engine, j.Rig, j.Condition
	mechanical := e.Injectors == "mechanical"
	aboveSoak := false
	fastest := 0.0
	for i, s := range p.Stages {
		if s.Soak && s.For.Seconds() > 1800 && r.Lift.Metres() < 0 && !r.Taps {
			aboveSoak = true
		}
		if !s.Soak {
			fastest = max(fastest, j.Run[i].Speed.RPM())
		}
	}
	fastened, alone := r.ReturnFixed != nil && *r.ReturnFixed, j.Site.People < 2
	off := p.RunDry.AtEnd.Seconds()
	stands := 340.0
	if w := r.SupplyHose.WorkingPressure; w != nil {
		stands = w.Kilopascals()
	}
	headLimit := 20.0
	if e.Layout.ID == "rotary" {
		headLimit = 10
	}
	pumped := e.Layout.ID == "rail-pumped" || e.Layout.ID == "rail-recirculating"
	cloud := -10.0
	if j.Fluid.CloudPoint != nil {
		cloud = j.Fluid.CloudPoint.Celsius()
	}
	atRisk := slices.Contains(j.Site.AtRisk, "pregnant") || slices.Contains(j.Site.AtRisk, "under-18")
	warmed := float64(j.Fluid.Density(j.Site.Ambient) / j.Fluid.Density(p.Heat.Peak.High))
	return map[string]bool{
		"charge-short":      p.Fluid.Charge < p.Fluid.Needed,
		"container-small":   float64(p.Fluid.Charge)*1.1*max(1, warmed) > float64(r.Container.Capacity)*(1+1e-9),
		"return-off":        off < 10 && !(fastened && !alone) || alone && !fastened && off < 2*r.WatchTime.Seconds(),
		"return-wasted":     r.ToWaste && p.Fluid.Needed > r.Container.Capacity,
		"fluid-temperature": p.Heat.Peak.Expected >= p.Heat.Hot || j.Site.Ambient >= p.Heat.Warm,
		"hose-rating": r.SupplyHose.Rating.Celsius() < p.Heat.Peak.High.Celsius()+10-1e-9 ||
			r.ReturnHose.Rating.Celsius() < max(e.ReturnTemperatureMax, p.Heat.Peak.High).Celsius()+10-1e-9,
		"hose-pressure":  r.Feed == "pump" && r.FeedPump.Pressure.Kilopascals() > stands+1e-9,
		"suction":        p.Suction != nil && p.Suction.Expected > p.Suction.Limit,
		"return-head":    p.ReturnHead.Kilopascals() > headLimit+1e-9,
		"feed-pressure":  r.Feed != "pump" && pumped && (e.OwnFeedPump == nil || !*e.OwnFeedPump),
		"siphon":         aboveSoak,
		"thin-fluid":     j.Fluid.Viscosity(p.Heat.Peak.Expected).SquareMillimetresPerSecond() < 1.1,
		"cold":           j.Site.Ambient.Celsius() < cloud,
		"aftertreatment": c.SootLamp == "on" || c.SootLamp == "regenerating",
		"stop-device":    mechanical && e.StopDevice == "unproved",
		"returns":        e.ExtraReturns == "open",
		"run-speed":      fastest > 2500+1e-6,
		"flash-point":    j.Fluid.FlashPoint.Celsius() < 38 || j.Fluid.Has("H224", "H225"),
		"ventilation":    j.Site.Place == "indoors",
		"person":         atRisk && j.Fluid.Has("H340", "H350", "H351", "H360", "H361", "H362"),
		"wrong-remedy":   c.FuelSample == "water" || c.Leaks == "leaking",
	}
}

// Whatever the job, a plan that is ready has none of the dangers behind the stops,
// recomputed here; and a danger has its stop.
func TestReadyMeansThatNoDangerHolds(t *testing.T) {
	text, library := vanText(t)
	rapid.Check(t, func(t *rapid.T) {
		j := drawJob(t, text, library)
		p := planner.Compute(j)
		s := subject{job: j, plan: p, rules: rules, trying: true} // without what would lift it
		stopped := map[string]bool{}
		for _, stop := range s.stops() {
			rule, _, _ := strings.Cut(stop, ":")
			stopped[rule] = true
		}
		for rule, holds := range dangers(j, p) {
			if holds != stopped[rule] {
				t.Fatalf("%s: danger %v, stop %v\n%s", rule, holds, stopped[rule], j.File())
			}
		}
	})
}

// What a finding offers removes it and brings no other stop.
func TestWhatIsOfferedLifts(t *testing.T) {
	text, library := vanText(t)
	rapid.Check(t, func(t *rapid.T) {
		j := drawJob(t, text, library)
		before := Assess(j, planner.Compute(j))
		for _, f := range before.Findings {
			if len(f.Set) == 0 {
				continue
			}
			changed, err := Apply(j, f.Set)
			if err != nil {
				t.Fatalf("%s offers %q: %v", f.Rule, f.Set, err)
			}
			after := unlifted(changed)
			if slices.ContainsFunc(after, f.same) {
				t.Fatalf("%s: %q does not lift %q\n%s", f.Rule, f.Set, f.Message.Format, j.File())
			}
			for _, x := range after {
				if x.Severity == Stop && !slices.ContainsFunc(before.Findings, x.same) {
					t.Fatalf("%s: %q brings the stop %q\n%s", f.Rule, f.Set, x.Message.Format, j.File())
				}
			}
		}
	})
}
