package safety

import (
	"os"
	"strconv"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"daytank/planner"
	"daytank/planner/engine"
	"daytank/planner/quantity"
)

// van gives the harbour workshop's van with changes PATH=VALUE.
func van(t testing.TB, set ...string) planner.Job {
	t.Helper()
	text, err := os.ReadFile("../testdata/jobs/van.yaml")
	if err != nil {
		t.Fatal(err)
	}
	library, err := engine.Shipped()
	if err != nil {
		t.Fatal(err)
	}
	job, err := planner.ReadJobWith("van.yaml", text, set, library, planner.Date{Year: 2026, Month: 3, Day: 14})
	if err != nil {
		t.Fatalf("%v: %v", set, err)
	}
	return job
}

func assessed(t testing.TB, set ...string) Assessment {
	t.Helper()
	job := van(t, set...)
	return Assess(job, planner.Compute(job))
}

// worded gives what one rule finds, in metric words.
func (a Assessment) worded(rule string) []Worded {
	var found []Worded
	for _, w := range a.Worded(quantity.Printer{}) {
		if w.Rule == rule {
			found = append(found, w)
		}
	}
	return found
}

// row is the van with changes, why a rule finds something there or not, and
// what it finds.
type row struct {
	because string
	set     []string
	want    []found
}

// found is a finding without what the rule says of all of them.
type found struct {
	severity, message string
	set               []string
}

// judge holds what a rule finds in each row, and that every finding names its
// source and what lifts it, unless nothing can.
func judge(t *testing.T, rule Rule, rows []row) {
	t.Helper()
	for _, r := range rows {
		var got []found
		for _, w := range assessed(t, r.set...).worded(rule.ID) {
			got = append(got, found{w.Severity, w.Message, w.Set})
			if !rule.describes(w.Severity) {
				t.Errorf("%s: a %s that the rule does not describe", r.because, w.Severity)
			}
			if w.Source != rule.Source {
				t.Errorf("%s: source %q, want %q", r.because, w.Source, rule.Source)
			}
			if w.Lift == "" && rule.ID != cleanInterval.ID {
				t.Errorf("%s: %q does not say what lifts it", r.because, w.Message)
			}
		}
		if diff := cmp.Diff(r.want, got, cmp.AllowUnexported(found{}), cmpopts.EquateEmpty()); diff != "" {
			t.Errorf("%s, %v (-want +got):\n%s", r.because, r.set, diff)
		}
	}
}

// The changes below write a figure in full, so that a job can stand just on or
// just beside a limit.

func charge(v quantity.Volume) string {
	return "rig.charge=" + exactly(v.Millilitres()) + " mL"
}

func flashAt(t quantity.Temperature) string {
	return "fluid.flash_point=" + exactly(t.Celsius()) + " °C"
}

func exactly(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// hair is next to nothing: a thousandth of a millilitre, a kelvin or a second
// tells on a limit from just below it.
const hair = 0.001
