package planner

import (
	"math"
	"os"
	"testing"

	"github.com/google/go-cmp/cmp"
	"go.yaml.in/yaml/v4"

	"daytank/planner/engine"
	"daytank/planner/quantity"
)

func jobText(t testing.TB, name string) []byte {
	t.Helper()
	text, err := os.ReadFile("../testdata/jobs/" + name)
	if err != nil {
		t.Fatal(err)
	}
	return text
}

func shippedLibrary(t testing.TB) *engine.Library {
	t.Helper()
	l, err := engine.Shipped()
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// today stands in for the day in the tests.
var today = Date{2026, 3, 14}

// van gives the harbour workshop's van with changes PATH=VALUE.
func van(t testing.TB, set ...string) Job {
	t.Helper()
	j, err := ReadJobWith("van.yaml", jobText(t, "van.yaml"), set, shippedLibrary(t), today)
	if err != nil {
		t.Fatalf("%v: %v", set, err)
	}
	return j
}

func near(t testing.TB, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s is %.9g, want %.9g ± %g", what, got, want, tolerance)
	}
}

// TestVan has the plan of the van as it was worked out by hand.
//
//	burn      idle 0.70 L/h ± 5 %: 0.665, 0.70, 0.735 L/h.
//	          At 1500 rpm fmep is 75 + 72 + 0.4·4.6² = 155.464 kPa, at 800 rpm
//	          75 + 38.4 + 0.4·2.4533² = 115.8075 kPa, so k = 1.342438·1500/800 =
//	          2.517064, and the burn k·0.70 = 1.7619 L/h, low k (0.665 − 0.14) =
//	          1.3215, high k (0.735 + 0.14) = 2.2024 L/h.
//	          10 + 15 min idle and 2 min at 1500 rpm: high 306.25 + 73.41 =
//	          379.66 mL, expected 291.67 + 58.73 = 350.40, low 277.08 + 44.05 = 321.13.
//	gross     2.2024 + 1.1·32·1500/800 = 68.2024 L/h = 18.945 mL/s
//	flush     2·150 = 300 mL
//	hoses     2·(50.265 mL/m · 1.5 m) = 150.80 mL
//	unusable  v = 0.3769 m/s in 8 mm, Fr 1.3456, cover 8 (1 + 3.0949) = 32.759 mm;
//	          95.033 cm² · (10 + 32.759) mm = 406.36 mL
//	reserve   406.36 + 30 s · 2.2024 L/h (18.35) + 10 s gross (189.45) = 614.16 mL
//	needed    379.66 + 300 + 150.80 + 614.16 = 1444.62 mL: 3 packs, 1800 mL
//	leftover  1800 − 350.40 − 300 = 1149.60 mL
//	start     1800 − 300 − 150.80 = 1349.20 mL in the container
//	return_off (1349.20 − 406.36)/18.945 = 49.77 s; at the end less 379.66 mL:
//	          29.73 s; at the stop level (614.16 − 406.36)/18.945 = 10.97 s
//	reached   735.04 mL above the stop level: 379.66 mL in 42 min, and 355.38 mL
//	          more at 0.735 L/h in 29.01 min: 71.0 min; expected 350.40, and
//	          384.64 mL at 0.70 L/h in 32.97 min: 75.0 min
func TestVan(t *testing.T) {
	p := Compute(van(t))
	if p.BurnSource != engine.BurnMeasured {
		t.Errorf("burn is %s", p.BurnSource)
	}
	near(t, "burn low, mL", p.Burn.Low.Millilitres(), 321.13, 0.005)
	near(t, "burn expected, mL", p.Burn.Expected.Millilitres(), 350.40, 0.005)
	near(t, "burn high, mL", p.Burn.High.Millilitres(), 379.66, 0.005)
	near(t, "gross, L/h", p.Gross.LitresPerHour(), 68.2024, 5e-5)

	f := p.Fluid
	near(t, "flush, mL", f.Flush.Millilitres(), 300, 1e-9)
	near(t, "flush, s", f.FlushTime.Seconds(), 33.75, 1e-9) // 300 mL at 32 L/h
	near(t, "hoses, mL", f.Hoses.Millilitres(), 150.80, 0.005)
	near(t, "unusable, mL", f.Unusable.Millilitres(), 406.36, 0.005)
	near(t, "reserve, mL", f.Reserve.Millilitres(), 614.16, 0.005)
	near(t, "needed, mL", f.Needed.Millilitres(), 1444.62, 0.005)
	near(t, "charge, mL", f.Charge.Millilitres(), 1800, 1e-9)
	near(t, "leftover, mL", f.Leftover.Millilitres(), 1149.60, 0.005)
	if f.Packs != 3 || f.Strength != 1 {
		t.Errorf("%d packs, strength %v", f.Packs, f.Strength)
	}
	if p.Cost == nil || *p.Cost != 42 {
		t.Errorf("cost %v", p.Cost)
	}

	d := p.RunDry
	near(t, "stop level, mL", d.StopLevel.Millilitres(), 614.16, 0.005)
	near(t, "stop level, mm", d.StopLevelHeight.Millimetres(), 64.626, 0.001) // 614.16 mL on 95.033 cm²
	near(t, "return off at the start, s", d.AtStart.Seconds(), 49.77, 0.005)
	near(t, "return off at the end, s", d.AtEnd.Seconds(), 29.73, 0.005)
	near(t, "return off at the stop level, s", d.AtStopLevel.Seconds(), 10.97, 0.005)
	near(t, "stop level earliest, min", d.Earliest.Minutes(), 71.01, 0.005)
	near(t, "stop level expected, min", d.Expected.Minutes(), 74.97, 0.005)
	near(t, "margin, min", d.Margin.Minutes(), 29.01, 0.005)

	h := p.Heat
	near(t, "flash that counts, °C", h.Flash.Celsius(), 67, 0)
	near(t, "warm, °C", h.Warm.Celsius(), 50.3, 1e-9)
	near(t, "hot, °C", h.Hot.Celsius(), 60, 0)
	near(t, "peak expected, °C", h.Peak.Expected.Celsius(), 32.6, 0.05)
	near(t, "peak high, °C", h.Peak.High.Celsius(), 57.7, 0.05)
	if h.WarmExpected != nil || h.HotExpected != nil || h.HotHigh != nil {
		t.Errorf("reached: warm %v, hot %v, %v", h.WarmExpected, h.HotExpected, h.HotHigh)
	}
	near(t, "warm in the high case, min", h.WarmHigh.Minutes(), 10.9, 0.05)

	near(t, "rating of the supply, °C", p.Supply.Required.Celsius(), 67.7, 0.05)
	near(t, "rating of the return, °C", p.Return.Required.Celsius(), 95, 1e-9) // 85 °C the engine's
	near(t, "velocity in the supply, m/s", p.Supply.Velocity, 0.3769, 5e-5)
	near(t, "velocity in the return, m/s", p.Return.Velocity, 0.3647, 5e-5) // 66 L/h
	near(t, "priming, mL", p.Priming.Volume.Millilitres(), 500, 1e-9)
	if p.Priming.KeyCycles != 2 || p.Priming.Limit != 4 || p.Priming.Strokes != 0 || p.Priming.Method != "electric" {
		t.Errorf("priming %+v", p.Priming)
	}
	near(t, "run, min", p.Run.Minutes(), 42, 1e-9)
}

