package report

import (
	"bytes"
	"encoding/json"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/uuid"

	"daytank/planner"
	"daytank/planner/quantity"
	"daytank/procedures"
	"daytank/procedures/checklist"
	"daytank/procedures/checklist/rehearsal"
	"daytank/procedures/record"
)

func planned(t *testing.T, set ...string) checklist.Planned {
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
	made, err := checklist.Basis{Procedure: p, Job: job}.Make()
	if err != nil {
		t.Fatal(err)
	}
	return made
}

func document(p checklist.Planned) Plan {
	return OfPlan(p.Basis.Job, p.Plan, p.Assessment, &p.List, quantity.Printer{})
}

// keys gives the paths of all keys of a JSON value, list items without their
// positions.
func keys(at string, v any, into map[string]bool) {
	switch x := v.(type) {
	case map[string]any:
		for k, child := range x {
			into[at+k] = true
			keys(at+k+".", child, into)
		}
	case []any:
		for _, child := range x {
			keys(at, child, into)
		}
	}
}

// The keys of the document, as programs rely on them.
func TestKeysOfThePlan(t *testing.T) {
	text, err := json.Marshal(document(planned(t)))
	if err != nil {
		t.Fatal(err)
	}
	var v any
	if err := json.Unmarshal(text, &v); err != nil {
		t.Fatal(err)
	}
	got := map[string]bool{}
	keys("", v, got)
	want := map[string]bool{}
	band := func(at string) []string { return []string{at, at + ".low", at + ".expected", at + ".high"} }
	pair := func(at string) []string { return []string{at, at + ".expected", at + ".high"} }
	for _, group := range [][]string{
		strings.Fields("title asset ready burn burn.source stages stages.kind stages.speed_rpm stages.minutes fluid run_dry levels temperature hoses priming run_min work_min cost findings cautions"),
		band("burn.idle_l_per_h"), band("stages.burn_ml"), band("fluid.burn_ml"),
		strings.Fields("fluid.flush_ml fluid.flush_s fluid.hose_ml fluid.reserve_ml fluid.unusable_ml fluid.needed_ml fluid.packs fluid.charge_ml fluid.leftover_ml fluid.strength_percent"),
		strings.Fields("run_dry.stop_level_ml run_dry.stop_level_mm run_dry.reserve_reached_min run_dry.reserve_reached_min.earliest run_dry.reserve_reached_min.expected run_dry.margin_min run_dry.return_off_s run_dry.return_off_s.start run_dry.return_off_s.end run_dry.return_off_s.stop_level"),
		strings.Fields("levels.at_min levels.low_ml levels.expected_ml levels.high_ml levels.temperature_c temperature.warm_c temperature.hot_c"),
		pair("temperature.peak_c"), pair("temperature.warm_reached_min"), pair("temperature.hot_reached_min"),
		strings.Fields("hoses.line hoses.required_c hoses.rating_c hoses.velocity_m_s priming.volume_ml priming.method priming.strokes priming.key_cycles priming.crank priming.crank.seconds priming.crank.rest_seconds priming.crank.attempts"),
		strings.Fields("suction suction.flow_l_per_h suction.viscosity_mm2_s suction.reynolds suction.friction_kpa suction.lift_kpa suction.filter_kpa suction.total_kpa suction.expected_total_kpa suction.limit_kpa suction.smallest_bore_mm return_head_kpa"),
		strings.Fields("dose dose.product dose.tank dose.fuel_l dose.min_ml dose.max_ml dose.dose_ml dose.measures returned_ml waste waste.liquid_ml waste.container_ml needs needs.item needs.amount needs.unit needs.why"),
		strings.Fields("findings.rule findings.severity findings.message findings.lift findings.set findings.source"),
	} {
		for _, k := range group {
			want[k] = true
		}
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// The worked example of the van: its working stands in the tests of package
// planner; here, that the document carries it.
func TestPlanOfTheVan(t *testing.T) {
	p := document(planned(t))
	f := p.Fluid
	got := []float64{f.BurnML.Low, f.BurnML.Expected, f.BurnML.High, f.FlushML, f.HoseML, f.UnusableML, f.ReserveML, f.NeededML, float64(f.Packs), f.ChargeML}
	want := []float64{321, 350, 380, 300, 151, 406, 614, 1445, 3, 1800}
	for i := range want {
		if d := got[i] - want[i]; d > 0.5 || d < -0.5 {
			t.Errorf("figure %d is %v, want %v", i, got[i], want[i])
		}
	}
	if !p.Ready || *p.Temperature.PeakC.Expected != 32.6 || *p.Temperature.PeakC.High != 57.7 ||
		p.Temperature.WarmReached.Expected != nil || *p.Temperature.WarmReached.High != 10.9 {
		t.Errorf("ready %v, temperatures %+v", p.Ready, p.Temperature)
	}
	r := p.RunDry
	if *r.ReserveReached.Earliest != 71 || *r.ReserveReached.Expected != 75 || *r.MarginMin != 29 {
		t.Errorf("run-dry %+v", r)
	}
}

// The page says the same numbers as the document.
func TestPlanPage(t *testing.T) {
	made := planned(t)
	var b bytes.Buffer
	PlanText(&b, made.Basis.Job, made.Plan, made.Assessment, &made.List, quantity.Printer{})
	for _, want := range []string{"1.80 L", "1.44 L are needed", "614 mL are left", "33 °C", "58 °C at worst", "warm from 50 °C", "CAUTION", "(return-off)", "planning aid"} {
		if !strings.Contains(b.String(), want) {
			t.Errorf("the page does not say %q:\n%s", want, b.String())
		}
	}
	for line := range strings.Lines(b.String()) {
		if n := len([]rune(strings.TrimRight(line, "\n"))); n > 80 {
			t.Errorf("%d columns: %s", n, line)
		}
	}
}

// walked gives the record of a rehearsed walk, with something entered twice.
func walked(t *testing.T) Job { return walkedWith(t, nil) }

// walkedWith is walked with other answers at some steps.
func walkedWith(t *testing.T, answers map[string]string) Job {
	t.Helper()
	made := planned(t)
	id := uuid.NewSHA1(uuid.NameSpaceOID, []byte("van"))
	at := record.Stamp{At: time.Date(2026, 3, 14, 9, 0, 0, 0, time.UTC), Run: id, By: "Tobi Fenn"}
	var events []record.Event
	head := record.Genesis(id)
	var sum record.Summary
	keep := func(bodies ...record.Body) {
		if len(bodies) == 0 {
			return
		}
		sealed, next, err := record.Seal(head, at, bodies...)
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range sealed {
			if sum, err = sum.Apply(e); err != nil {
				t.Fatal(err)
			}
		}
		events, head = append(events, sealed...), next
	}
	keep(made.Created(1, "test", false))
	state, err := checklist.Replay(made, id, events)
	if err != nil {
		t.Fatal(err)
	}
	back := false
	for range 3000 {
		out := state.Look(at)
		keep(out.Bodies...)
		state = out.State
		ask := state.Ask(at)
		if ask.Kind == checklist.AskFinished {
			break
		}
		text, takes := rehearsal.Answer(ask, state.List())
		if other, ok := answers[ask.Step.ID]; ok {
			text = other
		}
		in := checklist.Input{Do: checklist.Enter, Text: text}
		switch {
		case ask.Step.ID == "left-over" && !back:
			in.Text = "900"
		case ask.Step.ID == "run-seen" && !back:
			back, in = true, checklist.Input{Do: checklist.Back}
		case ask.Kind == checklist.AskRun && takes == 0:
			takes = time.Duration(max(1000, ask.Run.WakeMS)) * time.Millisecond
			in.Do = ""
		}
		at.At, at.MonoMS = at.At.Add(takes), at.MonoMS+takes.Milliseconds()
		if in.Do == "" {
			continue
		}
		out, err := state.Answer(in, at)
		if err != nil {
			t.Fatalf("%s: %v", ask.Step.ID, err)
		}
		keep(out.Bodies...)
		state = out.State
	}
	model := document(made)
	j, err := OfJob(sum, events, state, &model, time.UTC)
	if err != nil {
		t.Fatal(err)
	}
	return j
}

func TestJobOfAWalk(t *testing.T) {
	j := walked(t)
	if j.State != "to review" || j.Name != "VAN-07/1" || len(j.Head) != 16 || j.Events != int64(len(j.Timeline)) {
		t.Errorf("%s, %s, head %s, %d events in %d lines", j.Name, j.State, j.Head, j.Events, len(j.Timeline))
	}
	i := slices.IndexFunc(j.Steps, func(s Step) bool { return s.Step == "left-over" })
	want := []Entry{{Text: "900", Unit: "mL", Struck: true}, {Text: "1009", Unit: "mL"}}
	got := slices.Clone(j.Steps[i].Values)
	for k := range got {
		got[k].Seq = 0
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("values entered twice:\n%s", diff)
	}
	if j.Steps[i].Again != 1 {
		t.Errorf("asked again %d times", j.Steps[i].Again)
	}
	if len(j.Readings) < 10 || !j.Readings[0].Baseline || *j.Readings[0].LevelML != 1350 {
		t.Errorf("readings %+v", j.Readings)
	}
	if len(j.Acknowledged) != 3 || len(j.Tests) != 2 || len(j.Tests[0].Readings) != 6 {
		t.Errorf("acknowledged %v, tests %v", j.Acknowledged, j.Tests)
	}
	for _, s := range j.Steps {
		if s.Status == "done" && (s.TakenS == nil || s.PlannedS <= 0) {
			t.Errorf("step %s: planned %v, taken %v", s.Step, s.PlannedS, s.TakenS)
		}
	}
}

func TestJobPage(t *testing.T) {
	j := walked(t)
	var b bytes.Buffer
	JobText(&b, j, true, quantity.Printer{})
	for _, want := range []string{"TO REVIEW", "[replaced: 900 mL]; 1009 mL", "released by Mara Quill (named, not proved)", "proof: 23", "baseline", "timeline", "run ended", j.Head} {
		if !strings.Contains(b.String(), want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	if strings.Contains(b.String(), "DEMONSTRATION") {
		t.Error("a real job is called a demonstration")
	}
}

func TestWrap(t *testing.T) {
	text := "Pull the fuse of the in-tank pump, or unplug it, and prove it dead."
	got := Wrap(text, "  ", 30)
	for line := range strings.Lines(got) {
		if len(strings.TrimRight(line, "\n")) > 30 || !strings.HasPrefix(line, "  ") {
			t.Errorf("%q", line)
		}
	}
	if strings.Join(strings.Fields(got), " ") != text {
		t.Errorf("words were lost: %q", got)
	}
	if Wrap("", "  ", 30) != "" {
		t.Error("nothing is wrapped into something")
	}
	if got := Wrap("averyveryverylongword here", "", 12); got != "averyveryverylongword\nhere" {
		t.Errorf("%q", got)
	}
}

func TestBurnSentence(t *testing.T) {
	b := BurnRead{Read: Band{0.84, 0.89, 0.94}, Planned: Band{0.36, 0.60, 0.96}, Narrower: true, Offer: true}
	if got, want := b.Sentence(quantity.Printer{}), "By the readings this engine burns 0.89 L/h at idle, 0.84 L/h to 0.94 L/h; it was planned with 0.36 L/h to 0.96 L/h. Written into its profile or job file as  idle_burn: 0.89 L/h  the next plan rests on it."; got != want {
		t.Errorf("%s", got)
	}
	b.Offer = false
	if got := b.Sentence(quantity.Printer{}); !strings.HasSuffix(got, "Levels weighed on a scale would tell it well enough for its profile.") {
		t.Errorf("%s", got)
	}
	b.Narrower = false
	if got := b.Sentence(quantity.Printer{}); !strings.HasSuffix(got, "0.36 L/h to 0.96 L/h.") {
		t.Errorf("%s", got)
	}
}
