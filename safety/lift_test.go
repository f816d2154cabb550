package safety

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"daytank/planner"
	"daytank/planner/quantity"
)

// jobs are vans on which, between them, every rule finds everything it can.
var jobs = [][]string{
	nil,
	{noCoil},
	{noCoil, "rig.charge=1200 mL", "rig.container.capacity=1.3 L"},
	{noCoil, "site.people=1", "rig.return_fastened=false"},
	{"site.people=1", "rig.return_fastened=false"},
	{"site.people=1", "fluid.flash_point=62 °C"},
	{"rig.charge=1 L", "site.people=1", "rig.return_fastened=false"},
	{"rig.charge=1450 mL", "rig.container.capacity=1.7 L"},
	{"rig.container.capacity=1 L", "rig.container.closed=false"},
	{"fluid.pack=10 mL"},
	{"fluid.pack=473.176 mL"},
	{"fluid.flash_point=54 °C"},
	{"fluid.flash_point=36 °C", "site.ambient=15 °C"},
	{"fluid.flash_point=56 °C", "site.ambient=40 °C"},
	{"engine.own_feed_pump="},
	{"engine.own_feed_pump=false", noCoil},
	{"engine.feed_pressure_needed=500 kPa", "site.people=1"},
	{"engine.feed_pressure_needed=500 kPa", "rig.feed=pump", "rig.feed_pump={pressure: 300 kPa, flow: 90 L/h}"},
	{"engine.layout=rail-heavy", "engine.return_flow=", "engine.idle_burn="},
	{"engine.layout=unit-injector", "engine.return_flow=", "engine.return_temperature_max="},
	{"engine.layout=inline", "engine.return_flow=", "engine.line_volume=", "fluid.pack=250 mL"},
	{"rig.supply_hose={bore: 8 mm, length: 1.5 m, rating: 50 °C, fuel_rated: false}", "rig.return_hose={bore: 8 mm, length: 1.5 m, rating: 50 °C, fuel_rated: false, material: clear-pvc, standard: none}"},
	{"rig.supply_hose={bore: 8 mm, length: 1.5 m}", "rig.return_hose={bore: 8 mm, length: 1.5 m}"},
	{"rig.return_to=waste"},
	{"run=[{speed: idle, for: 75 min}]"},
	{"run=[{soak: 10 min}]"},
	{"run=[{speed: 2500 rpm, for: 40 min}]", "site.place=indoors"},
	{"condition=", "site.people=", "rig.return_fastened="},
	{"condition.fuel_sample=metal", "condition.leaks=leaking", "condition.worst_correction=7 mm3/stroke", "condition.symptom=none"},
	{"condition.fuel_sample=water", "condition.leaks=weeping", "condition.stored_faults=electrical", "condition.oil_level=high", "condition.seals=hardened"},
	{"condition.fuel_sample=petrol"},
	{"last_clean.on=2026-03-01", "last_clean.odometer=148000 km"},
	{"rig.return_to=waste", "rig.container.capacity=40 L", "rig.charge=36 L"},
	{"rig.feed=pump", "rig.feed_pump={pressure: 500 kPa, flow: 60 L/h}"},
	{"rig.lift=1.7 m"},
	{"rig.lift=1.1 m", "rig.supply_hose.length=3 m"},
	{"rig.lift=0.9 m"},
	{"rig.return_lift=3 m"},
	{"rig.return_lift=1.3 m"},
	{"engine.layout=rotary", "engine.injectors=", "rig.return_filter_drop=1 kPa", "engine.stop_device=proved"},
	{"rig.lift=-0.5 m", "run=[{speed: idle, for: 10 min}, {soak: 45 min}, {speed: idle, for: 5 min}]"},
	{"rig.lift=-0.5 m"},
	{"fluid.viscosity_40=1.1 mm2/s", "fluid.viscosity_100=0.6 mm2/s", noCoil},
	{"fluid.viscosity_40=1.3 mm2/s", "fluid.viscosity_100=0.7 mm2/s"},
	{"site.ambient=-15 °C"},
	{"site.ambient=2 °C"},
	{"fluid.fame_percent=20"},
	{"engine.aftertreatment=particulate-filter"},
	{"condition.soot_lamp=on"},
	{"condition.soot_lamp=regenerating"},
	{"engine.injectors=mechanical", "engine.stop_device=unproved"},
	{"engine.extra_returns=open"},
	{"run.1.speed=2600 rpm"},
	{"run.1.speed=2200 rpm"},
	{"run.3={speed: 1500 rpm, for: 3 min}"},
	{"fluid.hazards=[H304, H336, H351]", "site.at_risk=[pregnant]"},
	{"fluid.hazards=[H336]", "site.at_risk=[asthma]"},
	{"engine.injectors=piezo"},
	{"engine.layout=unit-injector", "engine.injectors=", "engine.stop_device=proved", noCoil},
}

