package planner

import (
	"fmt"
	"math"
	"testing"

	"daytank/planner/quantity"
)

// rigged is a job in plain numbers, SI but for °C, from which the plan is computed
// a second time below: formulas written again, and the heat by the simplest rule
// there is.
type rigged struct {
	layout                          string
	cylinders                       float64
	litres, idle                    float64 // displacement in L, rpm
	returnLow, returnIs, returnHigh float64 // L/h at idle, of the layout's table
	heat, heatHigh                  float64 // W at idle
	line, filter, least             float64 // mL
	cap                             float64 // °C
	limit                           float64 // Pa at the pump's inlet
	ambient                         float64
	geometry, waste, inLoop         bool
}

// layoutsInNumbers is the table of layouts, written again: flow and heat of the
// return, line and filter, the least unusable rest, cap and inlet limit.
var layoutsInNumbers = []rigged{
	{layout: "rail-pumped", cylinders: 4, litres: 2.1, idle: 800, returnLow: 3, returnIs: 30, returnHigh: 60, heat: 150, heatHigh: 400, line: 150, filter: 300, least: 150, cap: 90, limit: 17000},
	{layout: "rail-recirculating", cylinders: 4, litres: 1.6, idle: 850, returnLow: 3, returnIs: 30, returnHigh: 60, heat: 150, heatHigh: 400, line: 150, filter: 300, least: 150, cap: 90, limit: 17000},
	{layout: "rail-suction", cylinders: 4, litres: 3.0, idle: 750, returnLow: 3, returnIs: 30, returnHigh: 60, heat: 150, heatHigh: 400, line: 150, filter: 300, least: 150, cap: 90, limit: 17000},
	{layout: "rotary", cylinders: 4, litres: 3.7, idle: 700, returnLow: 8, returnIs: 15, returnHigh: 40, heat: 100, heatHigh: 200, line: 150, filter: 300, least: 150, cap: 90, limit: 13300},
	{layout: "inline", cylinders: 6, litres: 5.1, idle: 650, returnLow: 20, returnIs: 34, returnHigh: 60, heat: 300, heatHigh: 600, line: 600, filter: 1500, least: 500, cap: 90, limit: 17000},
	{layout: "unit-injector", cylinders: 4, litres: 1.9, idle: 800, returnLow: 30, returnIs: 60, returnHigh: 120, heat: 500, heatHigh: 1000, line: 150, filter: 300, least: 150, cap: 100, limit: 17000},
	{layout: "unit-injector-heavy", cylinders: 6, litres: 12, idle: 600, returnLow: 60, returnIs: 150, returnHigh: 300, heat: 1000, heatHigh: 3000, line: 600, filter: 1500, least: 500, cap: 100, limit: 17000},
	{layout: "rail-heavy", cylinders: 6, litres: 12.8, idle: 600, returnLow: 60, returnIs: 150, returnHigh: 300, heat: 1000, heatHigh: 3000, line: 600, filter: 1500, least: 500, cap: 100, limit: 17000},
}

// The rig of all of them.
const (
	supplyBore, supplyLength = 0.010, 2.0
	returnBore, returnLength = 0.008, 1.8
	baseDiameter, pickup     = 0.24, 0.015
	watch, lift, returnLift  = 20.0, 0.3, 0.5
	pack                     = 1000.0 // mL
	fast                     = 1400.0 // rpm
	rhoAt15, nu40, nu100     = 842.0, 2.9, 1.15
	flash                    = 71.0
	litrePerHour             = 1e-3 / 3600
)

// stagesInNumbers: 6 min idle, 3 min at 1400 rpm, 10 min soak, 8 min idle.
var stagesInNumbers = []struct{ minutes, rpm float64 }{{6, -1}, {3, fast}, {10, 0}, {8, -1}}

