package planner

import (
	"fmt"
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"

	"daytank/planner/quantity"
)

// oneBody warms 250 kJ/K with 6 kW against 80 W/K to 12 °C.
func oneBody() *bath {
	return &bath{
		t: 12, ambient: 12, mass: 125, specific: 2000, ua: 80, heat: 6000,
		cap: 1e9, returns: 1, returnIsInTheRig: true,
	}
}

// TestOneBodyAgainstClosedForm: the first figures are those of an integration
// by LSODA with a tolerance of 1e-12 (R 4.2.2, deSolve 1.34); the closed form
// is 12 + Q/UA (1 − exp(−UA t/C)).
func TestOneBodyAgainstClosedForm(t *testing.T) {
	tests := []struct{ at, lsoda float64 }{ // s, °C
		{60, 13.4262640506}, {300, 18.8651987949}, {600, 25.1019848631}, {1200, 35.9151429615}, {3600, 63.2996903481},
	}
	for _, tt := range tests {
		b := oneBody()
		b.pass(0, tt.at, func(_, _ float64) {})
		near(t, "against LSODA, °C", b.t, tt.lsoda, 2e-9)
		near(t, "against the closed form, °C", b.t, 12+6000.0/80*(1-math.Exp(-80*tt.at/250e3)), 1e-9)
	}
}

// TestOneBodyThatEmpties: with the mass m − l t the closed form is
// Q/UA (1 − (1 − l t/m)^(UA/(l c))) above ambient.
func TestOneBodyThatEmpties(t *testing.T) {
	b := oneBody()
	b.loss = 0.02 // kg/s: a third is gone after half an hour
	for _, at := range []float64{600, 1200, 1800} {
		b := *b
		b.pass(0, at, func(_, _ float64) {})
		want := 12 + 6000.0/80*(1-math.Pow(1-0.02*at/125, 80/(0.02*2000)))
		near(t, "temperature, °C", b.t, want, 1e-8)
		near(t, "mass, kg", b.mass, 125-0.02*at, 1e-9)
	}
}

// TestStepsOfAnyLength: the same closed form, however the time is cut into steps.
func TestStepsOfAnyLength(t *testing.T) {
	want := 12 + 6000.0/80*(1-math.Pow(1-0.02*600/125, 80/(0.02*2000)))
	for _, length := range []float64{2, 1, 0.5, 0.125} { // s
		b := oneBody()
		b.loss = 0.02
		for range int(600 / length) {
			b.step(length)
		}
		near(t, "temperature, °C", b.t, want, 1e-8)
		near(t, "mass, kg", b.mass, 125-0.02*600, 1e-9)
	}
}

// TestPassEndsAtItsTime: at no other time, and without a step more for the last digits,
// where ten seconds added one by one come to a little less or more.
func TestPassEndsAtItsTime(t *testing.T) {
	for _, from := range []float64{0, 0.002, 0.024} {
		steps, last := 0, from
		oneBody().pass(from, from+10, func(at, _ float64) { steps, last = steps+1, at })
		if steps != 10 || last != from+10 {
			t.Errorf("from %v s: %d steps of a second to %v s", from, steps, last)
		}
	}
}

// twoBodies gives the closed form of x' = A x + b from the same value of both, by
// the eigenvalues of A and Sylvester's formula for exp(A t).
func twoBodies(a11, a12, a21, a22, b1, b2, from float64) func(at float64) (float64, float64) {
	det := a11*a22 - a12*a21
	steady1, steady2 := -(a22*b1-a12*b2)/det, -(a11*b2-a21*b1)/det
	half, root := (a11+a22)/2, math.Sqrt((a11-a22)*(a11-a22)/4+a12*a21)
	fast, slow := half-root, half+root
	return func(at float64) (float64, float64) {
		f, s := math.Exp(fast*at), math.Exp(slow*at)
		p, m := (s-f)/(slow-fast), (slow*f-fast*s)/(slow-fast)
		d1, d2 := from-steady1, from-steady2
		return steady1 + (m+p*a11)*d1 + p*a12*d2, steady2 + p*a21*d1 + (m+p*a22)*d2
	}
}

