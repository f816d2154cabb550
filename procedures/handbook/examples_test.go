package handbook

import (
	"math"
	"testing"

	"daytank/planner"
	"daytank/planner/fluid"
	"daytank/planner/hydraulics"
	"daytank/planner/idletest"
	"daytank/planner/quantity"
)

// examples compute, with the code that plans and compares, what comes out of
// the amounts that an example is given.
var examples = map[string]func(t *testing.T, in []any) []any{
	"idle-burn":        idleBurn,
	"fluid-needed":     fluidNeeded,
	"first-flush":      firstFlush,
	"hose":             hose,
	"suction-pressure": suctionPressure,
	"return-pressure":  returnPressure,
	"container-heat":   containerHeat,
	"warm-and-hot":     warmAndHot,
	"stop-level":       stopLevel,
	"return-slip":      returnSlip,
	"priming":          priming,
	"tank-dose":        tankDose,
	"waste-can":        wasteCan,
	"level-reading":    levelReading,
	"viscosity":        viscosity,
	"test-scatter":     testScatter,
	"test-change":      testChange,
	"test-same":        testSame,
	"test-spread":      testSpread,
	"test-trend":       testTrend,
}

// stage gives a run of one stage at idle.
func stage(d any) string { return "run=[{speed: idle, for: " + (quantity.Printer{}).Any(d) + "}]" }

// hoses gives two hoses alike.
func hoses(bore, length any) []string {
	return []string{
		to("rig.supply_hose.bore", bore), to("rig.supply_hose.length", length),
		to("rig.return_hose.bore", bore), to("rig.return_hose.length", length),
	}
}

// plain gives the numbers of an example.
func plain(t *testing.T, in []any) []float64 {
	t.Helper()
	all := make([]float64, len(in))
	for i, x := range in {
		n, ok := x.(float64)
		if !ok {
			t.Fatalf("%v is a %T, not a plain number", x, x)
		}
		all[i] = n
	}
	return all
}

func idleBurn(t *testing.T, in []any) []any {
	known := job(t, "engine.idle_burn=", to("engine.idle_speed", in[0]), to("engine.idle_injection", in[1])).Engine.IdleBurnBand()
	guessed := job(t, "engine.idle_burn=", to("engine.idle_speed", in[0]), to("engine.displacement", in[2]), to("engine.stroke", in[3])).Engine.IdleBurnBand()
	return []any{known.Expected, known.Low, known.High, guessed.Expected, guessed.Low, guessed.High}
}

func fluidNeeded(t *testing.T, in []any) []any {
	set := append(hoses(in[4], in[5]), to("engine.idle_burn", in[0]), stage(in[1]), to("engine.return_flow", in[2]), to("rig.first_flush", in[3]),
		to("rig.container.unusable", in[6]), to("rig.watch_time", in[7]), to("fluid.pack", in[8]))
	f := plan(t, set...).Fluid
	return []any{f.Reserve, f.Needed, float64(f.Packs), f.Charge}
}

func firstFlush(t *testing.T, in []any) []any {
	f := plan(t, "rig.filter_in_loop=true", to("engine.line_volume", in[0]), to("engine.filter_volume", in[1]), to("rig.first_flush", in[2]),
		to("engine.return_flow", in[3]), to("rig.charge", in[4])).Fluid
	return []any{f.FlushTime, 100 * f.Strength}
}

func hose(t *testing.T, in []any) []any {
	set := []string{to("rig.supply_hose.bore", in[0]), to("rig.supply_hose.length", in[1]), to("engine.return_temperature_max", in[2])}
	j := job(t, set...)
	p := planner.Compute(j)
	if p.Heat.Peak.High >= in[2].(quantity.Temperature) {
		t.Errorf("the fluid does not stay cooler: %.0f °C", p.Heat.Peak.High.Celsius())
	}
	return []any{hydraulics.Contents(j.Rig.SupplyHose.Bore, j.Rig.SupplyHose.Length), p.Return.Required}
}

// pipe gives Reynolds number, friction and head of a flow up a hose, ends only.
func pipe(in []any) (float64, quantity.Pressure, quantity.Pressure) {
	flow, density, nu := in[0].(quantity.Flow), in[1].(quantity.Density), in[2].(quantity.Viscosity)
	p := hydraulics.Pipe{Length: in[3].(quantity.Length), Bore: in[4].(quantity.Length), Losses: hydraulics.EntranceLoss + hydraulics.ExitLoss}
	return hydraulics.Reynolds(flow, p.Bore, nu), p.Friction(flow, density, nu), hydraulics.Head(density, in[5].(quantity.Length))
}

func suctionPressure(_ *testing.T, in []any) []any {
	reynolds, friction, lift := pipe(in)
	return []any{reynolds, friction, lift}
}

func returnPressure(_ *testing.T, in []any) []any {
	_, friction, lift := pipe(in)
	return []any{friction + lift}
}