func (r rigged) job(t *testing.T) Job {
	t.Helper()
	container := fmt.Sprintf("{capacity: 200 L, diameter: %g mm, pickup_height: %g mm, pickup_bore: %g mm}", baseDiameter*1000, pickup*1000, supplyBore*1000)
	if !r.geometry {
		container = "{capacity: 200 L, unusable: 900 mL}"
	}
	to := "container"
	if r.waste {
		to = "waste"
	}
	text := fmt.Sprintf(`job: 1
engine: {layout: %s, cylinders: %g, displacement: %g L, idle_speed: %g rpm}
fluid: {flash_point: %g °C, density: %g kg/m3, viscosity_40: %g mm2/s, viscosity_100: %g mm2/s, pack: %g mL}
rig:
  container: %s
  supply_hose: {bore: %g mm, length: %g m}
  return_hose: {bore: %g mm, length: %g m}
  lift: %g m
  return_lift: %g m
  watch_time: %g s
  return_to: %s
  filter_in_loop: %v
  inline_filter_drop: 1.5 kPa
run: [{speed: idle, for: 6 min}, {speed: %g rpm, for: 3 min}, {soak: 10 min}, {speed: idle, for: 8 min}]
site: {ambient: %g °C, place: outdoors}
`, r.layout, r.cylinders, r.litres, r.idle, flash, rhoAt15, nu40, nu100, pack, container, supplyBore*1000, supplyLength, returnBore*1000, returnLength,
		lift, returnLift, watch, to, r.inLoop, fast, r.ambient)
	j, err := ReadJob("independent.yaml", []byte(text), shippedLibrary(t), today)
	if err != nil {
		t.Fatal(err)
	}
	return j
}

// ends are low, expected and high.
type ends [3]float64

// burn is what the engine burns in m³/s, from friction: direct injection, square
// cylinder, four strokes.
func (r rigged) burn(rpm float64) ends {
	stroke := math.Cbrt(4 * r.litres * 1e-3 / r.cylinders / math.Pi)
	power := func(n float64) float64 {
		sp := 2 * stroke * n / 60
		return (75 + 48*n/1000 + 0.4*sp*sp) * r.litres * n / 120 // kPa·L·rpm: W
	}
	at := func(n, eta float64) float64 { return power(n) / (eta * 35.8e9) }
	idle := ends{at(r.idle, 0.40), at(r.idle, 0.25), at(r.idle, 0.20)}
	if rpm == r.idle {
		return idle
	}
	k := power(rpm) / power(r.idle)
	return ends{k * (idle[0] - 0.2*idle[1]), k * idle[1], k * (idle[2] + 0.2*idle[1])}
}

func (r rigged) returned(rpm float64) ends {
	k := rpm / r.idle * litrePerHour
	return ends{r.returnLow * k, r.returnIs * k, r.returnHigh * k}
}

func densityAt(t float64) float64 {
	a := 186.9696/(rhoAt15*rhoAt15) + 0.4862/rhoAt15
	return rhoAt15 * math.Exp(-a*(t-15)*(1+0.8*a*(t-15)))
}

// independent is the plan computed a second time.
type independent struct {
	burn                                    ends // mL
	flush, hoses, unusable, reserve, needed float64
	charge, leftover, strength              float64
	earliest, expected                      float64 // s; NaN: below from the start
	slipStart, slipEnd                      float64
	peak, peakHigh                          float64
	suction, suctionExpected, returnHead    float64 // Pa
	waste                                   float64
}

func (r rigged) speed(rpm float64) float64 {
	if rpm < 0 {
		return r.idle
	}
	return rpm
}

