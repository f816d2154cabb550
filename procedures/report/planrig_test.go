package report

import (
	"encoding/json"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"

	"daytank/planner"
	"daytank/planner/quantity"
)

// pictureOf gives the bars of the picture of a plan.
func pictureOf(t *testing.T, set ...string) []string {
	t.Helper()
	p := planned(t, set...)
	var b strings.Builder
	planText{w: &b, columns: textWidth, job: p.Basis.Job, plan: p.Plan, assessment: p.Assessment}.picture()
	return strings.Split(b.String(), "\n")
}

// The van starts full, falls to three quarters, and stays between ambient and
// warm; 614 of 1349 mL are 13.7 of 30 characters, 50.3 of 18 to 60 °C 10.8 of 14.
func TestPictureOfTheRun(t *testing.T) {
	lines := pictureOf(t)
	want := []string{
		"the run in a picture",
		"       0 s   1349 mL [#############|################]   18 °C [o.........w..h]",
		"   5.0 min   1298 mL [#############|###############.]   24 °C [--o.......w..h]",
	}
	if diff := cmp.Diff(want, lines[:3]); diff != "" {
		t.Error(diff)
	}
	if got, want := lines[12], "  42.0 min   1009 mL [#############|########=.......]   30 °C [----o.....w..h]"; got != want {
		t.Errorf("at the planned end\n%s\nwant\n%s", got, want)
	}
	for _, set := range [][]string{
		{},
		{"rig.return_cooler=none"},
		{"rig.charge=700 mL"},
		{"rig.charge=100 mL"},
		{"site.ambient=45 °C", "rig.return_cooler=none"},
		{"rig.return_to=waste", "rig.charge=9 L", "rig.container.capacity=20 L"},
		{"run=[{soak: 1 min}]"},
	} {
		for _, l := range pictureOf(t, set...) {
			if utf8.RuneCountInString(l) > textWidth {
				t.Errorf("%v: %q is wider than a page", set, l)
			}
		}
	}
}

// Where the level falls below the stop level the bar says so, and where the fluid
// gets hot the mark of it is passed.
func TestPictureOfTooMuch(t *testing.T) {
	lines := pictureOf(t, "rig.charge=1100 mL", "rig.return_cooler=none")
	last := lines[12]
	if bar := last[strings.Index(last, "[")+1:]; strings.IndexByte(bar, '|') < strings.LastIndexByte(bar[:levelBar], '=') {
		t.Errorf("the stop level does not stand beyond what is left: %s", last)
	}
	hot := lines[4] // 12 min
	if bar := hot[strings.LastIndex(hot, "["):]; strings.IndexByte(bar, 'o') < strings.IndexByte(bar, 'w') {
		t.Errorf("warm is not passed: %s", hot)
	}
}

// A run fed by a pump has no suction, and no tanks no doses: null and an empty
// list, never zero.
func TestWhatIsNotThere(t *testing.T) {
	p := planned(t, "rig.feed=pump", "rig.feed_pump={pressure: 300 kPa, flow: 60 L/h}", "tank_dose=")
	text, err := json.Marshal(document(p))
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{`"suction":null`, `"dose":[]`} {
		if !strings.Contains(string(text), want) {
			t.Errorf("no %s in %s", want, text)
		}
	}
	var b strings.Builder
	PlanText(&b, p.Basis.Job, p.Plan, p.Assessment, &p.List, quantity.Printer{})
	if strings.Contains(b.String(), "suction") || strings.Contains(b.String(), "into the tanks") {
		t.Errorf("it is on the page:\n%s", b.String())
	}
}

func TestDoseText(t *testing.T) {
	doses := []planner.Dose{
		planner.DoseFor(planner.Tank{Name: "main", Fuel: quantity.Litres(41)}, quantity.MillilitresPerLitre(2), quantity.MillilitresPerLitre(5), quantity.Millilitres(40)),
		planner.DoseFor(planner.Tank{Name: "reserve"}, quantity.MillilitresPerLitre(2), quantity.MillilitresPerLitre(5), quantity.Millilitres(40)),
		{Tank: "main", Fuel: quantity.Litres(41), OfFluid: true},
	}
	var b strings.Builder
	DoseText(&b, doses, quantity.Millilitres(40), quantity.Printer{})
	want := "  main         41.0 L of fuel   160 mL, 4 measures of 40 mL   (82 mL to 205 mL)\n" +
		"  reserve        0 mL of fuel   none: the tank is empty\n" +
		"  main         41.0 L of fuel   instead, the cleaning fluid itself: none\n"
	if diff := cmp.Diff(want, b.String()); diff != "" {
		t.Error(diff)
	}
}

func TestNeedsText(t *testing.T) {
	p := planned(t)
	var b strings.Builder
	NeedsText(&b, p.Basis.Job, p.Plan, quantity.Printer{})
	for _, want := range []string{
		"VAN-07: what to have ready\n", "  [ ]  3 packs  cleaning fluid: cleaner A\n", "  [ ]        6  hose clips\n",
		"  [ ]   2.25 L  waste can", "  [ ]  2 pairs  gloves", "\n  the packs cost 42\n",
	} {
		if !strings.Contains(b.String(), want) {
			t.Errorf("no %q in\n%s", want, b.String())
		}
	}
}

func TestCompareText(t *testing.T) {
	var rows []Variant
	for _, charge := range []string{"1.2 L", "2.4 L"} {
		rows = append(rows, Variant{charge, document(planned(t, "rig.charge="+charge))})
	}
	rows = append(rows, Variant{"700 mL", document(planned(t, "rig.charge=700 mL", "rig.feed=pump", "rig.feed_pump={pressure: 300 kPa, flow: 60 L/h}"))})
	var b strings.Builder
	CompareText(&b, "rig.charge", rows, quantity.Printer{})
	want := "" +
		"rig.charge  needed  charge  stop after  slips: empty   peak  at worst   suction\n" +
		"1.2 L       1.44 L  1.20 L    10.3 min           0 s  36 °C     66 °C  6.34 kPa  STOP charge-short\n" +
		"2.4 L       1.44 L  2.40 L  2 h 00 min          61 s  30 °C     51 °C  7.34 kPa  ready, 2 cautions\n"
	if got := b.String(); !strings.HasPrefix(got, want) {
		t.Error(cmp.Diff(want, got))
	}
	if !strings.Contains(b.String(), "at once") || !strings.Contains(b.String(), "fed") {
		t.Errorf("a run that begins below the stop level, fed by a pump:\n%s", b.String())
	}
}
