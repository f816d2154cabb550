package wizard

import "daytank/planner/quantity"

func vehicleQuestions() []Question {
	return []Question{
		{
			Path: "asset", Page: "vehicle", Name: "vehicle", Short: true,
			Ask:  "What do you call the vehicle?",
			Help: "A short name of letters, digits, dots and hyphens, such as VAN-07; its jobs are numbered under it.",
		},
		{
			Path: "title", Page: "vehicle", Name: "title", NotKnown: true,
			Ask:  "What should the job be called?",
			Help: "A few words for lists and the report, such as: spring service.",
		},
		{
			Path: "date", Page: "vehicle", Name: "date", NotKnown: true, Default: planned("today"),
			Ask:  "On which day is it done?",
			Help: "Year, month, day: 2026-03-14.",
		},
		{
			Path: "odometer", Page: "vehicle", Name: "odometer", Kind: Amount, NotKnown: true,
			Usual: between(quantity.ParseDistance, 0, quantity.Kilometres(1e6)),
			Ask:   "How far has it been driven?",
			Help:  "For the interval to the next clean: 148200 km, or 92000 mi.",
		},
		{
			Path: "engine_hours", Page: "vehicle", Name: "engine hours", Kind: Amount, NotKnown: true,
			Usual: between(quantity.ParseDuration, 0, quantity.Hours(3e4)),
			Ask:   "How many hours has the engine run?",
			Help:  "Where there is an hour meter: 3120 h.",
		},
		{
			Path: "last_clean.on", Page: "vehicle", Name: "last clean", NotKnown: true,
			Ask:  "When were its injectors last cleaned like this?",
			Help: "Year, month, day: 2025-03-02. A clean too soon after the last one is noted.",
		},
		{
			Path: "last_clean.odometer", Page: "vehicle", Name: "driven at the last clean", Kind: Amount, NotKnown: true,
			When: given("last_clean.on"),
			Ask:  "How far had it been driven then?",
			Help: "131000 km, as it stood on that day.",
		},
		{
			Path: "last_clean.engine_hours", Page: "vehicle", Name: "hours at the last clean", Kind: Amount, NotKnown: true,
			When: given("last_clean.on"),
			Ask:  "How many hours had the engine run then?",
			Help: "2900 h, as it stood on that day.",
		},
	}
}

func runQuestions() []Question {
	return []Question{
		{
			Path: "run", Page: "run", Name: "run", Kind: Stages, Short: true,
			Usually: "idle 10 min, 1500 rpm 2 min, soak 15 min, idle 15 min",
			Ask:     "What should the engine do on the fluid?",
			Help:    "Stages with commas between them, each a speed or soak (engine off) and how long; or soak until 35 °C.",
		},
	}
}

func siteQuestions() []Question {
	return []Question{
		{
			Path: "site.ambient", Page: "site", Name: "air", Kind: Amount, Short: true,
			Usual: between(quantity.ParseTemperature, quantity.Celsius(-10), quantity.Celsius(40)),
			Ask:   "How warm is the air where it is done?",
			Help:  "The fluid starts at this temperature: 18 °C, 18 degC or 64 degF.",
		},
		{
			Path: "site.place", Page: "site", Name: "place", Kind: Choice, Short: true,
			Options: words("outdoors: in the open air", "extraction: inside, with the exhaust led out by a hose and a fan", "indoors: inside without that"),
			Ask:     "Where is it done?",
			Help:    "The exhaust of an idling engine kills in a closed room.",
		},
		{
			Path: "site.people", Page: "site", Name: "people", Kind: Amount, Short: true, NotKnown: true,
			Default: planned("one person"), Usual: number(1, 6),
			Ask:  "How many people are there the whole time?",
			Help: "A number. A second person watches the return hose and releases the hold points.",
		},
		{
			Path: "site.at_risk", Page: "site", Name: "at risk", Kind: Codes, NotKnown: true,
			Options: words("pregnant", "under-18", "asthma"), Default: planned("nobody"),
			Ask:  "Is anybody of them at a special risk?",
			Help: "pregnant, under-18, asthma, with commas between them; or none.",
		},
	}
}