func (r rigged) compute() independent {
	var x independent
	taken := func(rpm float64, e int) float64 {
		if rpm == 0 {
			return 0
		}
		v := r.burn(r.speed(rpm))[e]
		if r.waste {
			v += r.returned(r.speed(rpm))[e]
		}
		return v
	}
	drawn, wasted := ends{}, 0.0
	for _, s := range stagesInNumbers {
		for e := range drawn {
			drawn[e] += taken(s.rpm, e) * s.minutes * 60
			if s.rpm != 0 {
				x.burn[e] += r.burn(r.speed(s.rpm))[e] * s.minutes * 60 * 1e6
			}
		}
		if r.waste && s.rpm != 0 {
			wasted += r.returned(r.speed(s.rpm))[1] * s.minutes * 60 * 1e6
		}
	}
	gross := r.burn(fast)[2] + r.returned(fast)[2]
	old := r.line
	if r.inLoop {
		old += r.filter
	}
	x.flush = 2 * old
	x.hoses = math.Pi / 4 * (supplyBore*supplyBore*supplyLength + returnBore*returnBore*returnLength) * 1e6
	base := math.Pi / 4 * baseDiameter * baseDiameter
	x.unusable = math.Max(r.least, 900)
	if r.geometry {
		v := gross / (math.Pi / 4 * supplyBore * supplyBore)
		cover := math.Max(0.020, supplyBore*(1+2.3*v/math.Sqrt(9.80665*supplyBore)))
		x.unusable = math.Max(r.least, base*(pickup+cover)*1e6)
	}
	watched := r.burn(fast)[2]
	if r.waste {
		watched = gross
	}
	x.reserve = x.unusable + (watch*watched+10*gross)*1e6
	x.needed = drawn[2]*1e6 + x.flush + x.hoses + x.reserve
	x.charge = math.Ceil(x.needed/pack) * pack
	x.leftover = x.charge - x.burn[1] - x.flush - wasted
	x.strength = 1
	if r.inLoop {
		x.strength = 1 - r.filter*math.Exp(-(x.flush-r.line)/r.filter)/x.charge
	}
	start := x.charge - x.flush - x.hoses
	reach := func(e int) float64 {
		last := taken(-1, e)
		return 27*60 + ((start-x.reserve)*1e-6-drawn[e])/last
	}
	x.earliest, x.expected = reach(2), reach(1)
	x.slipStart = (start - x.unusable) * 1e-6 / gross
	x.slipEnd = math.Max(0, ((start-x.unusable)*1e-6-drawn[2])/gross)
	x.peak, x.peakHigh = r.peak(x, 10, r.heat), r.peak(x, 6, r.heatHigh)
	x.waste = x.leftover + x.flush + r.filter + wasted

	cold := math.Min(15, r.ambient)
	friction := func(flow, bore, length float64) float64 {
		v := flow / (math.Pi / 4 * bore * bore)
		re := v * bore / (d341(cold, nu40, nu100) * 1e-6)
		f := 64 / re
		if re >= 2300 {
			turbulent := 0.03
			for range 200 { // fixed point
				turbulent = math.Pow(-2*math.Log10(1.5e-6/bore/3.7+2.51/(re*math.Sqrt(turbulent))), -2)
			}
			if re >= 4000 || turbulent > f {
				f = turbulent
			}
		}
		return (f*length/bore + 1.5) * densityAt(cold) * v * v / 2
	}
	fall := 0.0
	if r.geometry {
		fall = (start - x.reserve) * 1e-6 / base
	}
	rest := densityAt(cold)*9.80665*(lift+fall) + 1500
	if r.inLoop {
		rest += 5000
	}
	x.suction = friction(gross, supplyBore, supplyLength) + rest
	x.suctionExpected = friction(r.burn(fast)[1]+r.returned(fast)[1], supplyBore, supplyLength) + rest
	x.returnHead = friction(r.returned(fast)[2], returnBore, returnLength) + densityAt(cold)*9.80665*returnLift
	return x
}