func containerHeat(t *testing.T, in []any) []any {
	set := []string{
		to("rig.charge", in[0]), "rig.first_flush=none", to("rig.container.diameter", in[1]), to("site.ambient", in[2]), to("engine.return_heat", in[3]), stage(in[4]),
	}
	bare := plan(t, append(set, "rig.return_cooler=none")...)
	show := quantity.Printer{}
	coil := "rig.return_cooler={material: metal, length: " + show.Any(in[5]) + ", water: " + show.Any(in[6]) + "}"
	return []any{bare.Heat.Peak.Expected, plan(t, append(set, coil)...).Heat.Peak.Expected}
}

func warmAndHot(t *testing.T, in []any) []any {
	flushed := plan(t, to("fluid.flash_point", in[0])).Heat
	not := plan(t, to("fluid.flash_point", in[0]), to("fuel_flash_point", in[1]), "rig.first_flush=none").Heat
	return []any{flushed.Warm, flushed.Hot, not.Warm, not.Hot}
}

// draining gives the plan of the two examples of a container that empties.
func draining(t *testing.T, in []any, more ...string) planner.Plan {
	t.Helper()
	set := append(hoses(in[2], in[3]), to("rig.charge", in[0]), to("rig.first_flush", in[1]), to("engine.idle_burn", in[4]), stage(in[5]), to("engine.return_flow", in[6]))
	return plan(t, append(set, more...)...)
}

func stopLevel(t *testing.T, in []any) []any {
	d := draining(t, in, to("rig.container.diameter", in[7]), to("rig.container.unusable", in[8]), to("rig.watch_time", in[9])).RunDry
	return []any{*d.StopLevelHeight, *d.Earliest, *d.Margin}
}

func returnSlip(t *testing.T, in []any) []any {
	d := draining(t, in, to("rig.container.unusable", in[7])).RunDry
	return []any{d.AtStart, d.AtEnd}
}

func priming(t *testing.T, in []any) []any {
	filled := []string{to("engine.line_volume", in[0]), to("engine.filter_volume", in[1])}
	show := quantity.Printer{}
	hand := plan(t, append(filled, "engine.primer={kind: hand, stroke_volume: "+show.Any(in[2])+"}")...).Priming
	electric := plan(t, append(filled, "engine.primer={kind: electric, flow: "+show.Any(in[3])+", run_per_key_on: "+show.Any(in[4])+"}")...).Priming
	return []any{float64(hand.Strokes), float64(electric.KeyCycles)}
}

func tankDose(_ *testing.T, in []any) []any {
	d := planner.DoseFor(planner.Tank{Fuel: in[0].(quantity.Volume)}, in[1].(quantity.Dose), in[2].(quantity.Dose), in[3].(quantity.Volume))
	return []any{d.Min, d.Max, float64(d.Measures), d.Amount}
}

func wasteCan(t *testing.T, in []any) []any {
	p := plan(t, to("rig.charge", in[0]), to("rig.first_flush", in[1]), to("engine.idle_burn", in[2]), stage(in[3]), to("engine.filter_volume", in[4]))
	return []any{p.Fluid.Leftover, p.Waste.Liquid, p.Waste.Container}
}

func levelReading(_ *testing.T, in []any) []any {
	f := fluid.Fluid{Density15: in[1].(quantity.Density)}
	cold, warm := f.Density(in[2].(quantity.Temperature)), f.Density(in[3].(quantity.Temperature))
	return []any{in[0].(quantity.Volume) * quantity.Volume(cold/warm)}
}

func viscosity(t *testing.T, in []any) []any {
	f := job(t, to("fluid.viscosity_40", in[0]), to("fluid.viscosity_100", in[1])).Fluid
	return []any{f.Viscosity(quantity.Celsius(15)), quantity.Celsius(15), f.Viscosity(quantity.Celsius(60)), quantity.Celsius(60)}
}

func testScatter(t *testing.T, in []any) []any {
	x := plain(t, in)
	nEff := idletest.EffectiveN(int(x[0]), x[1])
	return []any{nEff, math.Sqrt(idletest.VarianceOfMean(x[2], nEff, x[3]))}
}

func testChange(t *testing.T, in []any) []any {
	x := plain(t, in)
	before, after := x[1]*x[1], x[4]*x[4]
	df := idletest.Satterthwaite([]float64{before, after}, []float64{x[2] - 1, x[5] - 1})
	score := (x[3] - x[0]) / math.Sqrt(before+after)
	p := idletest.TwoSided(score, df)
	holm := idletest.Holm(append([]float64{p}, x[6:]...))
	return []any{score, df, p, holm[0], holm[1], holm[2], holm[3]}
}

func testSame(t *testing.T, in []any) []any {
	x := plain(t, in)
	return []any{idletest.Equivalence(x[0], x[1], x[2], x[3])}
}

func testSpread(t *testing.T, in []any) []any {
	x := plain(t, in)
	before, after := idletest.RMS(x[:4]), idletest.RMS(x[4:])
	return []any{before, after, before - after}
}

func testTrend(t *testing.T, in []any) []any {
	x := plain(t, in)
	var points []idletest.Point
	for i := range 5 {
		points = append(points, idletest.Point{X: x[5+i], RMS: x[i]})
	}
	trend := idletest.TrendOf(points, x[10])
	if trend.Reaches == nil {
		t.Fatal("it does not say when the limit is reached")
	}
	return []any{*trend.Slope, *trend.P, *trend.Reaches}
}
