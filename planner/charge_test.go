package planner

import (
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"

	"daytank/planner/quantity"
)

// TestStrength: the line goes out as a plug, the filter thins out as a stirred
// vessel; the charge is 1800 mL, the line 150 mL, the filter 350 mL.
func TestStrength(t *testing.T) {
	tests := []struct {
		name string
		set  []string
		want float64
	}{
		{"the line twice", nil, 1},
		{"just the line", []string{"rig.first_flush=150 mL"}, 1},
		{"half the line", []string{"rig.first_flush=75 mL"}, 1 - 75.0/1800},
		{"no flush", []string{"rig.first_flush=none"}, 1 - 150.0/1800},
		{"no flush, filter in the loop", []string{"rig.first_flush=none", "rig.filter_in_loop=true"}, 1 - 500.0/1800},
		{"half the line, filter in the loop", []string{"rig.first_flush=75 mL", "rig.filter_in_loop=true"}, 1 - 425.0/1800},
		{"the line, filter in the loop", []string{"rig.first_flush=150 mL", "rig.filter_in_loop=true"}, 1 - 350.0/1800},
		{"the filter once more", []string{"rig.first_flush=500 mL", "rig.filter_in_loop=true"}, 1 - 350*math.Exp(-1)/1800},
		{"twice both", []string{"rig.filter_in_loop=true"}, 1 - 350*math.Exp(-850.0/350)/1800},
		{"less charge than old fuel", []string{"rig.first_flush=none", "rig.filter_in_loop=true", "rig.charge=400 mL"}, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			// The charge is fixed so that only the flush tells; a later one stands.
			p := Compute(van(t, append([]string{"rig.charge=1800 mL"}, tt.set...)...))
			near(t, "strength", p.Fluid.Strength, tt.want, 1e-12)
		})
	}
}

// TestNothingPouredInHasNoStrength, however much was flushed.
func TestNothingPouredInHasNoStrength(t *testing.T) {
	for _, flush := range []float64{0, 150, 300} { // mL; the line holds 150
		near(t, "strength", van(t).strength(quantity.Millilitres(flush), 0), 0, 0)
	}
}

func TestUnusable(t *testing.T) {
	tests := []struct {
		name      string
		set       []string
		want, tol float64 // mL
	}{
		{"base and cover", nil, 406.356, 0.001},
		{"as given", []string{"rig.container={capacity: 3 L, unusable: 300 mL}"}, 300, 1e-9},
		{"as given, below the least", []string{"rig.container={capacity: 3 L, unusable: 100 mL}"}, 150, 1e-9},
		{"nothing known", []string{"rig.container={capacity: 3 L}"}, 150, 1e-9},
		{"a narrow container, below the least", []string{"rig.container.diameter=20 mm"}, 150, 1e-9},
		{"heavy, nothing known", []string{"rig.container={capacity: 3 L}", "engine.layout=inline"}, 500, 1e-9},
		{"given beats the diameter", []string{"rig.container.unusable=200 mL"}, 200, 1e-9},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			near(t, "unusable, mL", Compute(van(t, tt.set...)).Fluid.Unusable.Millilitres(), tt.want, tt.tol)
		})
	}
}

func TestPacksAndCharge(t *testing.T) {
	tests := []struct {
		name   string
		set    []string
		charge float64 // mL
		packs  int
	}{
		{"whole packs", nil, 1800, 3},
		{"smaller packs", []string{"fluid.pack=250 mL"}, 1500, 6},
		{"one large pack", []string{"fluid.pack=5 L"}, 5000, 1},
		{"as given, part of a pack", []string{"rig.charge=1.9 L"}, 1900, 4},
		{"as given, whole packs", []string{"rig.charge=1.8 L"}, 1800, 3},
		{"as given, too little", []string{"rig.charge=500 mL"}, 500, 1},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			j := van(t, tt.set...)
			p := Compute(j)
			near(t, "charge, mL", p.Fluid.Charge.Millilitres(), tt.charge, 1e-9)
			if p.Fluid.Packs != tt.packs {
				t.Errorf("%d packs, want %d", p.Fluid.Packs, tt.packs)
			}
			near(t, "cost", *p.Cost, 14*float64(tt.packs), 1e-9)
			if least := j.ChargeForPacks(p); least < p.Fluid.Needed || least >= p.Fluid.Needed+j.Fluid.Pack {
				t.Errorf("packs for %v hold %v", p.Fluid.Needed, least)
			}
		})
	}
	if n := wholePacks(quantity.Litres(1), 0); n != 0 {
		t.Errorf("of a pack that holds nothing, %d are taken", n)
	}
	if p := Compute(van(t, "fluid.price=")); p.Cost != nil {
		t.Errorf("without a price it costs %v", *p.Cost)
	}
}