// TestClosedFormOfTwoBodies: an engine of 180 kJ/K with 5200 W that warms a fuel
// loop of 9 kJ/K through 22 W/K, both losing to air of 12 °C, integrated by LSODA
// with a tolerance of 1e-12 (R 4.2.2, deSolve 1.34).
func TestClosedFormOfTwoBodies(t *testing.T) {
	const c1, c2, q, u1, u2, g, ta = 180e3, 9e3, 5200.0, 55.0, 6.0, 22.0, 12.0
	exact := twoBodies(-(u1+g)/c1, g/c1, g/c2, -(u2+g)/c2, (q+u1*ta)/c1, u2*ta/c2, ta)
	for _, tt := range []struct{ at, engine, fuel float64 }{
		{0, 12, 12},
		{60, 13.7115709304, 12.1185362758},
		{300, 20.1628635776, 14.281620902},
		{600, 27.4686171742, 18.8273560321},
		{1200, 40.0367066824, 28.8622272407},
		{3600, 71.7379607403, 56.4678157719},
	} {
		engine, fuel := exact(tt.at)
		near(t, "engine, °C", engine, tt.engine, 2e-9)
		near(t, "fuel, °C", fuel, tt.fuel, 2e-9)
	}
}

// TestTwoBodiesAgainstClosedForm: fluid and bucket are a linear system of two. With x = (T, Tw):
//
//	C1 T'  = Q − e (T + Q/r − Tw) − UA (T − Ta)
//	C2 Tw' = e (T + Q/r − Tw)
func TestTwoBodiesAgainstClosedForm(t *testing.T) {
	const (
		c1, c2   = 1.5 * 2000, 10 * waterHeat // 1.5 kg of fluid, 10 kg of water
		q, r, ua = 400.0, 14.4, 1.2
		ta       = 18.0
	)
	exchange := r * (1 - math.Exp(-9/r))
	a11, a12 := -(ua+exchange)/c1, exchange/c1
	a21, a22 := exchange/c2, -exchange/c2
	b1, b2 := (q-exchange*q/r+ua*ta)/c1, exchange*q/r/c2
	exact := twoBodies(a11, a12, a21, a22, b1, b2, ta)
	for _, at := range []float64{60, 600, 3600, 36000} {
		b := &bath{
			t: ta, water: ta, ambient: ta, mass: 1.5, specific: 2000, ua: ua, heat: q, cap: 1e9, returns: r,
			coil: 9, waterMass: 10, exchange: exchange, returnIsInTheRig: true,
		}
		b.pass(0, at, func(_, _ float64) {})
		want1, want2 := exact(at)
		near(t, "fluid, °C", b.t, want1, 1e-8)
		near(t, "bucket, °C", b.water, want2, 1e-8)
	}
}

// TestReturnStopsAtItsCap: where the return would bring more than C (cap − T),
// the fluid nears the cap as exp(−C t/(m c)).
func TestReturnStopsAtItsCap(t *testing.T) {
	b := &bath{t: 18, ambient: 18, mass: 1.5, specific: 2000, heat: 1e6, cap: 90, returns: 15, returnIsInTheRig: true}
	b.pass(0, 300, func(_, temperature float64) {
		if temperature > 90 {
			t.Fatalf("%v °C is above the cap", temperature)
		}
	})
	near(t, "temperature, °C", b.t, 90-72*math.Exp(-15*300/3000.0), 1e-6)

	// With heat from the pump, which the cap does not hold, it settles above.
	b.extra = 150
	b.pass(0, 36000, func(_, _ float64) {})
	near(t, "temperature with a pump, °C", b.t, 100, 1e-6)
}

// TestTinyBathStaysFinite: next to nothing in the container, and a return that
// moves it many times a second.
func TestTinyBathStaysFinite(t *testing.T) {
	j := van(t, "rig.charge=1 mL", "engine.return_flow=2000 L/h", "engine.idle_speed=200 rpm", "engine.return_heat=20 kW",
		"run=[{speed: 6000 rpm, for: 1 h}]")
	for _, cooler := range []string{"none", "{material: metal, length: 50 m, water: 0.5 L}"} {
		j, err := j.With("rig.return_cooler", cooler)
		if err != nil {
			t.Fatal(err)
		}
		h := Compute(j).Heat
		if peak := h.Peak.High.Celsius(); !(peak >= 18 && peak <= 90.001) {
			t.Errorf("with the cooler %s the peak is %v °C, and the return brings 90 °C", cooler, peak)
		}
	}
}

// TestAnEmptyBathKeepsItsStep: what an emptied container is taken to hold needs 0.2 s to
// warm through, however fast the return, so that a step stays at a fifth of that.
func TestAnEmptyBathKeepsItsStep(t *testing.T) {
	for _, set := range [][]string{
		{"engine.return_flow=300 L/h"},
		{"engine.return_flow=2000 L/h"},
		{"engine.return_flow=2000 L/h", "engine.idle_speed=200 rpm", "run=[{speed: 6000 rpm, for: 1 h}]"},
	} {
		j := van(t, append(set, "rig.return_cooler=none")...)
		p := Compute(j)
		b := j.newBath(p.Fluid, expectedCase)
		b.enter(j, p.Stages[0], expectedCase)
		b.mass = 0
		near(t, fmt.Sprintf("%v: step, s", set), b.stepLength(), 0.2*0.2, 1e-12)
	}
}

