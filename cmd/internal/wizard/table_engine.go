package wizard

import (
	"daytank/planner/engine"
	"daytank/planner/quantity"
)

// enginePath names the question for profile or layout.
const enginePath = "engine.layout"

// engineOptions are the kept engines first, then the layouts. A kept engine
// brings its figures with it, in the place of what was answered before.
func engineOptions(library *engine.Library) []Option {
	var made []Option
	for _, p := range library.Profiles() {
		o := Option{Word: p.ID, Say: p.Title + " (kept engine)"}
		o.Sets = append(o.Sets, Edit{Path: enginePath, Away: true}, Edit{Path: "engine.from_profile", Away: true})
		for _, key := range p.Keys {
			o.Sets = append(o.Sets, Edit{Path: "engine." + key, Away: true})
		}
		o.Sets = append(o.Sets, Edit{Path: "engine.profile", Text: p.ID})
		made = append(made, o)
	}
	for _, l := range library.Layouts() {
		made = append(made, Option{Word: l.ID, Say: l.Title, Sets: []Edit{
			{Path: "engine.profile", Away: true}, {Path: "engine.from_profile", Away: true}, {Path: enginePath, Text: l.ID},
		}})
	}
	return made
}

// Cycle and combustion are said in words, and written as the job file has them.
var strokeOptions = []Option{
	{Word: "four-stroke", Sets: []Edit{{Path: "engine.cycle", Text: "4", Fragment: true}}},
	{Word: "two-stroke", Sets: []Edit{{Path: "engine.cycle", Text: "2", Fragment: true}}},
}

// mayBeMeasured is said of every figure that is better measured.
const jugAndWatch = "A jug and a watch beat every default: catch the return for a minute at idle."