// TestReturnToWaste has the van with its return led away: high return 35.2 L/h
// at idle and 66 L/h at 1500 rpm, expected 32 and 60 L/h.
func TestReturnToWaste(t *testing.T) {
	p := Compute(van(t, "rig.return_to=waste"))
	const wastedHigh = 35.2*25/60 + 66*2/60.0 // L
	const wasted = 32*25/60.0 + 60*2/60.0
	gross := p.Gross.LitresPerHour() / 3600 // L/s
	reserve := p.Fluid.Unusable.Litres() + 30*gross + 10*gross
	near(t, "reserve, L", p.Fluid.Reserve.Litres(), reserve, 1e-9)
	near(t, "needed, L", p.Fluid.Needed.Litres(), p.Burn.High.Litres()+wastedHigh+0.3+p.Fluid.Hoses.Litres()+reserve, 1e-9)
	near(t, "leftover, L", p.Fluid.Leftover.Litres(), p.Fluid.Charge.Litres()-p.Burn.Expected.Litres()-0.3-wasted, 1e-9)
	if p.RunDry.AtStopLevel != nil {
		t.Errorf("return off at the stop level is %v", *p.RunDry.AtStopLevel)
	}
	end := p.Fluid.atStart().Litres() - p.Burn.High.Litres() - wastedHigh
	near(t, "return off at the end, s", p.RunDry.AtEnd.Seconds(), (end-p.Fluid.Unusable.Litres())/gross, 1e-6)
}

func TestStopLevel(t *testing.T) {
	t.Run("begun below it", func(t *testing.T) {
		d := Compute(van(t, "rig.charge=1000 mL")).RunDry
		if d.Earliest != nil || d.Expected != nil || d.Margin != nil {
			t.Errorf("reached at %v, %v, margin %v", d.Earliest, d.Expected, d.Margin)
		}
		near(t, "return off at the end, s", d.AtEnd.Seconds(), 0, 0)
	})
	t.Run("within the run, in its second stage", func(t *testing.T) {
		// 1250 mL: 185.04 mL above the stop level; 122.5 mL go in 10 min, the rest at 2.2024 L/h.
		d := Compute(van(t, "rig.charge=1250 mL")).RunDry
		near(t, "earliest, min", d.Earliest.Minutes(), 10+62.543/(2202.431/60), 0.002)
		near(t, "margin, min", d.Margin.Minutes(), d.Earliest.Minutes()-42, 1e-9)
		if *d.Margin >= 0 {
			t.Errorf("margin %v", *d.Margin)
		}
	})
	t.Run("never, where nothing runs", func(t *testing.T) {
		d := Compute(van(t, "run=[{soak: 15 min}]")).RunDry
		if d.Earliest != nil || d.Expected != nil || d.Margin != nil {
			t.Errorf("reached at %v, %v, margin %v", d.Earliest, d.Expected, d.Margin)
		}
	})
	t.Run("soaks after the only running stage", func(t *testing.T) {
		// 1349.20 − 614.16 mL at 0.735 L/h, and the quarter of an hour in between; the gross
		// flow is that of idle.
		p := Compute(van(t, "run=[{speed: idle, for: 10 min}, {soak: 15 min}]", "rig.charge=1800 mL"))
		above := p.Fluid.atStart() - p.Fluid.Reserve
		near(t, "earliest, min", p.RunDry.Earliest.Minutes(), above.Millilitres()/735*60+15, 1e-9)
	})
	t.Run("no height without a diameter", func(t *testing.T) {
		if d := Compute(van(t, "rig.container={capacity: 3 L}")).RunDry; d.StopLevelHeight != nil {
			t.Errorf("height %v", *d.StopLevelHeight)
		}
	})
	t.Run("a last soak goes on at the last running stage", func(t *testing.T) {
		with := Compute(van(t, "run.4={soak: 10 min}")).RunDry
		without := Compute(van(t)).RunDry
		near(t, "10 min later", with.Earliest.Minutes(), without.Earliest.Minutes()+10, 1e-9)
	})
}

// TestReachesAtTheLimits: a first hour draws 2 L, a soak follows, and a last hour draws
// 4 L. What is drawn by the very end of a stage is reached there, not after the soak.
func TestReachesAtTheLimits(t *testing.T) {
	stage := func(litresPerHour float64) PlannedStage {
		q := quantity.LitresPerHour(litresPerHour)
		return PlannedStage{Soak: q == 0, For: 3600, Rate: quantity.Band[quantity.Flow]{Low: q, Expected: q, High: q}}
	}
	runs, soaks, faster, still := stage(2), stage(0), stage(4), stage(0)
	still.Soak = false // an engine that burns nothing
	for _, tt := range []struct {
		name   string
		stages []PlannedStage
		litres float64
		want   float64 // h; below nothing: never
	}{
		{"begun at it", []PlannedStage{runs, soaks, faster}, 0, 0},
		{"begun at it with a soak, which draws nothing", []PlannedStage{soaks, runs}, 0, 1},
		{"begun below it", []PlannedStage{runs, soaks, faster}, -0.001, -1},
		{"at the end of a stage", []PlannedStage{runs, soaks, faster}, 2, 1},
		{"within the last stage", []PlannedStage{runs, soaks, faster}, 3, 2.25},
		{"after the end", []PlannedStage{runs, soaks, faster}, 8, 3.5},
		{"only the first runs", []PlannedStage{runs, soaks}, 3, 2.5},
		{"nothing runs", []PlannedStage{soaks}, 1, -1},
		{"nothing is burned", []PlannedStage{still}, 1, -1},
		{"no stages", nil, 1, -1},
	} {
		got := run{stages: tt.stages}.reaches(quantity.Litres(tt.litres), high)
		switch {
		case tt.want < 0 && got != nil:
			t.Errorf("%s: reached at %v", tt.name, *got)
		case tt.want >= 0 && got == nil:
			t.Errorf("%s: never reached", tt.name)
		case tt.want >= 0:
			near(t, tt.name+", h", got.Hours(), tt.want, 1e-9)
		}
	}
}