// TestSoakUntil: without return the fluid cools as exp(−UA t/(m c)).
func TestSoakUntil(t *testing.T) {
	b := oneBody()
	b.t, b.returnIsInTheRig = 60, false
	want := 250e3 / 80 * math.Log((60-12)/(35-12.0))
	near(t, "time, s", b.coolTo(35).Seconds(), want, 1)
	if got := b.coolTo(40); got != 0 {
		t.Errorf("cool already, it still takes %v", got)
	}
	if got := b.coolTo(b.t); got != 0 {
		t.Errorf("just so cool, it still takes %v", got)
	}
	near(t, "what never comes, s", b.coolTo(11).Seconds(), longestSoak.Seconds(), 0)
}

func TestSoakUntilInAPlan(t *testing.T) {
	p := Compute(van(t, "rig.return_cooler=none", "run=[{soak_until: 35 °C}, {speed: idle, for: 20 min}, {soak_until: 35 °C}, {speed: idle, for: 5 min}]"))
	if got := p.Stages[0].For; got != 0 {
		t.Errorf("cold fluid soaks for %v", got)
	}
	soak := p.Stages[2].For
	near(t, "length of the run, min", p.Run.Minutes(), 25+soak.Minutes(), 1e-9)
	found := false
	for _, l := range p.Levels {
		if math.Abs((l.At - (quantity.Minutes(20) + soak)).Seconds()) < 0.01 {
			found = true
			near(t, "temperature at the end of the soak, °C", l.Temperature.Celsius(), 35, 0.05)
		}
	}
	if !found {
		t.Errorf("no level at the end of the soak: %v", p.Levels)
	}
}

func TestFlashThatCounts(t *testing.T) {
	tests := []struct {
		name             string
		set              []string
		flash, warm, hot float64
	}{
		{"all flushed", nil, 67, 50.3, 60},
		{"just enough flushed", []string{"rig.first_flush=300 mL"}, 67, 50.3, 60},
		{"a little less flushed: EN 590 diesel", []string{"rig.first_flush=299 mL"}, 55, 38.3, 50},
		{"not flushed", []string{"rig.first_flush=none"}, 55, 38.3, 50},
		{"not flushed, winter fuel", []string{"rig.first_flush=none", "fuel_flash_point=38 °C"}, 38, 21.3, 33},
		{"not flushed, fluid worse than the fuel", []string{"rig.first_flush=none", "fluid.flash_point=40 °C"}, 40, 23.3, 35},
		{"the filter stays in", []string{"rig.filter_in_loop=true", "rig.first_flush=999 mL"}, 55, 38.3, 50},
		{"high flash point, held by the shut-down figure", []string{"fluid.flash_point=90 °C"}, 90, 60, 60},
		{"warm meets the shut-down figure", []string{"fluid.flash_point=76.7 °C"}, 76.7, 60, 60},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			h := Compute(van(t, tt.set...)).Heat
			near(t, "flash, °C", h.Flash.Celsius(), tt.flash, 1e-9)
			near(t, "warm, °C", h.Warm.Celsius(), tt.warm, 1e-9)
			near(t, "hot, °C", h.Hot.Celsius(), tt.hot, 1e-9)
		})
	}
}

func TestMarksReachedFromTheStart(t *testing.T) {
	h := Compute(van(t, "site.ambient=51 °C", "run=[{soak: 1 h}]")).Heat
	if h.WarmExpected == nil || *h.WarmExpected != 0 || h.WarmHigh == nil || *h.WarmHigh != 0 {
		t.Errorf("warm at %v, %v, want 0", h.WarmExpected, h.WarmHigh)
	}
	if h.HotExpected != nil {
		t.Errorf("hot at %v", h.HotExpected)
	}
}

func TestNothingWarmsWithoutAReturn(t *testing.T) {
	for _, set := range [][]string{{"rig.return_to=waste"}, {"run=[{soak: 1 h}]"}} {
		h := Compute(van(t, set...)).Heat
		near(t, "peak, °C", h.Peak.High.Celsius(), 18, 1e-9)
	}
}

