package hydraulics

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"daytank/planner/quantity"
)

// TestFrictionFactor has Colebrook to 40 digits, computed with arbitrary
// precision, and 64/Re.
func TestFrictionFactor(t *testing.T) {
	tests := []struct{ reynolds, rough, want float64 }{
		{120, 0, 0.533333333333333}, // 64/Re
		{884.194128288, 0, 0.072382294738734},
		{2000, 1e-4, 0.032},
		{4000, 0, 0.0399070140556349}, // Colebrook from here
		{8841.94128288, 1.875e-4, 0.032185605881136},
		{1e4, 0.002, 0.0337937313584875},
		{5e4, 5e-4, 0.0225649685965742},
		{1e5, 1e-4, 0.0185138660774717},
		{1e6, 1e-5, 0.011869544827945},
		{0, 0, 0},
	}
	for _, tt := range tests {
		near(t, "friction factor", FrictionFactor(tt.reynolds, tt.rough), tt.want, 2e-14)
	}
	// Colebrook at five points, to six digits.
	for _, tt := range []struct{ reynolds, rough, want float64 }{
		{1e4, 0, 0.030883}, {1e5, 0, 0.017990}, {1e5, 1e-4, 0.018514}, {1e6, 1e-4, 0.013441}, {5e3, 1e-3, 0.038495},
	} {
		near(t, "friction factor", FrictionFactor(tt.reynolds, tt.rough), tt.want, 5e-7)
	}
}

// TestFrictionOfHandbooks has friction factors that worked examples read off a
// chart: White, Fluid Mechanics, example 6.7; Flow of Fluids, technical paper 410,
// examples 7-13, 7-1 and 7-9.
func TestFrictionOfHandbooks(t *testing.T) {
	for _, tt := range []struct{ reynolds, rough, want, within float64 }{
		{128000, 0.0013, 0.0225, 0.015},
		{68000, 0.0018 * 25.4 / 52.50, 0.0230, 0.015},
		{100600, 0, 0.0179, 0.006},
		{1675.6, 0, 0.038195, 1e-4},
	} {
		near(t, "friction factor", FrictionFactor(tt.reynolds, tt.rough), tt.want, tt.within*tt.want)
	}
}

// TestNobodyKnowsBetweenLaminarAndTurbulent: the larger of the two.
func TestNobodyKnowsBetweenLaminarAndTurbulent(t *testing.T) {
	for _, re := range []float64{2300, 2500, 3000, 3999} {
		f := FrictionFactor(re, 0)
		if f < 64/re || f < colebrook(re, 0) || (f != 64/re && f != colebrook(re, 0)) {
			t.Errorf("at %v the factor is %v, laminar %v, turbulent %v", re, f, 64/re, colebrook(re, 0))
		}
	}
	if below, above := FrictionFactor(2299.999, 0), FrictionFactor(2300, 0); above < below {
		t.Errorf("the factor falls from %v to %v where the flow becomes turbulent", below, above)
	}
}

// TestPublishedApproximations: Haaland and Swamee-Jain come within 3 % of
// Colebrook for 5e3 ≤ Re ≤ 1e8 and roughness up to 0.01 (White, Fluid Mechanics,
// ch. 6).
func TestPublishedApproximations(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		re := math.Pow(10, rapid.Float64Range(math.Log10(5e3), 8).Draw(t, "log Re"))
		rough := rapid.Float64Range(0, 0.01).Draw(t, "rough")
		f := FrictionFactor(re, rough)
		haaland := math.Pow(-1.8*math.Log10(math.Pow(rough/3.7, 1.11)+6.9/re), -2)
		swamee := 0.25 / math.Pow(math.Log10(rough/3.7+5.74/math.Pow(re, 0.9)), 2)
		for name, g := range map[string]float64{"Haaland": haaland, "Swamee-Jain": swamee} {
			if math.Abs(g/f-1) > 0.03 {
				t.Errorf("%s gives %v, Colebrook %v at Re %v, roughness %v", name, g, f, re, rough)
			}
		}
	})
}