// same tells whether a finding is the other, with whatever numbers.
func (f Finding) same(other Finding) bool {
	return f.Rule == other.Rule && f.Severity == other.Severity && f.Message.Format == other.Message.Format
}

// unlifted gives what the rules find, without what would lift it.
func unlifted(job planner.Job) []Finding {
	s := subject{job: job, plan: planner.Compute(job), rules: rules, trying: true}
	var all []Finding
	for _, r := range rules {
		all = append(all, r.find(s)...)
	}
	return all
}

// What a finding offers lifts it, brings no other stop, and changes no value
// twice; both when the changes are made to a job that was read, and when they
// are written into its file.
func TestSetsLift(t *testing.T) {
	offered := map[string]int{}
	for _, set := range jobs {
		job := van(t, set...)
		before := Assess(job, planner.Compute(job))
		for _, f := range before.Findings {
			if len(f.Set) == 0 {
				continue
			}
			offered[f.Rule]++
			changed, err := Apply(job, f.Set)
			if err != nil {
				t.Errorf("%v: %s offers %v: %v", set, f.Rule, f.Set, err)
				continue
			}
			after := unlifted(changed)
			if slices.ContainsFunc(after, f.same) {
				t.Errorf("%v: %v does not lift %s, %q", set, f.Set, f.Rule, f.Message.Format)
			}
			for _, stop := range after {
				if stop.Severity == Stop && !slices.ContainsFunc(before.Findings, stop.same) {
					t.Errorf("%v: %v lifts %s and brings the stop %s, %q", set, f.Set, f.Rule, stop.Rule, stop.Message.Format)
				}
			}
			if diff := cmp.Diff(after, unlifted(van(t, slices.Concat(set, f.Set)...))); diff != "" {
				t.Errorf("%v: %v made to the job and written into the file (-job +file):\n%s", set, f.Set, diff)
			}
			paths := map[string]bool{}
			for _, change := range f.Set {
				if paths[pathOf(change)] {
					t.Errorf("%v: %s sets %s twice: %v", set, f.Rule, pathOf(change), f.Set)
				}
				paths[pathOf(change)] = true
			}
		}
	}
	for _, rule := range []Rule{
		chargeShort, containerSmall, returnOff, fluidTemperature, hoseRating, feedPressure, ventilation, alone,
		returnWasted, hosePressure, suction, returnHead, siphon, thinFluid, aftertreatment, runSpeed, loopUncooled,
	} {
		if offered[rule.ID] == 0 {
			t.Errorf("no job of the table makes %s offer anything", rule.ID)
		}
	}
}

// Every rule finds something in one of the jobs; each finding says something,
// with all its numbers filled in, and names its rule and its source.
func TestFindingsSpeak(t *testing.T) {
	seen := map[string]bool{}
	for _, set := range jobs {
		a := assessed(t, set...)
		for _, p := range []quantity.Printer{{}, {System: quantity.USCustomary, DecimalComma: true}} {
			for _, w := range a.Worded(p) {
				seen[w.Rule] = true
				for _, text := range []string{w.Rule, w.Severity, w.Message, w.Source} {
					if text == "" {
						t.Errorf("%v: something is empty in %+v", set, w)
					}
				}
				for _, text := range []string{w.Message, w.Lift} {
					if strings.ContainsAny(text, "\n") || strings.Contains(text, "%!") || strings.Contains(text, "unknown") || strings.Contains(text, "<nil>") {
						t.Errorf("%v: %s says %q", set, w.Rule, text)
					}
				}
				if w.Set == nil {
					t.Errorf("%v: %s: the changes are null, not an empty list", set, w.Rule)
				}
			}
		}
	}
	for _, r := range Rules() {
		if !seen[r.ID] {
			t.Errorf("no job of the table makes rule %s find anything", r.ID)
		}
	}
}