// TestFeedPumpWarms: 100 W more in both cases, and a return that is what the
// pump moves and the engine does not burn.
func TestFeedPumpWarms(t *testing.T) {
	with := van(t, "rig.feed=pump", "rig.feed_pump={pressure: 400 kPa, flow: 60 L/h}")
	p := Compute(with)
	near(t, "return at idle, L/h", p.Stages[0].Return.Expected.LitresPerHour(), 60-0.70, 1e-9)
	near(t, "return at idle, low, L/h", p.Stages[0].Return.Low.LitresPerHour(), 60-0.735, 1e-9)
	near(t, "return at idle, high, L/h", p.Stages[0].Return.High.LitresPerHour(), 60-0.665, 1e-9)
	near(t, "return at 1500 rpm, the engine's own is more, L/h", p.Stages[1].Return.Expected.LitresPerHour(), 60, 1e-9)
	b := with.newBath(p.Fluid, expectedCase)
	b.enter(with, p.Stages[0], expectedCase)
	near(t, "heat of the pump, W", b.extra, 100, 0)
	b.enter(with, p.Stages[2], expectedCase)
	if b.returnIsInTheRig || b.extra != 0 || b.heat != 0 || b.loss != 0 || b.exchange != 0 {
		t.Errorf("in a soak the bath is %+v", b)
	}
}

// TestWhatLeavesTheBath: what is burned, and the return where it is led to waste.
func TestWhatLeavesTheBath(t *testing.T) {
	for to, litres := range map[string]float64{"container": 0.70, "waste": 0.70 + 32} { // an hour, at idle
		j := van(t, "rig.return_to="+to)
		p := Compute(j)
		b := j.newBath(p.Fluid, expectedCase)
		b.enter(j, p.Stages[0], expectedCase)
		near(t, "return to "+to+", kg/h", b.loss*3600, 0.808*litres, 1e-9)
	}
}

// TestWettedArea: wall, base and surface of a cylinder; a cube without one.
func TestWettedArea(t *testing.T) {
	j := van(t)
	near(t, "cylinder, m²", j.wettedArea(quantity.Litres(1.5)), math.Pi*0.11*0.0015/(math.Pi/4*0.0121)+2*math.Pi/4*0.0121, 1e-12)
	j.Rig.Container.Diameter = 0
	near(t, "cube of 1 L, m²", j.wettedArea(quantity.Litres(1)), 0.06, 1e-12)
	near(t, "nothing, m²", j.wettedArea(0), 0, 0)
}

func TestCrossingsAreInterpolated(t *testing.T) {
	c := newCrossings(10, 20, 30)
	for _, at := range []struct{ at, t float64 }{{0, 10}, {10, 15}, {20, 25}, {30, 18}, {40, 26}} {
		c.see(at.at, at.t)
	}
	got := []float64{c.first[0].Seconds(), c.first[1].Seconds(), c.peak}
	if diff := cmp.Diff([]float64{0, 15, 26}, got); diff != "" || c.first[2] != nil {
		t.Errorf("first %v, peak %v", c.first, c.peak)
	}
}

// A mark that is only touched is reached.
func TestAMarkThatIsTouchedIsReached(t *testing.T) {
	c := newCrossings(10, 20, 20.5)
	for _, at := range []struct{ at, t float64 }{{0, 10}, {10, 10}, {20, 20}, {30, 19}} {
		c.see(at.at, at.t)
	}
	if c.first[0] == nil || *c.first[0] != 0 || c.first[1] == nil || *c.first[1] != 20 || c.first[2] != nil {
		t.Errorf("first %v, want 0 s, 20 s and never", c.first)
	}
}

func TestSamplerTakesEveryRow(t *testing.T) {
	s := newSampler([]quantity.Duration{0, 5, 10, 12})
	for _, at := range []struct{ at, t float64 }{{0, 1}, {4, 5}, {8, 9}, {12, 17}} {
		s.see(at.at, at.t)
	}
	if diff := cmp.Diff([]quantity.Temperature{1, 6, 13, 17}, s.values); diff != "" {
		t.Errorf("-want +got:\n%s", diff)
	}
}

// TestLongRunHasATemperatureForEveryLevel: sums over a day of small steps must
// not lose the last row.
func TestLongRunHasATemperatureForEveryLevel(t *testing.T) {
	for _, set := range [][]string{
		{"run=[{speed: idle, for: 12 h}]"},
		{"run=[{speed: idle, for: 11.9 h}, {speed: 1500 rpm, for: 7.3 s}, {soak: 0.1 h}, {speed: idle, for: 11.99 h}]"},
		{"run=[{speed: idle, for: 12 h}]", "rig.charge=1 mL", "engine.return_flow=2000 L/h"},
		{"run=[{speed: idle, for: 33.333 min}, {soak_until: 25 °C}, {speed: idle, for: 33.333 min}]"},
	} {
		p := Compute(van(t, set...))
		last := p.Levels[len(p.Levels)-1]
		if len(p.Levels) != len(p.Heat.atRows) || math.Abs((last.At-p.Run).Seconds()) > 0.5 {
			t.Errorf("%v: %d levels, %d temperatures, the last at %v of %v", set, len(p.Levels), len(p.Heat.atRows), last.At, p.Run)
		}
	}
}