func TestVanWithoutTheCoil(t *testing.T) {
	p := Compute(van(t, "rig.return_cooler=none"))
	near(t, "peak expected, °C", p.Heat.Peak.Expected.Celsius(), 73.2, 0.05)
	if p.Heat.HotExpected == nil || p.Heat.WarmExpected == nil || *p.Heat.WarmExpected >= *p.Heat.HotExpected {
		t.Errorf("warm %v, hot %v", p.Heat.WarmExpected, p.Heat.HotExpected)
	}
}

// TestVanAgainstFormulasWrittenAgain computes the same plan from plain numbers,
// SI units throughout.
func TestVanAgainstFormulasWrittenAgain(t *testing.T) {
	const (
		idle, fast, stroke = 800.0, 1500.0, 0.092
		litrePerHour       = 1e-3 / 3600
		bore, hose         = 0.008, 1.5
	)
	fmep := func(n float64) float64 { return 75 + 48*n/1000 + 0.4*math.Pow(2*stroke*n/60, 2) }
	k := fmep(fast) * fast / (fmep(idle) * idle)
	b := [3]float64{0.665 * litrePerHour, 0.70 * litrePerHour, 0.735 * litrePerHour}
	atFast := [3]float64{k * (b[0] - 0.2*b[1]), k * b[1], k * (b[2] + 0.2*b[1])}
	var burn [3]float64
	for i := range burn {
		burn[i] = b[i]*25*60 + atFast[i]*2*60
	}
	gross := atFast[2] + 1.1*32*litrePerHour*fast/idle

	flush := 2 * 150e-6
	hoses := 2 * math.Pi / 4 * bore * bore * hose
	v := gross / (math.Pi / 4 * bore * bore)
	cover := math.Max(0.020, bore*(1+2.3*v/math.Sqrt(9.80665*bore)))
	base := math.Pi / 4 * 0.110 * 0.110
	unusable := math.Max(150e-6, base*(0.010+cover))
	reserve := unusable + 30*atFast[2] + 10*gross
	needed := burn[2] + flush + hoses + reserve
	charge := math.Ceil(needed/600e-6) * 600e-6
	start := charge - flush - hoses

	reached := func(i int) float64 { return 42*60 + (start-reserve-burn[i])/b[i] }
	peak := [2]float64{}
	for i, ends := range []struct{ wall, heat float64 }{{10, 150}, {6, 400}} {
		peak[i] = vanPeak(charge-flush, ends.wall, ends.heat, b[1], atFast[1], fast/idle)
	}

	p := Compute(van(t))
	within := func(what string, got, want, part float64) {
		t.Helper()
		near(t, what, got, want, part*math.Abs(want))
	}
	for i, got := range []quantity.Volume{p.Burn.Low, p.Burn.Expected, p.Burn.High} {
		within("burn", float64(got), burn[i], 1e-9)
	}
	within("gross", float64(p.Gross), gross, 1e-9)
	within("hoses", float64(p.Fluid.Hoses), hoses, 1e-9)
	within("unusable", float64(p.Fluid.Unusable), unusable, 1e-9)
	within("reserve", float64(p.Fluid.Reserve), reserve, 1e-9)
	within("needed", float64(p.Fluid.Needed), needed, 1e-9)
	within("charge", float64(p.Fluid.Charge), charge, 1e-9)
	within("leftover", float64(p.Fluid.Leftover), charge-burn[1]-flush, 1e-9)
	within("return off at the start", p.RunDry.AtStart.Seconds(), (start-unusable)/gross, 1e-9)
	within("return off at the end", p.RunDry.AtEnd.Seconds(), (start-burn[2]-unusable)/gross, 1e-9)
	within("return off at the stop level", p.RunDry.AtStopLevel.Seconds(), (reserve-unusable)/gross, 1e-9)
	within("earliest", p.RunDry.Earliest.Seconds(), reached(2), 1e-9)
	within("expected", p.RunDry.Expected.Seconds(), reached(1), 1e-9)
	near(t, "peak expected, °C", p.Heat.Peak.Expected.Celsius(), peak[0], 1e-3)
	near(t, "peak high, °C", p.Heat.Peak.High.Celsius(), peak[1], 1e-3)
	near(t, "container, mL", 1e6*float64(van(t).ContainerNeeded(p)),
		1e6*charge*1.1*vanDensity(18)/vanDensity(peak[1]), 0.05)

	// Level at the start of the soak, as read: what is left, warmer.
	level := p.Levels[3]
	near(t, "time of the level, min", level.At.Minutes(), 12, 1e-9)
	left := start*vanDensity(18) - (b[1]*600+atFast[1]*120)*808
	within("level expected", float64(level.Volume.Expected), left/vanDensity(level.Temperature.Celsius()), 1e-9)
}