// engineQuestions is a table, as long as there are questions.
func engineQuestions() []Question {
	return []Question{
		{
			Path: enginePath, Also: []string{"engine.profile"}, Page: "engine", Name: "fuel system", Kind: Choice, Short: true,
			Options: engineOptions,
			Ask:     "Which engine is it: one that is kept here, or one of your own with which fuel system?",
			Help:    "The fuel system decides where it is opened, how it is made dead and what stands in for figures nobody measured.",
		},
		{
			Path: "engine.cylinders", Page: "engine", Name: "cylinders", Kind: Amount, Short: true, Usual: number(2, 8),
			Ask:  "How many cylinders has it?",
			Help: "A number: 4.",
		},
		{
			Path: "engine.displacement", Page: "engine", Name: "displacement", Kind: Amount, Short: true,
			Usual: between(quantity.ParseVolume, quantity.Litres(0.8), quantity.Litres(16)),
			Ask:   "How large is the engine?",
			Help:  "All cylinders together, from its papers: 2.1 L.",
		},
		{
			Path: "engine.idle_speed", Page: "engine", Name: "idle speed", Kind: Amount, Short: true,
			Usual: between(quantity.ParseSpeed, quantity.RPM(500), quantity.RPM(1100)),
			Ask:   "How fast does it idle?",
			Help:  "Warm, as the rev counter shows it: 800 rpm.",
		},
		{
			Path: "engine.own_feed_pump", Page: "engine", Name: "draws for itself", Kind: Choice, Short: true, NotKnown: true,
			When:    func(v View) bool { return v.Layout().NeedsFeedPressure },
			Default: planned("the plan has a stop, unless there is a feed pump on the rig"),
			Options: yesNo("engine.own_feed_pump", "it has a gear or vane pump of its own", "it wants the pressure of the tank pump"),
			Ask:     "Does the high-pressure pump draw fuel for itself?",
			Help:    "The tank pump will be dead; a pump that is not fed runs dry within seconds.",
		},
		{
			Path: "engine.idle_burn", Page: "engine", Name: "burn at idle", Kind: Amount, NotKnown: true,
			Usual:   between(quantity.ParseFlow, quantity.LitresPerHour(0.3), quantity.LitresPerHour(4)),
			Default: planned("estimated from the size of the engine"),
			Ask:     "What does it burn at idle, measured?",
			Help:    "From the trip computer or a diagnostic device, warm and without loads: 0.70 L/h.",
		},
		{
			Path: "engine.idle_injection", Page: "engine", Name: "injected at idle", Kind: Amount, NotKnown: true, When: absent("engine.idle_burn"),
			Usual:   between(quantity.ParsePerStroke, quantity.CubicMillimetres(3), quantity.CubicMillimetres(60)),
			Default: planned("estimated from the size of the engine"),
			Ask:     "Or what does the control unit show as injected at idle?",
			Help:    "For each stroke of one cylinder: 7.3 mm3/stroke.",
		},
		{
			Path: "engine.return_flow", Page: "engine", Name: "return at idle", Kind: Amount, NotKnown: true,
			Usual:   between(quantity.ParseFlow, quantity.LitresPerHour(2), quantity.LitresPerHour(300)),
			Default: func(v View) quantity.Phrase { return ofBand(v.Layout().ReturnFlow) },
			Ask:     "How much comes back in the return at idle, measured?",
			Help:    jugAndWatch + " 32 L/h, or 530 mL/min.",
		},
		{
			Path: "engine.return_heat", Page: "engine", Name: "heat in the return", Kind: Amount, NotKnown: true, When: absent("engine.return_rise"),
			Usual:   between(quantity.ParsePower, 50, 4000),
			Default: func(v View) quantity.Phrase { return ofBand(v.Layout().ReturnHeat) },
			Ask:     "How much heat does the return bring, if it was measured?",
			Help:    "150 W. Few know it; how much warmer the return is (next question) says the same.",
		},
		{
			Path: "engine.return_rise", Page: "engine", Name: "rise in the return", Kind: Amount, NotKnown: true, When: absent("engine.return_heat"),
			Usual:   between(quantity.ParseTemperatureDifference, quantity.Kelvins(1), quantity.Kelvins(50)),
			Default: func(v View) quantity.Phrase { return ofBand(v.Layout().ReturnHeat) },
			Ask:     "How much warmer is the return than the supply at idle, measured?",
			Help:    "8 K: a thermometer in the supply and one in the return.",
		},
		{
			Path: "engine.return_temperature_max", Page: "engine", Name: "hottest return", Kind: Amount, NotKnown: true,
			Usual:   between(quantity.ParseTemperature, quantity.Celsius(60), quantity.Celsius(120)),
			Default: func(v View) quantity.Phrase { return quantity.Say("%v", v.Layout().ReturnTemperatureMax) },
			Ask:     "How hot can the return get at most?",
			Help:    "The maker's figure, for the rating of the hose: 85 °C.",
		},
		{
			Path: "engine.stroke", Page: "engine", Name: "piston stroke", Kind: Amount, NotKnown: true,
			Usual:   between(quantity.ParseLength, quantity.Millimetres(60), quantity.Millimetres(170)),
			Default: planned("as long as the bore is wide"),
			Ask:     "How long is the piston stroke?",
			Help:    "For the estimate of what it burns: 92 mm.",
		},
		{
			Path: "engine.cycle", Page: "engine", Name: "cycle", Kind: Choice, NotKnown: true, Default: planned("four-stroke"),
			Options: func(*engine.Library) []Option { return strokeOptions },
			Ask:     "Is it a four-stroke or a two-stroke?",
			Help:    "Nearly all are four-strokes.",
		},
		{
			Path: "engine.combustion", Page: "engine", Name: "combustion", Kind: Choice, NotKnown: true, Default: planned("direct injection"),
			Options: words("direct: injected into the cylinder", "indirect: into a chamber before it, mostly older engines"),
			Ask:     "Is the fuel injected directly?",
			Help:    "An indirect engine burns more at idle.",
		},
		{
			Path: "engine.injectors", Page: "engine", Name: "injectors", Kind: Choice, NotKnown: true,
			Default: func(v View) quantity.Phrase { return quantity.Say("%v", v.Layout().Injectors) },
			Options: words("solenoid: a coil opens them", "piezo: a crystal opens them", "mechanical: the pressure of the pump opens them"),
			Ask:     "What kind of injectors are they?",
			Help:    "Piezo injectors want the pressure-holding valve in their return left in place.",
		},
		{
			Path: "engine.feed_pressure_needed", Page: "engine", Name: "feed pressure needed", Kind: Amount, NotKnown: true,
			Usual:   between(quantity.ParsePressure, quantity.Kilopascals(20), quantity.Kilopascals(700)),
			Default: planned("none is known"),
			Ask:     "What feed pressure does the vehicle maker ask for?",
			Help:    "Where it is known: 400 kPa, 4 bar or 58 psi.",
		},
		{
			Path: "engine.inlet_depression_limit", Page: "engine", Name: "inlet depression", Kind: Amount, NotKnown: true,
			Usual:   between(quantity.ParsePressure, quantity.Kilopascals(5), quantity.Kilopascals(40)),
			Default: planned("what is common"),
			Ask:     "How much suction may the pump see at its inlet?",
			Help:    "The maker's figure, where it is known: 17 kPa.",
		},
		{
			Path: "engine.filter_volume", Page: "engine", Name: "in the filter", Kind: Amount, NotKnown: true,
			Usual:   between(quantity.ParseVolume, quantity.Millilitres(100), quantity.Litres(3)),
			Default: func(v View) quantity.Phrase { return quantity.Say("%v", v.Layout().FilterVolume) },
			Ask:     "How much does the fuel filter hold?",
			Help:    "350 mL: what is poured out of a full one.",
		},
		{
			Path: "engine.line_volume", Page: "engine", Name: "in the lines", Kind: Amount, NotKnown: true,
			Usual:   between(quantity.ParseVolume, quantity.Millilitres(50), quantity.Litres(2)),
			Default: func(v View) quantity.Phrase { return quantity.Say("%v", v.Layout().LineVolume) },
			Ask:     "How much do lines and pump hold between the opened place and the return?",
			Help:    "150 mL; it is flushed out first.",
		},
		{
			Path: "engine.primer.kind", Page: "engine", Name: "primer", Kind: Choice, NotKnown: true,
			Default: func(v View) quantity.Phrase { return quantity.Say("%v", v.Layout().Primer.Kind) },
			Options: words("hand: a bulb, plunger or lever", "electric: a pump that runs at key-on"),
			Ask:     "How is the fuel system primed?",
			Help:    "After the hoses are put back, line and filter have to be filled.",
		},
		{
			Path: "engine.primer.stroke_volume", Page: "engine", Name: "primer stroke", Kind: Amount, When: is("engine.primer.kind", "hand"),
			Usual: between(quantity.ParseVolume, quantity.Millilitres(2), quantity.Millilitres(60)),
			Ask:   "How much does one stroke of the hand primer move?",
			Help:  "6 mL: ten strokes into a jug, divided by ten.",
		},
		{
			Path: "engine.primer.flow", Page: "engine", Name: "primer flow", Kind: Amount, When: is("engine.primer.kind", "electric"),
			Usual: between(quantity.ParseFlow, quantity.LitresPerHour(30), quantity.LitresPerHour(300)),
			Ask:   "How much does the electric pump move?",
			Help:  "90 L/h.",
		},
		{
			Path: "engine.primer.run_per_key_on", Page: "engine", Name: "run at key-on", Kind: Amount, When: is("engine.primer.kind", "electric"),
			Usual: between(quantity.ParseDuration, quantity.Seconds(1), quantity.Minutes(2)),
			Ask:   "How long does it run at each key-on?",
			Help:  "20 s; some run for two seconds only.",
		},
		{
			Path: "engine.crank.for", Page: "engine", Name: "starter turns", Kind: Amount, NotKnown: true,
			Usual:   between(quantity.ParseDuration, quantity.Seconds(5), quantity.Seconds(30)),
			Default: func(v View) quantity.Phrase { return quantity.Say("%v", v.Layout().Crank.For) },
			Ask:     "How long may the starter turn at a time?",
			Help:    "10 s, by the maker.",
		},
		{
			Path: "engine.crank.rest", Page: "engine", Name: "starter rests", Kind: Amount, When: given("engine.crank.for"),
			Usual: between(quantity.ParseDuration, quantity.Seconds(10), quantity.Minutes(5)),
			Ask:   "How long must it rest in between?",
			Help:  "60 s, by the maker.",
		},
		{
			Path: "engine.crank.attempts", Page: "engine", Name: "starts", Kind: Amount, When: given("engine.crank.for"), Usual: number(1, 5),
			Ask:  "How often may it be tried before you stop and look?",
			Help: "A number: 3.",
		},
		{
			Path: "engine.aftertreatment", Page: "engine", Name: "particulate filter", Kind: Choice, NotKnown: true,
			Default: planned("it is listed as not answered"),
			Options: words("none: no filter in the exhaust", "particulate-filter: there is one"),
			Ask:     "Has it a particulate filter?",
			Help:    "Long idling fills it with soot.",
		},
		{
			Path: "engine.stop_device", Page: "engine", Name: "how it is stopped", Kind: Choice, NotKnown: true,
			Default: planned("it is listed as not answered"),
			Options: words("key: with the key", "proved: with a lever, solenoid or plate that was tried", "unproved: with one that nobody has tried"),
			Ask:     "How is this engine stopped?",
			Help:    "A mechanical engine may run on with the key off.",
		},
		{
			Path: "engine.extra_returns", Page: "engine", Name: "extra returns", Kind: Choice, NotKnown: true,
			Default: planned("it is listed as not answered"),
			Options: words("none: one return and no more", "accounted: there are more, and they are led back or closed", "open: there are more, and nobody has looked after them"),
			Ask:     "Does fuel leave by another way: a second return, a second tank, a heater?",
			Help:    "What goes there is lost from the container.",
		},
		{
			Path: "engine.correction_limit", Page: "engine", Name: "correction limit", Kind: Amount, NotKnown: true,
			When:    func(v View) bool { return v.Injectors() != "mechanical" },
			Usual:   between(quantity.ParsePerStroke, quantity.CubicMillimetres(2), quantity.CubicMillimetres(10)),
			Default: planned("%v", engine.CommonCorrectionLimit),
			Ask:     "Beyond which correction does the maker call an injector bad?",
			Help:    "Where it is known: 5 mm3/stroke.",
		},
	}
}

// ofBand says what stands in for a figure nobody measured.
func ofBand[T ~float64](b quantity.Band[T]) quantity.Phrase {
	return quantity.Say("%v, somewhere from %v to %v", b.Expected, b.Low, b.High)
}
