package planner

import (
	"fmt"
	"testing"

	"pgregory.net/rapid"

	"daytank/planner/quantity"
)

// TestDose has whole measures within the label's range, nearest its middle; plain
// millilitres where none fits; never more than the range.
func TestDose(t *testing.T) {
	ml := func(least, most float64) [2]quantity.Dose {
		return [2]quantity.Dose{quantity.MillilitresPerLitre(least), quantity.MillilitresPerLitre(most)}
	}
	for _, tt := range []struct {
		fuel, measure float64 // L, mL
		ratio         [2]quantity.Dose
		amount        float64 // mL
		measures      int
	}{
		{41, 40, ml(2, 5), 160, 4},  // 82 to 205 mL, middle 143.5: 3.6 measures
		{41, 60, ml(2, 5), 120, 2},  // 2.4 measures
		{41, 100, ml(2, 5), 100, 1}, // 1.4 measures; two are 200, within, but farther off
		{41, 300, ml(2, 5), 144, 0}, // no whole measure fits: 143.5 to the millilitre
		{41, 0, ml(2, 5), 144, 0},   // no measure
		{0, 40, ml(2, 5), 0, 0},     // an empty tank gets none
		{90 * 3.785411784, 0, ml(2*946.352946/340.687, 2*946.352946/340.687), 1892.706, 0}, // 2 US qt to 90 US gal, 5.6 mL/L, a common label
		{50, 50, ml(10, 10), 500, 10}, // 1:100
		{0.3, 40, ml(2, 5), 1, 0},     // 0.6 to 1.5 mL
		{0.1, 40, ml(2, 3), 0.3, 0},   // 0.2 to 0.3 mL: 0.25, rounded inside
		{10, 12.5, ml(5, 5), 50, 4},   // exactly a whole number
		{41, 205, ml(2, 5), 205, 1},   // exactly the largest
		{0.5, 0, ml(1, 2), 1, 0},      // 0.5 to 1 mL: 0.75 to the millilitre is exactly the largest
		{1, 0, ml(1, 1.8), 1, 0},      // 1.4 to the millilitre is exactly the least
		{0.2, 0.1, ml(5, 5), 1, 10},   // the least that is a measure
		{0.2, 0.09, ml(5, 9), 1.4, 0}, // less is none
	} {
		d := DoseFor(Tank{Name: "main", Fuel: quantity.Litres(tt.fuel)}, tt.ratio[0], tt.ratio[1], quantity.Millilitres(tt.measure))
		near(t, fmt.Sprintf("dose for %v L by %v mL", tt.fuel, tt.measure), d.Amount.Millilitres(), tt.amount, 0.06)
		if d.Measures != tt.measures {
			t.Errorf("%v L by %v mL: %d measures, want %d", tt.fuel, tt.measure, d.Measures, tt.measures)
		}
	}
}

func TestDoseStaysInItsRange(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		least := rapid.Float64Range(0, 50).Draw(t, "least")
		most := least + rapid.Float64Range(0, 50).Draw(t, "more")
		d := DoseFor(Tank{Fuel: quantity.Litres(rapid.Float64Range(0, 2000).Draw(t, "fuel"))},
			quantity.MillilitresPerLitre(least), quantity.MillilitresPerLitre(most),
			quantity.Millilitres(rapid.Float64Range(0, 500).Draw(t, "measure")))
		if d.Amount < d.Min*(1-1e-8) || d.Amount > d.Max*(1+1e-12) || d.Measures < 0 {
			t.Fatalf("%+v", d)
		}
	})
}