// vanDensity is Table 54B for 808 kg/m³ at 15 °C.
func vanDensity(t float64) float64 {
	const alpha = 594.5418 / (808.0 * 808.0)
	return 808 * math.Exp(-alpha*(t-15)*(1+0.8*alpha*(t-15)))
}

// vanPeak walks the van's run in steps of 5 ms by the simplest rule there is.
func vanPeak(volume, wall, heat, idleBurn, fastBurn, ratio float64) float64 {
	const (
		ambient, cap = 18.0, 90.0
		step         = 0.005
	)
	c := (0.388 + 0.00045*104) / math.Sqrt(808/999.016) * 4186.8
	idleReturn := 32e-3 / 3600
	base := math.Pi / 4 * 0.11 * 0.11
	ua := wall*(math.Pi*0.11*volume/base+2*base) + 2*8*math.Pi*(0.008+0.006)*1.5
	temperature, bucket, mass := ambient, ambient, vanDensity(ambient)*volume
	peak := temperature
	for _, stage := range []struct{ minutes, burn, speed float64 }{{10, idleBurn, 1}, {2, fastBurn, ratio}, {15, 0, 0}, {15, idleBurn, 1}} {
		for n := 0; n < int(stage.minutes*60/step+0.5); n++ {
			q, w := 0.0, 0.0
			if stage.speed > 0 {
				flow := 808 * c * idleReturn * stage.speed
				q = math.Min(heat*stage.speed, flow*(cap-temperature))
				w = (1 - math.Exp(-3*3/flow)) * flow * (temperature + q/flow - bucket)
			}
			temperature += step * (q - w - ua*(temperature-ambient)) / (mass * c)
			bucket += step * w / (10 * 4186)
			mass -= step * 808 * stage.burn
			peak = math.Max(peak, temperature)
		}
	}
	return peak
}