// TestPipeFlowOfHandbooks has worked examples, each with what its book says and
// how far that is rounded.
func TestPipeFlowOfHandbooks(t *testing.T) {
	tests := []struct {
		name                    string
		bore, length            float64 // m
		flow, density, nu, want float64 // m³/s, kg/m³, m²/s, Pa
		within                  float64 // of the value
	}{
		// μ 0.1 Pa·s, 50 mm, 300 m, 3.5 L/s: 684 288 Pa by the textbook.
		{"laminar oil line", 0.05, 300, 3.5e-3, 900, 0.1 / 900, 684288, 5e-4},
		// μ 0.15531 Pa·s, 20 mm, 72 L/h: 795.18 Pa a metre, with the velocity rounded.
		{"laminar oil line, small", 0.02, 1, 72e-3 / 3600, 900, 0.15531 / 900, 795.18, 6e-3},
		// Hose of this size, μ = ν ρ with 4.0 mm²/s and 828 kg/m³: 128 μ L Q/(π d⁴).
		{"8 mm, 60 L/h", 0.008, 2, 60e-3 / 3600, 828, 4e-6, 1098.2, 1e-4},
		{"8 mm, 120 L/h", 0.008, 2, 120e-3 / 3600, 828, 4e-6, 2196.3, 1e-4},
		{"6 mm, 60 L/h", 0.006, 2, 60e-3 / 3600, 828, 4e-6, 3470.8, 1e-4},
		{"10 mm, 60 L/h", 0.010, 3, 60e-3 / 3600, 828, 4e-6, 674.7, 1e-4},
	}
	for _, tt := range tests {
		p := Pipe{Bore: quantity.Metres(tt.bore), Length: quantity.Metres(tt.length)}
		got := p.Friction(quantity.Flow(tt.flow), quantity.Density(tt.density), quantity.Viscosity(tt.nu))
		near(t, tt.name+", Pa", float64(got), tt.want, tt.within*tt.want)
	}
}

// TestSuctionOfAHose: 8 mm, 60 L/h, 2 m, entrance and exit 68.3 Pa, 0.5 m of lift
// 4060 Pa, together 5226 Pa or 1.543 inHg.
func TestSuctionOfAHose(t *testing.T) {
	p := Pipe{Bore: quantity.Millimetres(8), Length: quantity.Metres(2), Losses: EntranceLoss + ExitLoss}
	flow, density, nu := quantity.LitresPerHour(60), quantity.Density(828), quantity.SquareMillimetresPerSecond(4)
	friction, lift := p.Friction(flow, density, nu), Head(density, quantity.Metres(0.5))
	near(t, "entrance and exit, Pa", float64(friction)-1098.2, 68.3, 0.1)
	near(t, "lift, Pa", float64(lift), 4059.9, 0.1)
	near(t, "total, inHg", float64(friction+lift)/3386.38864, 1.543, 5e-4)
	near(t, "head of a metre, Pa", float64(Head(density, quantity.Metres(1))), 8119.9, 0.05)
	// 5 inHg as a head of 850 kg/m³: 2.031 m.
	near(t, "5 inHg as a head, m", 5*3386.38864/float64(Head(850, quantity.Metres(1))), 2.031, 5e-4)
}

// TestBores has the nominal bores of ISO 1307:2006, in their order.
func TestBores(t *testing.T) {
	want := []float64{3.2, 4, 5, 6.3, 8, 10, 12.5, 16, 19, 25}
	got := Bores()
	if len(got) != len(want) {
		t.Fatalf("%d bores", len(got))
	}
	for i := range want {
		near(t, "bore, mm", got[i].Millimetres(), want[i], 1e-9)
	}
}

// TestWiderIsEasier: a wider bore never loses more, a longer hose, a thicker
// liquid and a larger flow never less.
func TestWiderIsEasier(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string, low, high float64) float64 { return rapid.Float64Range(low, high).Draw(t, name) }
		bore, length := draw("bore, mm", 2, 30), draw("length, m", 0.1, 20)
		flow, nu := draw("flow, L/h", 1, 600), draw("nu, mm2/s", 0.5, 60)
		lost := func(bore, length, flow, nu float64) float64 {
			p := Pipe{Bore: quantity.Millimetres(bore), Length: quantity.Metres(length), Losses: 1.5}
			return float64(p.Friction(quantity.LitresPerHour(flow), 830, quantity.SquareMillimetresPerSecond(nu)))
		}
		base := lost(bore, length, flow, nu)
		more := draw("factor", 1, 3)
		if x := lost(bore*more, length, flow, nu); x > base*(1+1e-9) {
			t.Errorf("wider: %v Pa after %v", x, base)
		}
		if x := lost(bore, length*more, flow, nu); x < base*(1-1e-9) {
			t.Errorf("longer: %v Pa after %v", x, base)
		}
		if x := lost(bore, length, flow*more, nu); x < base*(1-1e-9) {
			t.Errorf("more flow: %v Pa after %v", x, base)
		}
	})
}