func conditionQuestions() []Question {
	return []Question{
		{
			Path: "condition.symptom", Page: "condition", Name: "symptom", AtVehicle: true,
			Ask:  "What is wrong with the engine?",
			Help: "In a few words: uneven idle when warm. Or none; then there is nothing to clean for.",
		},
		{
			Path: "condition.stored_faults", Page: "condition", Name: "stored faults", Kind: Choice, AtVehicle: true,
			Options: words("none: read out, and there are none", "electrical: wiring, or an injector's circuit", "other: anything else"),
			Ask:     "Which faults does the control unit store?",
			Help:    "An electrical fault is not mended by cleaning.",
		},
		{
			Path: "condition.fuel_sample", Page: "condition", Name: "fuel sample", Kind: Choice, AtVehicle: true,
			Options: words("clean: clear and bright", "water: drops or a layer below", "petrol: it smells of it", "metal: glitter, or on a magnet"),
			Ask:     "What does the fuel look like in a clear jar?",
			Help:    "Drawn at the filter or separator, left to stand.",
		},
		{
			Path: "condition.leaks", Page: "condition", Name: "leaks", Kind: Choice, AtVehicle: true,
			Options: words("none: dry", "weeping: damp, no drops", "leaking: drops"),
			Ask:     "Does the fuel system leak?",
			Help:    "Solvent opens a weeping joint further.",
		},
		{
			Path: "condition.oil_level", Page: "condition", Name: "oil level", Kind: Choice, AtVehicle: true,
			Options: words("normal: between the marks", "high: above the upper mark"),
			Ask:     "Where is the engine oil?",
			Help:    "Above the upper mark there may be fuel in the oil, and a runaway can follow.",
		},
		{
			Path: "condition.seals", Page: "condition", Name: "seals", Kind: Choice, AtVehicle: true,
			Options: words("sound: soft and whole", "hardened: hard, cracked or shrunk"),
			Ask:     "How are seals and rubber hoses of the fuel system?",
			Help:    "Solvent makes hardened seals leak.",
		},
		{
			Path: "condition.soot_lamp", Page: "condition", Name: "soot lamp", Kind: Choice, AtVehicle: true,
			When:    func(v View) bool { return v.Text("engine.aftertreatment") != "none" },
			Options: words("off: it does not light", "on: it lights", "regenerating: the filter is burning itself clean"),
			Ask:     "What does the lamp of the particulate filter do?",
			Help:    "A filter that wants to regenerate does it hot, and not while idling on a container.",
		},
		{
			Path: "condition.worst_correction", Page: "condition", Name: "worst correction", Kind: Amount, AtVehicle: true,
			When:  func(v View) bool { return v.Injectors() != "mechanical" },
			Usual: between(quantity.ParsePerStroke, quantity.CubicMillimetres(-8), quantity.CubicMillimetres(8)),
			Ask:   "What is the largest cylinder correction, warm and idling?",
			Help:  "With its sign, as the control unit shows it: 2.1 mm3/stroke or -2.1 mm3/stroke.",
		},
	}
}

func tankQuestions() []Question {
	return []Question{
		{
			Path: "tank_dose.ratio.min", Page: "tank", Name: "least dose", Kind: Amount, NotKnown: true, Default: planned("no tank dose"),
			Usual: between(quantity.ParseDose, quantity.MillilitresPerLitre(0.2), quantity.MillilitresPerLitre(20)),
			Ask:   "What is the smallest dose on the label of the tank additive?",
			Help:  "For each litre of fuel: 2 mL/L. Not known leaves the tank dose out.",
		},
		{
			Path: "tank_dose.ratio.max", Page: "tank", Name: "largest dose", Kind: Amount, When: given("tank_dose.ratio.min"),
			Usual: between(quantity.ParseDose, quantity.MillilitresPerLitre(0.2), quantity.MillilitresPerLitre(20)),
			Ask:   "And the largest?",
			Help:  "5 mL/L; the same as the smallest where the label gives one figure.",
		},
		{
			Path: "tank_dose.tanks", Page: "tank", Name: "tanks", Kind: Tanks, When: given("tank_dose.ratio.min"),
			Ask:  "Which tanks has the vehicle, and what is in them?",
			Help: "Name, fuel in it and capacity: main 41 L of 74 L; reserve 0 L of 31 L.",
		},
		{
			Path: "tank_dose.measure", Page: "tank", Name: "measure", Kind: Amount, NotKnown: true, When: given("tank_dose.ratio.min"),
			Usual: between(quantity.ParseVolume, quantity.Millilitres(5), quantity.Millilitres(500)), Default: planned("plain millilitres"),
			Ask:  "How large is the measure it is poured with?",
			Help: "The cap or dosing chamber of its bottle: 40 mL.",
		},
	}
}