// TestDosesOfTheVan: the tank additive in the main tank, nothing in the empty
// one; the cleaning fluid only where its label says so, less the 150 mL that come
// back by themselves.
func TestDosesOfTheVan(t *testing.T) {
	p := Compute(van(t))
	if len(p.Doses) != 2 || p.Doses[0].Tank != "main" || p.Doses[0].Measures != 4 || p.Doses[1].Amount != 0 || p.Doses[0].OfFluid {
		t.Errorf("doses %+v", p.Doses)
	}
	near(t, "back into the tank, mL", p.Returned.Millilitres(), 150, 1e-9)
	p = Compute(van(t, "rig.filter_in_loop=true"))
	near(t, "back into the tank with the filter, mL", p.Returned.Millilitres(), 500, 1e-9)

	p = Compute(van(t, "fluid.tank_ratio=4 mL/L .. 10 mL/L"))
	if len(p.Doses) != 4 || !p.Doses[2].OfFluid || p.Doses[2].Tank != "main" {
		t.Fatalf("doses %+v", p.Doses)
	}
	// 41 L: 164 to 410 mL, less 150: 14 to 260, middle 137.
	near(t, "least of the fluid, mL", p.Doses[2].Min.Millilitres(), 14, 1e-6)
	near(t, "most of the fluid, mL", p.Doses[2].Max.Millilitres(), 260, 1e-6)
	near(t, "of the fluid, mL", p.Doses[2].Amount.Millilitres(), 137, 1e-6)
	p = Compute(van(t, "fluid.tank_ratio=1 mL/L .. 2 mL/L"))
	if d := p.Doses[2]; d.Max != 0 || d.Amount != 0 {
		t.Errorf("82 mL are allowed, 150 come back, and yet %+v", d)
	}
	if p := Compute(van(t, "tank_dose=")); p.Doses != nil {
		t.Errorf("doses without a question: %+v", p.Doses)
	}
}

// TestWasteOfTheVan: left over 1149.60, flush 300 and the filter's 350 mL.
func TestWasteOfTheVan(t *testing.T) {
	w := Compute(van(t)).Waste
	near(t, "waste, mL", w.Liquid.Millilitres(), 1799.60, 0.005)
	near(t, "waste can, mL", w.Container.Millilitres(), 2249.50, 0.005)
	// Led to waste, the return of 25 min at 32 L/h and of 2 min at 60 L/h comes with it,
	// and is no longer left over.
	j := van(t, "rig.return_to=waste", "rig.charge=18 L")
	p := Compute(j)
	wasted := 1000 * (32*25.0/60 + 60*2.0/60)
	near(t, "left over, mL", p.Fluid.Leftover.Millilitres(), 18000-350.40-300-wasted, 0.01)
	near(t, "waste, mL", p.Waste.Liquid.Millilitres(), 18000-350.40+350, 0.01)
}

// TestNeedsOfTheVan has what the plan asks for, with its amounts.
func TestNeedsOfTheVan(t *testing.T) {
	find := func(j Job, item string) *Need {
		for _, n := range j.Needs(Compute(j)) {
			if n.Item == item {
				return &n
			}
		}
		return nil
	}
	j := van(t)
	p := Compute(j)
	if n := find(van(t, "tank_dose="), "tank additive"); n != nil {
		t.Errorf("without a dose there is %v", *n)
	}
	for item, want := range map[string]any{
		"cleaning fluid: cleaner A":           3,
		"hose clips":                          6,
		"supply hose, fuel-rated":             quantity.Metres(1.5),
		"coil of metal pipe for the return":   quantity.Metres(3),
		"waste can with a lid and a label":    p.Waste.Container,
		"clean fuel to prime with":            quantity.Millilitres(500),
		"tank additive":                       quantity.Millilitres(160), // four measures of 40 mL
		"gloves that stand fuel, and glasses": 2,
	} {
		n := find(j, item)
		if n == nil {
			t.Errorf("no %s", item)
			continue
		}
		if fmt.Sprint(n.Amount) != fmt.Sprint(want) || n.Why.Format == "" {
			t.Errorf("%s: %v because %q, want %v", item, n.Amount, n.Why.Format, want)
		}
	}
	for item, set := range map[string][]string{
		"second person":                {"site.people=1"},
		"tail-pipe hose and fan":       {"site.place=extraction"},
		"plate for the air intake":     {"engine.layout=inline"},
		"electric feed pump":           {"rig.feed=pump", "rig.feed_pump={pressure: 400 kPa, flow: 60 L/h}"},
		"taps":                         {"rig.taps=true"},
		"inline filter for the return": {"rig.return_filter_drop=1 kPa"},
	} {
		if find(j, item) != nil {
			t.Errorf("the van is asked for: %s", item)
		}
		if find(van(t, set...), item) == nil {
			t.Errorf("%v does not ask for: %s", set, item)
		}
	}
}