// TestSlipsEmptyIsFinite: nothing above the unusable rest is gone at once, and where
// nothing flows there is no time that could be told.
func TestSlipsEmptyIsFinite(t *testing.T) {
	flow := quantity.LitresPerHour(60)
	near(t, "a litre at 60 L/h, min", slipsEmpty(quantity.Litres(1), flow).Minutes(), 1, 1e-9)
	near(t, "nothing above, s", slipsEmpty(0, flow).Seconds(), 0, 0)
	near(t, "below, s", slipsEmpty(quantity.Litres(-1), flow).Seconds(), 0, 0)
	near(t, "no flow, s", slipsEmpty(quantity.Litres(1), 0).Seconds(), 0, 0)
}

func TestLevelRows(t *testing.T) {
	p := Compute(van(t))
	var at []float64
	for _, l := range p.Levels {
		at = append(at, math.Round(l.At.Minutes()*1000)/1000)
	}
	if diff := cmp.Diff([]float64{0, 5, 10, 12, 15, 20, 25, 27, 30, 35, 40, 42}, at); diff != "" {
		t.Errorf("minutes of the rows (-want +got):\n%s", diff)
	}
	first, last := p.Levels[0], p.Levels[len(p.Levels)-1]
	near(t, "at the start, mL", first.Volume.Expected.Millilitres(), 1349.20, 0.005)
	near(t, "at the start, °C", first.Temperature.Celsius(), 18, 0)
	if first.Volume.Low != first.Volume.High {
		t.Errorf("at the start the level is uncertain: %v", first.Volume)
	}
	if !(last.Volume.Low < last.Volume.Expected && last.Volume.Expected < last.Volume.High) {
		t.Errorf("at the end the level is %v", last.Volume)
	}
}

// TestRowsOfTheLevels: half a second apart are two rows, and less is one, as where
// a stage change differs from five minutes in the last digits only.
func TestRowsOfTheLevels(t *testing.T) {
	for _, tt := range []struct{ lengths, want []quantity.Duration }{
		{[]quantity.Duration{299}, []quantity.Duration{0, 299}},
		{[]quantity.Duration{300}, []quantity.Duration{0, 300}},
		{[]quantity.Duration{600}, []quantity.Duration{0, 300, 600}},
		{[]quantity.Duration{300.5}, []quantity.Duration{0, 300, 300.5}},
		{[]quantity.Duration{300.25, 60}, []quantity.Duration{0, 300, 360.25}},
		{[]quantity.Duration{240, 60, 60}, []quantity.Duration{0, 240, 300, 360}},
	} {
		var r run
		for _, d := range tt.lengths {
			r.stages = append(r.stages, PlannedStage{For: d})
		}
		if diff := cmp.Diff(tt.want, r.rows()); diff != "" {
			t.Errorf("stages of %v (-want +got):\n%s", tt.lengths, diff)
		}
	}
}

// TestWarmFluidStandsHigher: 2 L warmed by 40 K read some 70 mL more.
func TestWarmFluidStandsHigher(t *testing.T) {
	j := van(t, "fluid.density=830 kg/m3")
	r := run{stages: []PlannedStage{{Soak: true, For: 60}}}
	levels := j.planLevels(r, FluidPlan{Charge: quantity.Litres(2)}, Heat{atRows: []quantity.Temperature{18, 58}})
	near(t, "rise, mL", (levels[1].Volume.Expected - levels[0].Volume.Expected).Millilitres(), 70, 3)
}

func TestContainerNeeded(t *testing.T) {
	j := van(t, "run=[{soak: 1 h}]", "rig.charge=2 L")
	near(t, "cold, a tenth of room, L", j.ContainerNeeded(Compute(j)).Litres(), 2.2, 1e-9)
}

func TestPriming(t *testing.T) {
	p := Compute(van(t, "engine.primer={kind: hand, stroke_volume: 6 mL}")).Priming
	want := Priming{Volume: quantity.Millilitres(500), Method: "hand", Strokes: 105, Limit: 210} // 500/4.8 mL
	want.Crank.For, want.Crank.Rest, want.Crank.Attempts = 10, 60, 3
	if diff := cmp.Diff(want, p); diff != "" {
		t.Errorf("-want +got:\n%s", diff)
	}
}

func TestHoseOfTheReturnFollowsTheHotter(t *testing.T) {
	p := Compute(van(t, "engine.return_temperature_max=50 °C")) // peak high 57.7 °C
	near(t, "return, °C", p.Return.Required.Celsius(), p.Heat.Peak.High.Celsius()+10, 1e-9)
}
