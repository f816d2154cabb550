package safety

import (
	"fmt"
	"regexp"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"daytank/planner"
	"daytank/planner/quantity"
)

// The demo van is ready: its return empties the container in half a minute if
// it slips out, its supply can fall back in the soak, its fluid must not be
// swallowed, and nobody measured what heat the return brings.
func TestVan(t *testing.T) {
	a := assessed(t)
	want := []Worded{
		{
			Rule: "return-off", Severity: "caution",
			Message: "if the return hose slips out near the planned end, the container is empty in 30 s",
			Lift:    "pour in 2.40 L",
			Set:     []string{"rig.charge=2400 mL"},
			Source:  "arithmetic of the plan; the limits of 10 s and 60 s are common practice, no source",
		},
		{
			Rule: "siphon", Severity: "caution",
			Message: "in the soak the supply hose, which rises 400 mm, can empty itself back into the container, and the engine restarts on air",
			Lift:    "a non-return valve in the supply",
			Set:     []string{"rig.non_return_valve=true"},
			Source:  "common practice, no source",
		},
		{
			Rule: "person", Severity: "caution",
			Message: "swallowed or breathed in as a liquid the fluid can kill (H304)",
			Lift:    "never siphon by mouth; swallowed: no vomiting, and call for help at once",
			Set:     []string{},
			Source:  "hazard statements of Regulation (EC) No 1272/2008 (CLP), annex III; who may do the work is for local law and the data sheet",
		},
		{
			Rule: "assumed-value", Severity: "note",
			Message: "assumed, with a wide band: return heat",
			Lift:    "measure them: a jug and a watch for the return flow, the data sheet for the fluid",
			Set:     []string{},
			Source:  "planning assumptions, common practice, no source",
		},
	}
	if diff := cmp.Diff(want, a.Worded(quantity.Printer{})); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	if !a.Ready {
		t.Error("it is not ready")
	}
}

// Without the coil it is not, and the coil that is offered makes it ready.
func TestVanWithoutCoil(t *testing.T) {
	job := van(t, noCoil)
	a := Assess(job, planner.Compute(job))
	stops := a.Of(Stop)
	if a.Ready || len(stops) != 1 || stops[0].Rule != "fluid-temperature" {
		t.Fatalf("ready %v, stops %+v, want one of fluid-temperature", a.Ready, stops)
	}
	changed, err := Apply(job, stops[0].Set)
	if err != nil {
		t.Fatal(err)
	}
	if changed.Rig.Coil == nil || !Assess(changed, planner.Compute(changed)).Ready {
		t.Errorf("%v is no coil, or not one that works", stops[0].Set)
	}
}

// Stops come first, then cautions, then notes; within them, rules in their
// order. Ready is only a job without stops.
func TestOrderAndReady(t *testing.T) {
	place := map[string]int{}
	for i, r := range Rules() {
		place[r.ID] = i
	}
	ready := 0
	for _, set := range jobs {
		a := assessed(t, set...)
		sorted := slices.IsSortedFunc(a.Findings, func(x, y Finding) int {
			if x.Severity != y.Severity {
				return int(y.Severity) - int(x.Severity)
			}
			return place[x.Rule] - place[y.Rule]
		})
		if !sorted {
			t.Errorf("%v: out of order: %+v", set, a.Findings)
		}
		if a.Ready != (len(a.Of(Stop)) == 0) {
			t.Errorf("%v: ready %v with the stops %+v", set, a.Ready, a.Of(Stop))
		}
		if n := len(a.Of(Stop)) + len(a.Of(Caution)) + len(a.Of(Note)); n != len(a.Findings) {
			t.Errorf("%v: %d findings, %d of the three severities", set, len(a.Findings), n)
		}
		if a.Ready {
			ready++
		}
	}
	if ready == 0 || ready == len(jobs) {
		t.Errorf("%d of %d jobs are ready: the table tells nothing", ready, len(jobs))
	}
}

// The same job and plan give the same assessment, and neither is changed.
func TestAssessIsPure(t *testing.T) {
	for _, set := range jobs {
		job := van(t, set...)
		plan := planner.Compute(job)
		file, before := string(job.File()), fmt.Sprintf("%+v", plan.Fluid)
		first, second := Assess(job, plan), Assess(job, plan)
		if diff := cmp.Diff(first, second); diff != "" {
			t.Errorf("%v: assessed twice (-first +second):\n%s", set, diff)
		}
		if string(job.File()) != file || fmt.Sprintf("%+v", plan.Fluid) != before {
			t.Errorf("%v: job or plan are others after they were assessed", set)
		}
	}
}

func TestSeverityWords(t *testing.T) {
	for s, want := range map[Severity]string{Stop: "stop", Caution: "caution", Note: "note", 0: "none", 9: "none"} {
		if got := s.String(); got != want {
			t.Errorf("severity %d is %q, want %q", s, got, want)
		}
	}
}

// Nothing found is an empty list in JSON, not null.
func TestWordedOfNothing(t *testing.T) {
	if got := (Assessment{}).Worded(quantity.Printer{}); got == nil || len(got) != 0 {
		t.Errorf("%#v, want an empty list", got)
	}
}

// Identifiers are never reused: taken together they are the ones written here.
func TestRules(t *testing.T) {
	want := []string{
		"wrong-remedy", "charge-short", "container-small", "return-off", "return-wasted", "fluid-temperature", "hose-rating", "hose-pressure",
		"suction", "return-head", "feed-pressure", "siphon", "thin-fluid", "cold", "fuel-grade", "aftertreatment", "stop-device", "returns",
		"run-speed", "flash-point", "ventilation", "person", "alone", "return-piezo", "loop-uncooled",
		"not-answered", "assumed-value", "clean-interval",
	}
	form := regexp.MustCompile(`^[a-z]+(-[a-z]+)*$`)
	var got []string
	for _, r := range Rules() {
		got = append(got, r.ID)
		if r.Title == "" || r.Source == "" || !form.MatchString(r.ID) {
			t.Errorf("rule %+v lacks its title or source, or has an odd name", r)
		}
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	Rules()[0] = Rule{}
	if Rules()[0].ID != want[0] {
		t.Error("the caller of Rules can change them")
	}
}