func TestComputeIsPure(t *testing.T) {
	j := van(t, "run.2={soak_until: 25 °C}")
	before := van(t, "run.2={soak_until: 25 °C}")
	first, second := Compute(j), Compute(j)
	if diff := cmp.Diff(first, second, cmp.AllowUnexported(Heat{})); diff != "" {
		t.Errorf("the second plan differs:\n%s", diff)
	}
	if !j.Same(before) {
		t.Error("the job was changed")
	}
}

func BenchmarkCompute(b *testing.B) {
	j := van(b)
	b.ReportAllocs()
	for b.Loop() {
		Compute(j)
	}
}

// BenchmarkPlan is from the text of a job file to its plan.
func BenchmarkPlan(b *testing.B) {
	text, library := jobText(b, "van.yaml"), shippedLibrary(b)
	for b.Loop() {
		j, err := ReadJobWith("van.yaml", text, nil, library, today)
		if err != nil {
			b.Fatal(err)
		}
		if len(Compute(j).Stages) == 0 {
			b.Fatal("a plan without stages")
		}
	}
}

// BenchmarkYAMLAlone is what BenchmarkPlan is held against: the same text made a tree
// by the library for YAML, and nothing done with it.
func BenchmarkYAMLAlone(b *testing.B) {
	text := jobText(b, "van.yaml")
	for b.Loop() {
		var tree yaml.Node
		if err := yaml.Unmarshal(text, &tree); err != nil {
			b.Fatal(err)
		}
	}
}