// Two changes where one is not enough: fastening alone leaves one person,
// a second person alone leaves a loose hose.
func TestLiftedTogether(t *testing.T) {
	a := assessed(t, "rig.charge=1 L", "site.people=1", "rig.return_fastened=false")
	got := a.worded(returnOff.ID)
	want := []Worded{{
		Rule: "return-off", Severity: "stop",
		Message: "if the return hose slips out near the planned end, the container is empty in 0 s, sooner than anyone can switch off",
		Lift:    "fasten the return hose in the container, and have a second person at the key",
		Set:     []string{"rig.return_fastened=true", "site.people=2"},
		Source:  returnOff.Source,
	}}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

func TestTogether(t *testing.T) {
	small := propose(say("a small coil of %v", quantity.Metres(3)), "rig.return_cooler=small")
	large := propose(say("a large coil of %v", quantity.Metres(5)), "rig.return_cooler=large")
	more := propose(say("pour in %v", quantity.Litres(2.4)), "rig.charge=2400 mL", "rig.container.capacity=3 L")
	got := together(small, large, more)
	if diff := cmp.Diff([]string{"rig.return_cooler=large", "rig.charge=2400 mL", "rig.container.capacity=3 L"}, got.set); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	const words = "a large coil of 5 m, and pour in 2.40 L"
	if say := (quantity.Printer{}).Phrase(got.say); say != words {
		t.Errorf("%q, want %q", say, words)
	}
}

// Amounts in what lifts a finding follow the units that are shown; changes are
// as they are written in a job file.
func TestLiftInShownUnits(t *testing.T) {
	for _, w := range assessed(t, noCoil).Worded(quantity.Printer{System: quantity.USCustomary}) {
		if w.Rule != fluidTemperature.ID {
			continue
		}
		const words = "lead the return through 9.8 ft of metal coil in a bucket of 2.64 gal of water"
		if w.Lift != words || !slices.Equal(w.Set, []string{firstCoil}) {
			t.Errorf("%q %q, want %q %q", w.Lift, w.Set, words, firstCoil)
		}
	}
}

func TestApply(t *testing.T) {
	job := van(t)
	got, err := Apply(job, []string{"rig.feed=pump", "rig.feed_pump={pressure: 400 kPa, flow: 60 L/h}", "site.people=1", "last_clean="})
	if err != nil {
		t.Fatal(err)
	}
	if got.Rig.Feed != "pump" || got.Rig.FeedPump.Pressure != quantity.Kilopascals(400) || got.Site.People != 1 || got.LastClean != nil {
		t.Errorf("not all changes were made: %+v", got)
	}
	if job.Rig.Feed != "engine" || job.Site.People != 2 || job.LastClean == nil {
		t.Errorf("the job that was changed is another now")
	}
	same, err := Apply(job, nil)
	if err != nil || string(same.File()) != string(job.File()) {
		t.Errorf("no change gives another job: %v", err)
	}
}

func TestApplyRefuses(t *testing.T) {
	for _, r := range []struct{ change, says string }{
		{"rig.charge=2", "rig.charge"},
		{"rig.charge=lots", "rig.charge"},
		{"rig.feed=pump", "feed_pump"},
		{"rig.colour=red", "rig.colour"},
		{"site.ambient.more=2 L", "site.ambient.more: nothing can be set below the single value"},
		{"rig=", "rig"},
		{"rig.charge", `change "rig.charge" is not written PATH=VALUE, such as rig.charge=2 L`},
		{"run.7.for=2 min", "run.7.for"},
	} {
		_, err := Apply(van(t), []string{"site.people=1", r.change})
		if err == nil || !strings.Contains(err.Error(), r.says) {
			t.Errorf("%s: %v, want it refused with %q", r.change, err, r.says)
		}
	}
}

// While a change is tried, nothing is tried for the findings of the try: small
// packs and hoses with several faults would multiply the work.
func TestLiftsAreTriedOnce(t *testing.T) {
	calls := 0
	var check func(s subject) []Finding
	check = func(s subject) []Finding {
		calls++
		holds := func(s subject) bool { return len(check(s)) > 0 }
		return []Finding{s.lifted(stop("something"), holds,
			propose(say("one person"), "site.people=1"), propose(say("three people"), "site.people=3"))}
	}
	counting := Rule{ID: "counting", check: check}
	job := van(t)
	s := subject{job: job, plan: planner.Compute(job), rules: []Rule{counting}}
	if found := counting.find(s); len(found) != 1 || len(found[0].Set) != 0 {
		t.Fatal(fmt.Sprint("a change that lifts nothing is offered: ", found))
	}
	if want := 1 + 2; calls != want {
		t.Errorf("the rule ran %d times, want %d: for the job and for each change", calls, want)
	}
}
