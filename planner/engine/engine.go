// Package engine knows the fuel systems of engines: the layouts (data/layouts)
// with their defaults and where each rests, engine profiles (data/engines and
// the user's own), and what an engine burns, returns and heats at idle and
// above.
//
// A layout file is YAML with `layout: 1`; its words are described at [Layout].
// An engine profile is YAML with `profile: 1`, `id`, `title`, `source` and an
// `engine:` section as in a job file. Both are read strictly.
package engine

import (
	"cmp"

	"daytank/planner/quantity"
	"daytank/planner/strict"
)

// Engine is the engine section of a job file. Pointers are nil where nothing
// was given; the layout's figures then stand in (see [Engine.ReturnFlowAt] and
// its neighbours).
type Engine struct {
	FromProfile  string // the profile that the section was filled in from, or empty
	Layout       Layout
	Cylinders    int
	Displacement quantity.Volume
	Stroke       quantity.Length // of the piston; square cylinder where not given
	Cycle        int             // strokes: 4 or 2
	Combustion   string          // direct | indirect
	Injectors    string          // solenoid | piezo | mechanical
	IdleSpeed    quantity.Speed

	IdleBurn      *quantity.Flow      // measured
	IdleInjection *quantity.PerStroke // as the control unit shows it
	ReturnFlow    *quantity.Flow      // measured at idle
	ReturnHeat    *quantity.Power     // measured at idle
	ReturnRise    *quantity.TemperatureDifference

	ReturnTemperatureMax quantity.Temperature
	OwnFeedPump          *bool
	FeedPressureNeeded   *quantity.Pressure
	InletDepressionLimit *quantity.Pressure
	FilterVolume         quantity.Volume
	LineVolume           quantity.Volume
	Primer               Primer
	Crank                Crank

	Aftertreatment  string // none | particulate-filter; empty when not answered
	StopDevice      string // key | proved | unproved; empty when not answered
	ExtraReturns    string // none | accounted | open; empty when not answered
	CorrectionLimit quantity.PerStroke
}

// Primer is what fills line and filter before a start.
type Primer struct {
	Kind         string          // hand | electric
	StrokeVolume quantity.Volume // hand
	Flow         quantity.Flow   // electric
	RunPerKeyOn  quantity.Duration
}

// Crank is how long the starter may turn, rest, and how often.
type Crank struct {
	For, Rest quantity.Duration
	Attempts  int
}

// CommonCorrectionLimit is the correction beyond which an injector is suspect
// unless its maker gives a figure (common practice, no source).
const CommonCorrectionLimit = quantity.PerStroke(5e-9)

// longestCrank is the longest a starter is turned without a rest (US Army TM
// 5-3810-303-24; two engine makers' manuals agree).
const longestCrank = quantity.Duration(30)

// fromProfile is the key that keeps the name of a profile once it is filled in.
const fromProfile = "from_profile"

// Read reads the engine section of a job file, in which a profile has been
// merged already. Problems are noted in the document; names of figures taken
// from the layout are returned.
func Read(m *strict.Mapping, library *Library) (e Engine, assumed []string) {
	m.Optional("profile")
	e.FromProfile = m.Optional(fromProfile).Text()
	id := m.Required("layout")
	layout, known := library.Layout(id.Text())
	if !known && id.IsText() && id.Text() != "" {
		id.Problem("layout %q is not one of %s", id.Text(), library.layoutNames())
	}
	e.Layout = layout
	e.readEngine(m)
	e.readFuelSide(m, known)
	for _, key := range []string{"return_flow", "line_volume", "filter_volume", "primer"} {
		if known && !m.Optional(key).Present() {
			assumed = append(assumed, "engine."+key)
		}
	}
	if known && e.ReturnHeat == nil && e.ReturnRise == nil {
		assumed = append(assumed, "engine.return_heat")
	}
	m.Close()
	return e, assumed
}

