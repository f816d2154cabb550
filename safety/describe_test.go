package safety

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"daytank/planner"
	"daytank/planner/engine"
	"daytank/planner/quantity"
)

// severities gives the severities that a rule describes, each once, as words.
func (r Rule) severities() string {
	var words []string
	for _, w := range r.When {
		if !slices.Contains(words, w.Severity.String()) {
			words = append(words, w.Severity.String())
		}
	}
	return strings.Join(words, " ")
}

// Every rule says when it finds what, why that matters, what lifts it and where
// it comes from; stops come first. Which severities there are is the table of
// the design.
func TestRulesAreDescribed(t *testing.T) {
	want := map[string]string{
		"wrong-remedy": "stop caution", "charge-short": "stop caution", "container-small": "stop", "return-off": "stop caution",
		"return-wasted": "stop caution", "fluid-temperature": "stop caution", "hose-rating": "stop caution", "hose-pressure": "stop",
		"suction": "stop caution", "return-head": "stop caution", "feed-pressure": "stop", "siphon": "stop caution",
		"thin-fluid": "stop caution", "cold": "stop caution", "fuel-grade": "caution", "aftertreatment": "stop caution",
		"stop-device": "stop", "returns": "stop", "run-speed": "stop caution", "flash-point": "stop caution", "ventilation": "stop",
		"person": "stop caution", "alone": "stop caution", "return-piezo": "caution", "loop-uncooled": "caution",
		"not-answered": "caution", "assumed-value": "note", "clean-interval": "note",
	}
	got := map[string]string{}
	for _, r := range Rules() {
		got[r.ID] = r.severities()
		if r.Why == "" || r.Lifts == "" || r.Source == "" {
			t.Errorf("%s does not say why, what lifts it, or where it comes from", r.ID)
		}
		for _, w := range r.When {
			said := quantity.Printer{}.Phrase(w.Say)
			if said == "" || strings.Contains(said, "%!") || strings.HasSuffix(said, ".") {
				t.Errorf("%s: a case reads %q", r.ID, said)
			}
		}
		for _, text := range []string{r.Why, r.Lifts} {
			if !strings.HasSuffix(text, ".") || strings.Contains(text, "  ") {
				t.Errorf("%s: %q is no sentence", r.ID, text)
			}
		}
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

// What is found has a severity that its rule describes, over the jobs of the
// tests and those that are shipped; [judge] holds it over the jobs of each
// rule's own test.
func TestWhatIsFoundIsDescribed(t *testing.T) {
	var assessments []Assessment
	for _, set := range jobs {
		assessments = append(assessments, assessed(t, set...))
	}
	library, err := engine.Shipped()
	if err != nil {
		t.Fatal(err)
	}
	files, err := filepath.Glob("../testdata/jobs/*.yaml")
	if err != nil {
		t.Fatal(err)
	}
	shipped := 0
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		job, err := planner.ReadJob(file, text, library, planner.Date{Year: 2026, Month: 3, Day: 14})
		if err != nil {
			continue // the job with six mistakes
		}
		shipped++
		assessments = append(assessments, Assess(job, planner.Compute(job)))
	}
	if shipped < 8 {
		t.Errorf("%d shipped jobs read", shipped)
	}
	found := map[string]bool{}
	for _, a := range assessments {
		for _, f := range a.Findings {
			found[f.Rule+" "+f.Severity.String()] = true
			r, _ := RuleByID(f.Rule)
			if !r.describes(f.Severity.String()) {
				t.Errorf("%s finds a %v and does not say when", f.Rule, f.Severity)
			}
		}
	}
	if len(found) < 30 {
		t.Errorf("%d kinds of findings only: the jobs tell little", len(found))
	}
}

func (r Rule) describes(severity string) bool {
	return slices.Contains(strings.Fields(r.severities()), severity)
}

// The limits of a description are in the units that are wanted.
func TestDescriptionsHaveUnits(t *testing.T) {
	us := quantity.Printer{System: quantity.USCustomary}
	for _, want := range []struct{ rule, says string }{
		{"flash-point", "100 °F"}, {"hose-pressure", "49.3 psi"}, {"siphon", "11.8 in"},
	} {
		r, _ := RuleByID(want.rule)
		if !slices.ContainsFunc(r.When, func(w When) bool { return strings.Contains(us.Phrase(w.Say), want.says) }) {
			t.Errorf("%s says nothing of %s: %+v", want.rule, want.says, r.When)
		}
	}
}
