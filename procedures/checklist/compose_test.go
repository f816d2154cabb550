package checklist

import (
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"daytank/planner"
	"daytank/procedures"
	"daytank/procedures/record"
)

func planned(t testing.TB, set ...string) Planned {
	t.Helper()
	library, err := procedures.Shipped()
	if err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile("../../testdata/jobs/van.yaml")
	if err != nil {
		t.Fatal(err)
	}
	job, err := planner.ReadJobWith("van.yaml", text, set, library.Engines(), planner.Date{Year: 2026, Month: 3, Day: 14})
	if err != nil {
		t.Fatal(err)
	}
	p, _ := library.For("rail-pumped")
	made, err := Basis{Procedure: p, Job: job, EmergencyNumber: "112"}.Make()
	if err != nil {
		t.Fatal(err)
	}
	return made
}

// Plans that differ in what a step may depend on.
var plans = map[string][]string{
	"the van":         nil,
	"alone":           {"site.people=1"},
	"extraction":      {"site.place=extraction"},
	"no coil":         {"rig.return_cooler=none", "run.0.for=2 min", "run.3.for=2 min"},
	"taps":            {"rig.taps=true"},
	"container above": {"rig.lift=-0.3 m", "rig.taps=true"},
	"no flush":        {"rig.first_flush=none"},
	"no soak":         {"run.2="},
	"filter":          {"engine.aftertreatment=particulate-filter"},
	"piezo":           {"engine.injectors=piezo"},
	"hand primer":     {"engine.primer={kind: hand, stroke_volume: 6 mL}"},
	"no dose":         {"tank_dose="},
	"no diameter":     {"rig.container={capacity: 3 L, unusable: 300 mL, closed: true}"},
}

// Whatever the plan, every name in braces has its value, there are neither more
// steps than an evening has nor more confirmations than hands will type, and
// what safety demands is there.
func TestComposeForEveryPlan(t *testing.T) {
	for name, set := range plans {
		list := planned(t, set...).List
		confirmations := 0
		for _, s := range list.Everything() {
			texts := []string{s.Say, s.Why, s.How}
			if s.Demand != nil {
				texts = append(texts, s.Demand.Ask)
			}
			for _, o := range s.Options {
				texts = append(texts, o.Say)
			}
			for _, text := range texts {
				if strings.ContainsAny(text, "{}") {
					t.Errorf("%s, step %s: %q", name, s.ID, text)
				}
			}
			if s.Needed && s.Kind == procedures.Confirm {
				confirmations++
			}
		}
		if n := len(list.Sitting()); n < 45 || n > 62 {
			t.Errorf("%s: %d steps", name, n)
		}
		if confirmations != 12 {
			t.Errorf("%s: %d confirmations", name, confirmations)
		}
	}
	if n := len(planned(t).List.Sitting()); n > 60 {
		t.Errorf("%d steps for the demo van", n)
	}
}

func TestEveryPlaceholderAndFactHasAValue(t *testing.T) {
	p := planned(t)
	values := valuesOf(Context{Job: p.Basis.Job, Plan: p.Plan, EmergencyNumber: "112"})
	for _, name := range procedures.Placeholders {
		if values[name] == "" {
			t.Errorf("{%s} is empty", name)
		}
	}
	if len(values) != len(procedures.Placeholders) {
		t.Errorf("%d values for %d placeholders", len(values), len(procedures.Placeholders))
	}
	if got, want := values["dose"], "160 mL for 41.0 L in main, 4 × 40 mL"; got != want {
		t.Errorf("dose %q, want %q", got, want)
	}
	facts := factsOf(p.Basis.Job, p.Plan)
	for name, known := range procedures.Facts {
		if value := facts[name]; value == "" || (known != nil && !slices.Contains(known, value)) {
			t.Errorf("fact %s is %q", name, value)
		}
	}
}

// A control that applies to other plans only is no control of this one.
func TestComposeRefusesAControlThatDoesNotApply(t *testing.T) {
	p := planned(t)
	weak := p.Basis.Procedure
	weak.Phases = slices.Clone(weak.Phases)
	for i, phase := range weak.Phases {
		weak.Phases[i].Steps = slices.Clone(phase.Steps)
		for j, s := range phase.Steps {
			if s.Control == "rig-tight" {
				weak.Phases[i].Steps[j].Applies = procedures.Condition{{Fact: "taps", Values: []string{"yes"}}}
			}
		}
	}
	basis := p.Basis
	basis.Procedure = weak
	if _, err := basis.Make(); err == nil || !strings.Contains(err.Error(), "rig-tight") {
		t.Errorf("got %v", err)
	}
}

func TestChecklistIsKeptWhole(t *testing.T) {
	want := planned(t).List
	got, err := Decode(want.Encode())
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	for _, text := range []string{"", "{}", `{"checklist": 2}`, "[]"} {
		if _, err := Decode([]byte(text)); err == nil {
			t.Errorf("%q is read as a checklist", text)
		}
	}
}

// Readings are due at 0.5, 1 and 2 minutes, every 2 minutes to 10, then every 5
// (the design of this project; common practice, no source).
func TestDueAfter(t *testing.T) {
	want := []int64{30, 60, 120, 240, 360, 480, 600, 900, 1200, 1500}
	var got []int64
	for at := int64(0); len(got) < len(want); {
		at = dueAfter(at)
		got = append(got, at/1000)
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

func TestQuotedWord(t *testing.T) {
	for _, c := range []struct{ text, word, want string }{
		{"fuse number, or dead", "dead", `fuse number, or "dead"`},
		{"green, where the needle stands", "green", `"green", where the needle stands`},
		{"type  still", "still", `type "still"`},
		{"what it shows", "dry", `what it shows: "dry"`},
		{"a number", "", "a number"},
		{"a laundry is no dry place", "dry", `a laundry is no "dry" place`},
	} {
		if got := quoted(c.text, c.word); got != c.want {
			t.Errorf("%q, %q: got %q, want %q", c.text, c.word, got, c.want)
		}
	}
}

// After a change of stage a reading is due half a minute into it, even where one
// was taken in its first seconds.
func TestDueAfterAChangeOfStage(t *testing.T) {
	const cold = 293150
	warm := int64(330000)
	for _, c := range []struct{ stage, stageS, lastS, wantS int64 }{
		{0, 0, 0, 30},
		{0, 0, 70, 120},
		{1, 600, 480, 600}, // the one of the schedule is overdue
		{1, 612, 600, 642},
		{1, 612, 613, 642},
		{1, 612, 642, 900},
	} {
		mk := int64(cold)
		r := engineRun{stage: int(c.stage), stageMS: c.stageS * second, lastMS: c.lastS * second, readings: []record.Reading{{TemperatureMK: &mk}}}
		if got := r.due(warm) / second; got != c.wantS {
			t.Errorf("stage %d since %d s, last reading at %d s: due at %d s, want %d", c.stage, c.stageS, c.lastS, got, c.wantS)
		}
	}
	r := engineRun{lastMS: 1000 * second, readings: []record.Reading{{TemperatureMK: &warm}}}
	if got := r.due(warm); got != 1000*second+everyWhenWarm {
		t.Errorf("warm: due at %d s", got/second)
	}
}