func (e *Engine) readEngine(m *strict.Mapping) {
	e.Cylinders = m.Required("cylinders").Integer(1, 24)
	e.Displacement = strict.Within(m.Required("displacement"), quantity.ParseVolume, quantity.Litres(0.1), quantity.Litres(200))
	if v := m.Optional("stroke"); v.Present() {
		e.Stroke = strict.Within(v, quantity.ParseLength, quantity.Millimetres(20), quantity.Metres(1))
	}
	e.Cycle = 4
	if v := m.Optional("cycle"); v.Present() && v.OneOf("2", "4") == "2" {
		e.Cycle = 2
	}
	e.Combustion = cmp.Or(m.Optional("combustion").OneOf("direct", "indirect"), "direct")
	e.Injectors = cmp.Or(m.Optional("injectors").OneOf("solenoid", "piezo", "mechanical"), e.Layout.Injectors)
	e.IdleSpeed = strict.Within(m.Required("idle_speed"), quantity.ParseSpeed, quantity.RPM(200), quantity.RPM(2000))
	burn, injection := m.Optional("idle_burn"), m.Optional("idle_injection")
	e.IdleBurn = strict.MaybeWithin(burn, quantity.ParseFlow, quantity.LitresPerHour(0.02), quantity.LitresPerHour(100))
	e.IdleInjection = strict.MaybeWithin(injection, quantity.ParsePerStroke, quantity.CubicMillimetres(0.5), quantity.CubicMillimetres(500))
	if burn.Present() && injection.Present() {
		injection.Problem("idle_burn is given as well: give one of the two")
	}
	e.StopDevice = m.Optional("stop_device").OneOf("key", "proved", "unproved")
	e.Aftertreatment = m.Optional("aftertreatment").OneOf("none", "particulate-filter")
	e.ExtraReturns = m.Optional("extra_returns").OneOf("none", "accounted", "open")
	e.CorrectionLimit = CommonCorrectionLimit
	if v := m.Optional("correction_limit"); v.Present() {
		e.CorrectionLimit = strict.Within(v, quantity.ParsePerStroke, quantity.CubicMillimetres(0.1), quantity.CubicMillimetres(50))
	}
}

func (e *Engine) readFuelSide(m *strict.Mapping, known bool) {
	e.ReturnFlow = strict.MaybeWithin(m.Optional("return_flow"), quantity.ParseFlow, 0, mostReturn)
	heat, rise := m.Optional("return_heat"), m.Optional("return_rise")
	e.ReturnHeat = strict.MaybeWithin(heat, quantity.ParsePower, 0, mostHeat)
	e.ReturnRise = strict.MaybeWithin(rise, quantity.ParseTemperatureDifference, 0, quantity.Kelvins(100))
	if heat.Present() && rise.Present() {
		rise.Problem("return_heat is given as well: give one of the two")
	}
	e.ReturnTemperatureMax = e.Layout.ReturnTemperatureMax
	if v := m.Optional("return_temperature_max"); v.Present() {
		e.ReturnTemperatureMax = strict.Within(v, quantity.ParseTemperature, coolestReturn, hottestReturn)
	}
	if v := m.Optional("own_feed_pump"); v.Present() {
		own := v.Bool()
		e.OwnFeedPump = &own
	}
	e.FeedPressureNeeded = strict.MaybeWithin(m.Optional("feed_pressure_needed"), quantity.ParsePressure, 0, quantity.Kilopascals(2000))
	e.InletDepressionLimit = strict.MaybeWithin(m.Optional("inlet_depression_limit"), quantity.ParsePressure, quantity.Kilopascals(0.5), quantity.Kilopascals(90))
	e.FilterVolume, e.LineVolume = e.Layout.FilterVolume, e.Layout.LineVolume
	if v := m.Optional("filter_volume"); v.Present() {
		e.FilterVolume = strict.Within(v, quantity.ParseVolume, 0, mostInLoop)
	}
	if v := m.Optional("line_volume"); v.Present() {
		e.LineVolume = strict.Within(v, quantity.ParseVolume, 0, mostInLoop)
	}
	e.Primer, e.Crank = e.Layout.Primer, e.Layout.Crank
	if v := m.Optional("primer"); v.Present() {
		e.Primer = readPrimer(v.Map())
	}
	if v := m.Optional("crank"); v.Present() {
		e.Crank = readCrank(v.Map())
	}
}

func readPrimer(m *strict.Mapping) Primer {
	p := Primer{Kind: m.Required("kind").OneOf("hand", "electric")}
	switch p.Kind {
	case "hand":
		p.StrokeVolume = strict.Within(m.Required("stroke_volume"), quantity.ParseVolume, quantity.Millilitres(0.5), quantity.Litres(1))
	case "electric":
		p.Flow = strict.Within(m.Required("flow"), quantity.ParseFlow, quantity.LitresPerHour(1), quantity.LitresPerHour(2000))
		p.RunPerKeyOn = strict.Within(m.Required("run_per_key_on"), quantity.ParseDuration, quantity.Seconds(0.5), quantity.Minutes(10))
	default:
		// Without a kind nobody knows which keys belong here.
		return p
	}
	m.Close()
	return p
}

func readCrank(m *strict.Mapping) Crank {
	c := Crank{
		For:      strict.Within(m.Required("for"), quantity.ParseDuration, quantity.Seconds(1), longestCrank),
		Rest:     strict.Within(m.Required("rest"), quantity.ParseDuration, quantity.Seconds(5), quantity.Hours(1)),
		Attempts: m.Required("attempts").Integer(1, 7),
	}
	m.Close()
	return c
}
