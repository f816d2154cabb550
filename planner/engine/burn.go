package engine

import (
	"math"

	"daytank/planner/quantity"
)

// Where the idle burn comes from.
const (
	BurnMeasured  = "measured"
	BurnInjection = "injection"
	BurnEstimated = "estimated"
)

// Planning figures of the burn. The efficiencies lump accessories and poor idle
// combustion (own judgement around a published 2.0 L idle rate, US DOE Fact of
// the Week #861).
const (
	heatOfCombustion    = 35.8e9 // J/m³, US conventional diesel (national-laboratory fuel table)
	efficiencyLowBurn   = 0.40
	efficiencyExpected  = 0.25
	efficiencyHighBurn  = 0.20
	measuredPart        = 0.05
	injectionPart       = 0.10
	halfStepOfSignal    = 0.025 // L/h: half the 0.05 L/h step of the fuel-rate signal, SAE J1979 / J1939-71
	wideningAtSpeed     = 0.2   // of the expected idle burn, at other speeds than idle
	measuredReturnPart  = 0.10
	measuredHeatPart    = 0.20
	injectionsFourPerMn = 30 // k in q·z·rpm·k/1e6 L/h, four-stroke
	injectionsTwoPerMn  = 60
)

// FrictionPressure gives the friction mean effective pressure at a speed:
// fmep = C1 + 48 n/1000 + 0.4 Sp² kPa with the mean piston speed Sp in m/s, C1
// 75 (direct) or 110 (indirect injection). Heywood, Internal Combustion Engine
// Fundamentals (1988), eq. 13.6, after Millington and Hartles, SAE 680590.
func (e Engine) FrictionPressure(speed quantity.Speed) quantity.Pressure {
	c1 := 75.0
	if e.Combustion == "indirect" {
		c1 = 110
	}
	n := speed.RPM()
	piston := 2 * e.pistonStroke().Metres() * n / 60
	return quantity.Kilopascals(c1 + 48*n/1000 + 0.4*piston*piston)
}

// pistonStroke is the stroke as given, or that of a square cylinder.
func (e Engine) pistonStroke() quantity.Length {
	if e.Stroke > 0 {
		return e.Stroke
	}
	one := float64(e.Displacement) / float64(max(e.Cylinders, 1))
	return quantity.Metres(math.Cbrt(4 * one / math.Pi))
}

// FrictionPower gives the power that friction takes at a speed: fmep · Vd · n
// over the revolutions of a cycle.
func (e Engine) FrictionPower(speed quantity.Speed) quantity.Power {
	revolutions := 2.0
	if e.Cycle == 2 {
		revolutions = 1
	}
	return quantity.Watts(e.FrictionPressure(speed).Pascals() * float64(e.Displacement) * speed.RPM() / 60 / revolutions)
}

// BurnSource tells where the idle burn comes from.
func (e Engine) BurnSource() string {
	switch {
	case e.IdleBurn != nil:
		return BurnMeasured
	case e.IdleInjection != nil:
		return BurnInjection
	}
	return BurnEstimated
}

// IdleBurnBand gives the fuel burned at idle: measured ±5 % or half a step of
// the signal; from the injected quantity ±10 %; else estimated from friction.
func (e Engine) IdleBurnBand() quantity.Band[quantity.Flow] {
	switch e.BurnSource() {
	case BurnMeasured:
		b := *e.IdleBurn
		off := max(b*measuredPart, quantity.LitresPerHour(halfStepOfSignal))
		return quantity.Band[quantity.Flow]{Low: max(0, b-off), Expected: b, High: b + off}
	case BurnInjection:
		k := float64(injectionsFourPerMn)
		if e.Cycle == 2 {
			k = injectionsTwoPerMn
		}
		q := e.IdleInjection.CubicMillimetres()
		return quantity.Around(quantity.LitresPerHour(q*float64(e.Cylinders)*e.IdleSpeed.RPM()*k/1e6), injectionPart)
	}
	p := e.FrictionPower(e.IdleSpeed).Watts()
	burn := func(efficiency float64) quantity.Flow { return quantity.Flow(p / (efficiency * heatOfCombustion)) }
	return quantity.Band[quantity.Flow]{Low: burn(efficiencyLowBurn), Expected: burn(efficiencyExpected), High: burn(efficiencyHighBurn)}
}

// BurnAt gives the fuel burned at a speed without load. At idle it is the idle
// burn; elsewhere it follows the friction power, and the band widens by a fifth
// of the idle burn.
func (e Engine) BurnAt(speed quantity.Speed) quantity.Band[quantity.Flow] {
	idle := e.IdleBurnBand()
	if speed == e.IdleSpeed {
		return idle
	}
	k := quantity.Flow(float64(e.FrictionPower(speed)) / float64(e.FrictionPower(e.IdleSpeed)))
	widening := wideningAtSpeed * idle.Expected
	return quantity.Band[quantity.Flow]{
		Low: max(0, k*(idle.Low-widening)), Expected: k * idle.Expected, High: k * (idle.High + widening),
	}
}

// overIdle is the speed as a multiple of the idle speed.
func (e Engine) overIdle(speed quantity.Speed) float64 { return float64(speed / e.IdleSpeed) }

// ReturnFlowAt gives the return flow at a speed: measured at idle ±10 %, or
// the layout's; it grows with the speed.
func (e Engine) ReturnFlowAt(speed quantity.Speed) quantity.Band[quantity.Flow] {
	idle := e.Layout.ReturnFlow
	if e.ReturnFlow != nil {
		idle = quantity.Around(*e.ReturnFlow, measuredReturnPart)
	}
	return idle.Times(e.overIdle(speed))
}

// ReturnHeatAt gives the heat that the return carries into the container at a
// speed, before any cap: measured ±20 %, from the measured rise (heatCapacity
// is ρ15·c of the fluid in J/(m³·K)) ±20 %, or the layout's; it grows with the
// speed.
func (e Engine) ReturnHeatAt(speed quantity.Speed, heatCapacity float64) quantity.Band[quantity.Power] {
	idle := e.Layout.ReturnHeat
	switch {
	case e.ReturnHeat != nil:
		idle = quantity.Around(*e.ReturnHeat, measuredHeatPart)
	case e.ReturnRise != nil:
		w := heatCapacity * float64(e.ReturnFlowAt(e.IdleSpeed).Expected) * e.ReturnRise.Kelvins()
		idle = quantity.Around(quantity.Watts(w), measuredHeatPart)
	}
	return idle.Times(e.overIdle(speed))
}

// HeatCap gives the temperature above which the return warms the container no
// further: the higher of the engine's return temperature and the layout's cap.
func (e Engine) HeatCap() quantity.Temperature {
	return max(e.ReturnTemperatureMax, e.Layout.HeatCap)
}
