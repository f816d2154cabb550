package handbook

import (
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"daytank/planner/engine"
	"daytank/planner/quantity"
	"daytank/safety"
)

func layouts(t testing.TB) *engine.Library {
	t.Helper()
	library, err := engine.Shipped()
	if err != nil {
		t.Fatal(err)
	}
	return library
}

// A page of a rule has its cases by severity, and its amounts in the units that
// are wanted.
func TestPageOfARule(t *testing.T) {
	want := Page{Kind: "rule", ID: "flash-point", Title: "whether the fluid is fit to stand open beside an engine", Parts: []Part{
		{Label: "a stop when", List: []string{
			"the flash point is below 100 °F, the least of the lightest diesel",
			"the data sheet has H224 or H225, and the job says a flash point that these rule out",
		}},
		{Label: "a caution when", Text: "the flash point is below 131 °F, the least of ordinary diesel"},
		{Label: "why it matters", Text: "Above its flash point a fluid gives off vapour that a spark lights. An engine bay has sparks, and metal far hotter than that."},
		{Label: "what lifts it", Text: "Another fluid. Between the two limits: no spark, lamp or charger near it."},
		{Label: "formulas", Text: "warm-and-hot"},
		{Label: "it rests on", Text: "38 °C: ASTM D975 No. 1-D and 29 CFR 1910.106; 55 °C: EN 590; H224 and H225 below 23 °C: UN GHS chapter 2.6"},
	}}
	got, err := Of("flash-point", layouts(t), quantity.Printer{System: quantity.USCustomary})
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff([]Page{want}, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

// Everything that is known has one page of its id, with a title, something
// under each label, and its source; what is not known has none.
func TestEverythingHasAPage(t *testing.T) {
	library := layouts(t)
	var ids []string
	for _, r := range safety.Rules() {
		ids = append(ids, r.ID)
	}
	hazards, err := safety.Hazards()
	if err != nil {
		t.Fatal(err)
	}
	for _, h := range hazards {
		ids = append(ids, h.ID)
	}
	for _, x := range library.Layouts() {
		ids = append(ids, x.ID)
	}
	for _, f := range all(t) {
		ids = append(ids, f.ID)
	}
	for _, show := range []quantity.Printer{{}, {System: quantity.USCustomary, DecimalComma: true}} {
		for _, id := range ids {
			pages, err := Of(id, library, show)
			if err != nil || len(pages) != 1 {
				t.Errorf("%s: %d pages, %v", id, len(pages), err)
				continue
			}
			p := pages[0]
			rests := slices.ContainsFunc(p.Parts, func(part Part) bool { return part.Label == restsOn })
			if p.ID != id || p.Title == "" || !rests {
				t.Errorf("%s: a page without its name, title or source: %+v", id, p)
			}
			for _, part := range p.Parts {
				said := part.Text + strings.Join(part.List, " ")
				if said == "" || (part.Text != "" && len(part.List) > 0) || strings.Contains(said, "%!") || strings.Contains(said, "unknown") {
					t.Errorf("%s: %s reads %q %q", id, part.Label, part.Text, part.List)
				}
			}
		}
	}
	if pages, err := Of("wheels", library, quantity.Printer{}); err != nil || len(pages) != 0 {
		t.Errorf("of nothing there are %d pages, %v", len(pages), err)
	}
}

// An appendix has each page once, the formulas of its rules besides the main
// ones, and only what its plan has to do with.
func TestAppendix(t *testing.T) {
	x, _ := layouts(t).Layout("rotary")
	names := func(m Matter) []string {
		pages, err := Appendix(m, quantity.Printer{})
		if err != nil {
			t.Fatal(err)
		}
		var all []string
		for _, p := range pages {
			all = append(all, p.Kind+" "+p.ID)
		}
		if sorted := slices.Sorted(slices.Values(all)); len(slices.Compact(sorted)) != len(all) {
			t.Errorf("a page stands there twice: %v", all)
		}
		return all
	}
	few := names(Matter{Layout: x})
	for _, absent := range []string{"formula viscosity", "formula suction-pressure", "formula tank-dose", "formula test-trend"} {
		if slices.Contains(few, absent) {
			t.Errorf("%s, and nothing has to do with it", absent)
		}
	}
	got := names(Matter{Rules: []string{"thin-fluid", "suction", "thin-fluid"}, Hazards: []string{"fire", "spill", "fire"}, Layout: x})
	want := []string{"rule suction", "rule thin-fluid", "hazard fire", "hazard spill", "layout rotary", "formula viscosity", "formula suction-pressure"}
	got = slices.DeleteFunc(got, func(name string) bool { return !slices.Contains(want, name) })
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	everything := names(Matter{Layout: x, Pulled: true, Dosed: true, Tested: true})
	for _, o := range order {
		if !slices.Contains(everything, "formula "+o.id) {
			t.Errorf("no formula %s where all have to do with it", o.id)
		}
	}
}