// peak walks the run in steps of 20 ms by the rule of Euler.
func (r rigged) peak(x independent, wall, heat float64) float64 {
	const step = 0.02
	c := (0.388 + 0.00045*104) / math.Sqrt(rhoAt15/999.016) * 4186.8
	volume := (x.charge - x.flush) * 1e-6
	area := 6 * math.Pow(volume, 2.0/3)
	if r.geometry {
		base := math.Pi / 4 * baseDiameter * baseDiameter
		area = math.Pi*baseDiameter*volume/base + 2*base
	}
	ua := wall*area + 8*math.Pi*((supplyBore+0.006)*supplyLength+(returnBore+0.006)*returnLength)
	t, mass := r.ambient, densityAt(r.ambient)*volume
	peak := t
	for _, s := range stagesInNumbers {
		q, loss, most := 0.0, 0.0, 0.0
		if s.rpm != 0 {
			n := r.speed(s.rpm)
			loss = rhoAt15 * r.burn(n)[1]
			if r.waste {
				loss += rhoAt15 * r.returned(n)[1]
			} else {
				q, most = heat*n/r.idle, rhoAt15*c*r.returned(n)[1]
			}
		}
		for range int(s.minutes*60/step + 0.5) {
			t += step * (math.Min(q, most*(r.cap-t)) - ua*(t-r.ambient)) / (mass * c)
			mass -= step * loss
			peak = math.Max(peak, t)
		}
	}
	return peak
}

// TestEveryLayoutAgainstAnIndependentComputation: cold and hot, the return led
// back and to waste, with and without geometry, to 0.1 %.
func TestEveryLayoutAgainstAnIndependentComputation(t *testing.T) {
	for _, r := range layoutsInNumbers {
		for n := range 16 {
			r.ambient = []float64{-15, 38}[n&1]
			r.waste, r.geometry, r.inLoop = n&2 != 0, n&4 != 0, n&8 != 0
			name := fmt.Sprintf("%s at %g °C, waste %v, geometry %v, filter in the loop %v", r.layout, r.ambient, r.waste, r.geometry, r.inLoop)
			t.Run(name, func(t *testing.T) {
				t.Parallel()
				p, x := Compute(r.job(t)), r.compute()
				same := func(what string, got, want float64) {
					t.Helper()
					near(t, what, got, want, 1e-3*math.Abs(want)+1e-6)
				}
				ml := quantity.Volume.Millilitres
				for e, got := range []quantity.Volume{p.Burn.Low, p.Burn.Expected, p.Burn.High} {
					same("burn, mL", ml(got), x.burn[e])
				}
				same("flush, mL", ml(p.Fluid.Flush), x.flush)
				same("hoses, mL", ml(p.Fluid.Hoses), x.hoses)
				same("unusable, mL", ml(p.Fluid.Unusable), x.unusable)
				same("reserve, mL", ml(p.Fluid.Reserve), x.reserve)
				same("needed, mL", ml(p.Fluid.Needed), x.needed)
				same("charge, mL", ml(p.Fluid.Charge), x.charge)
				same("leftover, mL", ml(p.Fluid.Leftover), x.leftover)
				same("strength", p.Fluid.Strength, x.strength)
				same("earliest, s", p.RunDry.Earliest.Seconds(), x.earliest)
				same("expected, s", p.RunDry.Expected.Seconds(), x.expected)
				same("slips at the start, s", p.RunDry.AtStart.Seconds(), x.slipStart)
				same("slips at the end, s", p.RunDry.AtEnd.Seconds(), x.slipEnd)
				near(t, "peak, °C", p.Heat.Peak.Expected.Celsius(), x.peak, 0.02)
				near(t, "peak at worst, °C", p.Heat.Peak.High.Celsius(), x.peakHigh, 0.02)
				same("suction, Pa", float64(p.Suction.Total), x.suction)
				same("suction expected, Pa", float64(p.Suction.Expected), x.suctionExpected)
				same("limit, Pa", float64(p.Suction.Limit), r.limit)
				same("return head, Pa", float64(p.ReturnHead), x.returnHead)
				same("waste, mL", ml(p.Waste.Liquid), x.waste)
			})
		}
	}
}
