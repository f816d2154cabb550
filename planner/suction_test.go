package planner

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"daytank/planner/quantity"
)

// TestSuctionOfTheVan has the working:
//
//	cold      15 °C, below the 18 °C of the air: ν by D341 of 2.4 and 1.0 mm²/s
//	          4.2654 mm²/s, ρ 808 kg/m³
//	flow      68.2024 L/h in 8 mm: V 0.37690 m/s, Re 706.9, laminar, f 64/Re = 0.090536
//	friction  (0.090536·1.5/0.008 + 1.5)·808·0.37690²/2 = 18.4755·57.389 = 1060.3 Pa
//	lift      0.4 m, and the level falls from 1349.20 to 614.16 mL over 95.033 cm²:
//	          77.346 mm more; 808·9.80665·0.477346 = 3782.4 Pa
//	filter    2 kPa, no filter in the loop: 6842.7 Pa of 17 kPa
//	expected  1.7619 + 32·1500/800 = 61.762 L/h: 952.8 Pa of friction, 6735.2 Pa
//	bore      4 mm takes 22.7 kPa, 5 mm 12.7 kPa
//	return    1.1·32·1500/800 = 66 L/h: V 0.36473, 1023.4 Pa, no lift
func TestSuctionOfTheVan(t *testing.T) {
	p := Compute(van(t))
	s := p.Suction
	near(t, "flow, L/h", s.Flow.LitresPerHour(), 68.2024, 5e-5)
	near(t, "viscosity, mm²/s", s.Viscosity.SquareMillimetresPerSecond(), 4.26536, 5e-5)
	near(t, "Reynolds number", s.Reynolds, 706.9, 0.05)
	near(t, "friction, Pa", float64(s.Friction), 1060.3, 0.05)
	near(t, "lift, Pa", float64(s.Lift), 3782.4, 0.05)
	near(t, "filter, Pa", float64(s.Filter), 2000, 1e-9)
	near(t, "total, Pa", float64(s.Total), 6842.7, 0.05)
	near(t, "expected, Pa", float64(s.Expected), 6735.2, 0.05)
	near(t, "limit, kPa", s.Limit.Kilopascals(), 17, 1e-9)
	near(t, "smallest bore, mm", s.SmallestBore.Millimetres(), 5, 1e-9)
	near(t, "return head, Pa", float64(p.ReturnHead), 1023.4, 0.05)
}

// TestSuctionByCase looks at what changes it.
func TestSuctionByCase(t *testing.T) {
	base := Compute(van(t)).Suction
	for _, tt := range []struct {
		name string
		set  []string
		see  func(s *Suction) (got, want float64) // kPa
	}{
		{"filter in the loop: 5 kPa", []string{"rig.filter_in_loop=true", "rig.first_flush=300 mL"}, func(s *Suction) (float64, float64) { return s.Filter.Kilopascals(), 7 }},
		{"container above: the lift is negative", []string{"rig.lift=-1 m"}, func(s *Suction) (float64, float64) {
			return s.Lift.Kilopascals(), 808 * 9.80665 * (-1 + 0.077346) / 1000
		}},
		{"diameter unknown: no fall of the level", []string{"rig.container={capacity: 3 L, unusable: 406 mL}"}, func(s *Suction) (float64, float64) {
			return s.Lift.Kilopascals(), 808 * 9.80665 * 0.4 / 1000
		}},
		{"elbows", []string{"rig.minor_loss=10"}, func(s *Suction) (float64, float64) {
			return s.Friction.Kilopascals(), base.Friction.Kilopascals() + 10*808*0.37690*0.37690/2/1000
		}},
		{"the maker's limit", []string{"engine.inlet_depression_limit=9 kPa"}, func(s *Suction) (float64, float64) { return s.Limit.Kilopascals(), 9 }},
		{"rotary pump", []string{"engine.layout=rotary"}, func(s *Suction) (float64, float64) { return s.Limit.Kilopascals(), 13.3 }},
		// At −10 °C it is 9.23 mm²/s thick, 824.9 kg/m³: from the published form of D341 and Table 54B.
		{"cold", []string{"site.ambient=-10 °C"}, func(s *Suction) (float64, float64) {
			return s.Viscosity.SquareMillimetresPerSecond() / 1000, d341(-10, 2.4, 1.0) / 1000
		}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got, want := tt.see(Compute(van(t, tt.set...)).Suction)
			near(t, tt.name, got, want, 5e-5)
		})
	}
	if s := Compute(van(t, "rig.feed=pump", "rig.feed_pump={pressure: 400 kPa, flow: 60 L/h}")).Suction; s != nil {
		t.Errorf("suction of a fed engine: %+v", s)
	}
	if s := Compute(van(t, "rig.lift=2.5 m")).Suction; s.SmallestBore != nil {
		t.Errorf("2.5 m of lift is 20 kPa, and a bore of %v passes", *s.SmallestBore)
	}
	// A limit that is met exactly is kept: 8 mm pull just that, 7 mm would pull more.
	exactly := van(t)
	exactly.Engine.InletDepressionLimit = &base.Total
	if b := Compute(exactly).Suction.SmallestBore; b == nil || *b != exactly.Rig.SupplyHose.Bore {
		t.Errorf("with a limit of just what 8 mm pull, the smallest bore is %v", b)
	}
	// What the return is pushed against has its filter and its lift in it.
	set := []string{"rig.return_filter_drop=3 kPa", "rig.return_lift=0.5 m"}
	near(t, "return head, Pa", float64(Compute(van(t, set...)).ReturnHead), 1023.4+3000+808*9.80665*0.5, 0.05)
	// A turbulent one: 300 L/h of thin warm fluid in 4 mm.
	s := Compute(van(t, "engine.return_flow=300 L/h", "rig.supply_hose.bore=5 mm", "site.ambient=30 °C")).Suction
	if s.Reynolds < 4000 {
		t.Errorf("Reynolds number %v", s.Reynolds)
	}
}

