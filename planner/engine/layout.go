package engine

import (
	"daytank/planner/quantity"
	"daytank/planner/strict"
)

// Text is something a person reads, with where it rests: a published source,
// one maker's figure, or common practice.
type Text struct {
	Say    string
	Source string
}

// Layout is a way in which a fuel system is built: the defaults that stand in
// for what nobody measured, and the words for where it is broken into, how it
// is made dead and how the engine is stopped.
type Layout struct {
	ID    string
	Title string
	Heavy bool // in-line, heavy unit injector, heavy common rail

	ReturnFlow quantity.Band[quantity.Flow]  // at idle
	ReturnHeat quantity.Band[quantity.Power] // at idle

	LineVolume           quantity.Volume
	FilterVolume         quantity.Volume
	LeastUnusable        quantity.Volume // below which no container is drawn down
	ReturnTemperatureMax quantity.Temperature
	HeatCap              quantity.Temperature
	InletDepressionLimit quantity.Pressure // that the pump may see at its inlet, unless its maker says otherwise
	ReturnHeadLimit      quantity.Pressure // against which the return may be pushed
	ReturnRestrictable   bool              // whether a tap or a filter may stand in the return
	Injectors            string            // solenoid | mechanical: what this layout has unless stated
	Primer               Primer
	Crank                Crank
	NeedsFeedPressure    bool // whether an in-tank pump feeds the high-pressure pump
	TankPump             bool // whether there is an electric pump in the tank
	Mechanical           bool // whether the key alone may not stop it
	Source               string
	Own                  bool // the user's, not shipped

	// Words, by their key: supply_break, return_break, stop_engine,
	// disable_pump, proof_of_pump, recognise. A layout without a procedure yet
	// has none.
	Words    map[string]Text
	Cautions []Text
}

// Ranges of what a fuel system has, the same in a layout and in a job.
const (
	mostInLoop    = quantity.Volume(0.050)      // 50 L
	mostReturn    = quantity.Flow(2.0 / 3600.0) // 2000 L/h
	mostHeat      = quantity.Power(20000)
	coolestReturn = quantity.Temperature(20)
	hottestReturn = quantity.Temperature(200)
)

// words are the texts a layout may have.
var words = []string{"recognise", "supply_break", "return_break", "disable_pump", "proof_of_pump", "stop_engine"}

// ReadLayout reads a layout file strictly; the error is [strict.Problems].
func ReadLayout(file string, data []byte) (Layout, error) {
	doc, err := strict.Parse(file, data)
	if err != nil {
		return Layout{}, err
	}
	m := doc.Root().Map()
	m.Required("layout").Integer(1, 1)
	l := Layout{
		ID:            m.Required("id").Text(),
		Title:         strict.English(m.Required("title")),
		Heavy:         m.Optional("heavy").Bool(),
		ReturnFlow:    readBand(m.Required("return_flow"), quantity.ParseFlow, mostReturn),
		ReturnHeat:    readBand(m.Required("return_heat"), quantity.ParsePower, mostHeat),
		LineVolume:    strict.Within(m.Required("line_volume"), quantity.ParseVolume, 0, mostInLoop),
		FilterVolume:  strict.Within(m.Required("filter_volume"), quantity.ParseVolume, 0, mostInLoop),
		LeastUnusable: strict.Within(m.Required("least_unusable"), quantity.ParseVolume, 0, mostInLoop),

		ReturnTemperatureMax: strict.Within(m.Required("return_temperature_max"), quantity.ParseTemperature, coolestReturn, hottestReturn),
		HeatCap:              strict.Within(m.Required("heat_cap"), quantity.ParseTemperature, coolestReturn, hottestReturn),
		InletDepressionLimit: strict.Within(m.Required("inlet_depression_limit"), quantity.ParsePressure, quantity.Kilopascals(1), quantity.Kilopascals(100)),
		ReturnHeadLimit:      strict.Within(m.Required("return_head_limit"), quantity.ParsePressure, quantity.Kilopascals(1), quantity.Kilopascals(200)),
		ReturnRestrictable:   m.Required("return_restrictable").Bool(),
		Injectors:            m.Required("injectors").OneOf("solenoid", "mechanical"),
		NeedsFeedPressure:    m.Optional("needs_feed_pressure").Bool(),
		TankPump:             m.Optional("tank_pump").Bool(),
		Mechanical:           m.Optional("mechanical").Bool(),
		Primer:               readPrimer(m.Required("primer").Map()),
		Crank:                readCrank(m.Required("crank").Map()),
		Source:               m.Required("source").Text(),
	}
	l.readWords(m)
	m.Close()
	return l, doc.Err()
}

func (l *Layout) readWords(m *strict.Mapping) {
	texts := m.Optional("words").Map()
	l.Words = map[string]Text{}
	for _, key := range words {
		if v := texts.Optional(key); v.Present() {
			l.Words[key] = readText(v)
		}
	}
	texts.Close()
	for _, v := range m.Optional("cautions").List() {
		l.Cautions = append(l.Cautions, readText(v))
	}
}

func readText(v strict.Value) Text {
	m := v.Map()
	t := Text{Say: m.Required("en").Text(), Source: m.Required("source").Text()}
	m.Close()
	return t
}

// readBand reads a band from 0 to most; an end that does not read is not
// compared with the others.
func readBand[T ~float64](v strict.Value, parse func(string) (T, error), most T) quantity.Band[T] {
	m := v.Map()
	low := strict.MaybeWithin(m.Required("low"), parse, 0, most)
	expected := strict.MaybeWithin(m.Required("expected"), parse, 0, most)
	high := strict.MaybeWithin(m.Required("high"), parse, 0, most)
	var b quantity.Band[T]
	if low != nil && expected != nil && high != nil {
		b = quantity.Band[T]{Low: *low, Expected: *expected, High: *high}
	}
	if b.Low > b.Expected || b.Expected > b.High {
		v.Problem("low, expected and high must rise")
	}
	m.Close()
	return b
}

// Words gives the keys of the texts a layout may have, in the order of the
// work.
func Words() []string { return append([]string(nil), words...) }

// HasTankPump tells whether a pump in the tank must be dead while a line is open.
func (l Layout) HasTankPump() bool { return l.TankPump || l.NeedsFeedPressure }