// d341 writes ASTM D341, full form, again: mm²/s at t °C from those at 40 and
// 100 °C.
func d341(t, nu40, nu100 float64) float64 {
	y := func(nu float64) float64 {
		return math.Log10(math.Log10(nu + 0.7 + math.Exp(-1.47-1.84*nu-0.51*nu*nu)))
	}
	b := (y(nu40) - y(nu100)) / (math.Log10(373.15) - math.Log10(313.15))
	w := math.Pow(10, math.Pow(10, y(nu40)-b*(math.Log10(t+273.15)-math.Log10(313.15)))) - 0.7
	return w - math.Exp(-0.7487-3.295*w+0.6119*w*w-0.3193*w*w*w)
}

// The smallest bore holds for the hose of that bore: a narrow one leaves more in the
// container, whose level has further to fall.
func TestSmallestBoreHolds(t *testing.T) {
	met := false
	for lift := 1000; lift < 2200; lift += 5 {
		set := []string{"rig.container.diameter=50 mm", "rig.charge=1.5 L", fmt.Sprintf("rig.lift=%d mm", lift), "rig.supply_hose.bore=8 mm"}
		b := Compute(van(t, set...)).Suction.SmallestBore
		if b == nil {
			continue
		}
		met = met || *b < quantity.Millimetres(8)
		s := Compute(van(t, append(set[:3:3], fmt.Sprintf("rig.supply_hose.bore=%v mm", b.Millimetres()))...)).Suction
		if s.Total > s.Limit {
			t.Fatalf("lift of %d mm: the smallest bore of %v pulls %v of %v", lift, *b, s.Total, s.Limit)
		}
	}
	if !met {
		t.Error("no bore narrower than that of the job was met")
	}
}

// TestWiderHoseNeverPullsMore: at a fixed charge.
func TestWiderHoseNeverPullsMore(t *testing.T) {
	text, library := jobText(t, "van.yaml"), shippedLibrary(t)
	rapid.Check(t, func(t *rapid.T) {
		j := drawJob(t, text, library, drawRun(t))
		charge := quantity.Litres(rapid.Float64Range(0.5, 20).Draw(t, "charge"))
		j.Rig.Charge = &charge
		narrow := Compute(j)
		if narrow.Suction == nil {
			return
		}
		wide := j
		wide.Rig.SupplyHose.Bore *= quantity.Length(rapid.Float64Range(1, 3).Draw(t, "wider"))
		s := Compute(wide).Suction
		if s.Friction > narrow.Suction.Friction*(1+1e-9) || s.Total > narrow.Suction.Total+1e-6 {
			t.Fatalf("%v of bore pull %v, %v pull %v\n%s", j.Rig.SupplyHose.Bore, narrow.Suction.Total, wide.Rig.SupplyHose.Bore, s.Total, j.File())
		}
		if b := narrow.Suction.SmallestBore; b != nil {
			wide.Rig.SupplyHose.Bore = *b
			if s := Compute(wide).Suction; s.Total > s.Limit+1e-6 {
				t.Fatalf("the smallest bore of %v pulls %v of %v\n%s", *b, s.Total, s.Limit, j.File())
			}
		}
	})
}
