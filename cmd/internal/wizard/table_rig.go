package wizard

import (
	"daytank/planner/engine"
	"daytank/planner/fluid"
	"daytank/planner/quantity"
)

// fluidQuestions is a table, as long as there are questions.
func fluidQuestions() []Question {
	return []Question{
		{
			Path: "fluid.flash_point", Page: "fluid", Name: "flash point", Kind: Amount, Short: true,
			Usual: between(quantity.ParseTemperature, quantity.Celsius(38), quantity.Celsius(120)),
			Ask:   "What is the flash point of the cleaning fluid?",
			Help:  "Section 9 of its data sheet, closed cup: 67 °C. Without the data sheet this work is not planned.",
		},
		{
			Path: "fluid.pack", Page: "fluid", Name: "pack", Kind: Amount, Short: true,
			Usual: between(quantity.ParseVolume, quantity.Millilitres(250), quantity.Litres(20)),
			Ask:   "How much is in one pack of it?",
			Help:  "From its label: 600 mL, or 1 L.",
		},
		{
			Path: "fluid.name", Page: "fluid", Name: "fluid", NotKnown: true,
			Ask:  "What is it called?",
			Help: "As it should stand in the record.",
		},
		{
			Path: "fluid.hazards", Page: "fluid", Name: "hazards", Kind: Codes, NotKnown: true, Default: planned("it is listed as not answered"),
			Ask:  "Which hazard statements has it?",
			Help: "Section 2 of its data sheet, with commas between them: H304, H315; or none.",
		},
		{
			Path: "fluid.density", Page: "fluid", Name: "density", Kind: Amount, NotKnown: true,
			Usual: between(quantity.ParseDensity, 750, 900), Default: planned("%v", fluid.AssumedDensity15),
			Ask:  "What is its density at 15 °C?",
			Help: "Section 9 of its data sheet: 808 kg/m3, or 0.808 kg/L.",
		},
		{
			Path: "fluid.viscosity_40", Page: "fluid", Name: "viscosity at 40 °C", Kind: Amount, NotKnown: true,
			Usual:   between(quantity.ParseViscosity, 0.8e-6, 5e-6),
			Default: planned("that of a light distillate"),
			Ask:     "What is its viscosity at 40 °C?",
			Help:    "Section 9 of its data sheet: 2.4 mm2/s.",
		},
		{
			Path: "fluid.viscosity_100", Page: "fluid", Name: "viscosity at 100 °C", Kind: Amount, NotKnown: true, When: given("fluid.viscosity_40"),
			Usual:   between(quantity.ParseViscosity, 0.3e-6, 2e-6),
			Default: planned("in step with the one at 40 °C"),
			Ask:     "And at 100 °C?",
			Help:    "Few data sheets have it: 1.0 mm2/s.",
		},
		{
			Path: "fluid.cloud_point", Page: "fluid", Name: "cloud point", Kind: Amount, NotKnown: true,
			Usual: between(quantity.ParseTemperature, quantity.Celsius(-40), quantity.Celsius(5)), Default: planned("none is known"),
			Ask:  "At which temperature does it cloud?",
			Help: "For work in the cold: -15 °C.",
		},
		{
			Path: "fluid.fame_percent", Page: "fluid", Name: "methyl ester", Kind: Amount, NotKnown: true, Usual: number(0, 30), Default: planned("none is known"),
			Ask:  "How much methyl ester (biodiesel) is in it?",
			Help: "In per cent by volume, without a unit: 0.",
		},
		{
			Path: "fluid.tank_ratio", Page: "fluid", Name: "dose in the tank", NotKnown: true, Default: planned("it does not go into the tank"),
			Ask:  "Does its label also allow it in the vehicle's tank, and how much?",
			Help: "A range for each litre of fuel: 2 mL/L .. 5 mL/L.",
		},
		{
			Path: "fluid.price", Page: "fluid", Name: "price", Kind: Amount, NotKnown: true, Usual: number(1, 500), Default: planned("no cost is given"),
			Ask:  "What does one pack cost?",
			Help: "A plain number in your money: 14.00.",
		},
		{
			Path: "fuel_flash_point", Page: "fluid", Name: "old fuel's flash point", Kind: Amount, NotKnown: true,
			Usual: between(quantity.ParseTemperature, quantity.Celsius(38), quantity.Celsius(80)), Default: planned("%v", quantity.Celsius(55)),
			Ask:  "What is the flash point of the fuel that is in the vehicle now?",
			Help: "55 °C by EN 590; winter fuel may have 38 °C.",
		},
	}
}

// rigQuestions is a table, as long as there are questions.
func rigQuestions() []Question {
	return []Question{
		{
			Path: "rig.container.capacity", Page: "rig", Name: "container", Kind: Amount, Short: true,
			Usual: between(quantity.ParseVolume, quantity.Litres(1), quantity.Litres(25)),
			Ask:   "How much does the container hold, full to the brim?",
			Help:  "The can that the engine draws from: 3 L.",
		},
		{
			Path: "rig.supply_hose.bore", Also: []string{"rig.supply_hose.length"}, Page: "rig", Name: "supply hose", Kind: Hose, Short: true,
			Ask:  "The supply hose, from the container to the engine: how wide inside, and how long?",
			Help: "Bore x length: 8 mm x 1.5 m, or 5/16 in written as 0.3125 in x 5 ft.",
		},
		{
			Path: "rig.return_hose.bore", Also: []string{"rig.return_hose.length"}, Page: "rig", Name: "return hose", Kind: Hose, Short: true,
			Ask:  "And the return hose, from the engine back to the container?",
			Help: "Bore x length: 8 mm x 1.5 m.",
		},
		{
			Path: "rig.container.diameter", Page: "rig", Name: "container's diameter", Kind: Amount, NotKnown: true,
			Usual: between(quantity.ParseLength, quantity.Millimetres(80), quantity.Millimetres(400)), Default: planned("no level in millimetres is given"),
			Ask:  "How wide is the container?",
			Help: "Inside, where it is round: 110 mm. The stop level is then also given in millimetres.",
		},
		{
			Path: "rig.container.closed", Page: "rig", Name: "container closed", Kind: Choice, NotKnown: true,
			Default: planned("it is listed as not answered"),
			Options: yesNo("rig.container.closed", "a lid with a vent, and hoses tight in it", "open"),
			Ask:     "Has the container a lid with a vent and tight holes for the hoses?",
			Help:    "An open one lets vapour out once the fluid is warm.",
		},
		{
			Path: "rig.container.pickup_height", Page: "rig", Name: "pick-up height", Kind: Amount, NotKnown: true,
			Usual: between(quantity.ParseLength, 0, quantity.Millimetres(60)), Default: planned("%v", quantity.Millimetres(10)),
			Ask:  "How high above the floor of the container does the supply draw?",
			Help: "10 mm: the end of the pipe or hose.",
		},
		{
			Path: "rig.container.pickup_bore", Page: "rig", Name: "pick-up bore", Kind: Amount, NotKnown: true,
			Usual: between(quantity.ParseLength, quantity.Millimetres(4), quantity.Millimetres(20)), Default: planned("as wide as the supply hose"),
			Ask:  "How wide is the end that draws?",
			Help: "8 mm.",
		},
		{
			Path: "rig.container.unusable", Page: "rig", Name: "unusable rest", Kind: Amount, NotKnown: true,
			Usual: between(quantity.ParseVolume, quantity.Millilitres(50), quantity.Litres(3)), Default: planned("worked out from the pick-up"),
			Ask:  "How much is left in it when it begins to draw air, if that was tried?",
			Help: "300 mL.",
		},
		{
			Path: "rig.charge", Page: "rig", Name: "charge", Kind: Amount, NotKnown: true,
			Usual: between(quantity.ParseVolume, quantity.Millilitres(500), quantity.Litres(25)), Default: planned("the whole packs that are needed"),
			Ask:  "How much fluid do you mean to pour in?",
			Help: "1.8 L. Leave it out, and the plan says how much it takes.",
		},
		{
			Path: "rig.supply_hose.rating", Page: "rig", Name: "supply hose to", Kind: Amount, NotKnown: true,
			Usual: between(quantity.ParseTemperature, quantity.Celsius(60), quantity.Celsius(175)), Default: planned("none is known"),
			Ask:  "To which temperature is the supply hose rated?",
			Help: "Printed on it, with its standard: 100 °C.",
		},
		{
			Path: "rig.supply_hose.fuel_rated", Page: "rig", Name: "supply hose for fuel", Kind: Choice, NotKnown: true,
			Default: planned("it is listed as not answered"),
			Options: yesNo("rig.supply_hose.fuel_rated", "printed on it", "not for fuel"),
			Ask:     "Is the supply hose rated for diesel fuel?",
			Help:    "A water or air hose swells and softens.",
		},
		{
			Path: "rig.supply_hose.standard", Page: "rig", Name: "supply hose's standard", NotKnown: true,
			Ask:  "Which standard stands on the supply hose?",
			Help: "As it is printed, such as ISO 19013-1; none where nothing is.",
		},
		{
			Path: "rig.supply_hose.material", Page: "rig", Name: "supply hose of", Kind: Choice, NotKnown: true,
			Options: words("rubber", "clear-pvc: clear plastic", "metal"),
			Ask:     "What is the supply hose made of?",
			Help:    "Clear plastic shows bubbles, and softens with warm fuel.",
		},
		{
			Path: "rig.supply_hose.working_pressure", Page: "rig", Name: "supply hose's pressure", Kind: Amount, NotKnown: true, When: is("rig.feed", "pump"),
			Usual: between(quantity.ParsePressure, quantity.Kilopascals(100), quantity.Kilopascals(4000)), Default: planned("%v", quantity.Kilopascals(340)),
			Ask:  "Which pressure does the supply hose stand?",
			Help: "Printed on it: 1 MPa, 10 bar.",
		},
		{
			Path: "rig.return_hose.rating", Page: "rig", Name: "return hose to", Kind: Amount, NotKnown: true,
			Usual: between(quantity.ParseTemperature, quantity.Celsius(60), quantity.Celsius(175)), Default: planned("none is known"),
			Ask:  "To which temperature is the return hose rated?",
			Help: "Printed on it: 125 °C. The return is the hot one.",
		},
		{
			Path: "rig.return_hose.fuel_rated", Page: "rig", Name: "return hose for fuel", Kind: Choice, NotKnown: true,
			Default: planned("it is listed as not answered"),
			Options: yesNo("rig.return_hose.fuel_rated", "printed on it", "not for fuel"),
			Ask:     "Is the return hose rated for diesel fuel?",
			Help:    "A water or air hose swells and softens.",
		},
		{
			Path: "rig.return_hose.standard", Page: "rig", Name: "return hose's standard", NotKnown: true,
			Ask:  "Which standard stands on the return hose?",
			Help: "As it is printed, such as ISO 19013-1; none where nothing is.",
		},
		{
			Path: "rig.return_hose.material", Page: "rig", Name: "return hose of", Kind: Choice, NotKnown: true,
			Options: words("rubber", "clear-pvc: clear plastic", "metal"),
			Ask:     "What is the return hose made of?",
			Help:    "Clear plastic on the return is a stop: it softens with warm fuel.",
		},
		{
			Path: "rig.return_hose.working_pressure", Page: "rig", Name: "return hose's pressure", Kind: Amount, NotKnown: true, When: is("rig.feed", "pump"),
			Usual: between(quantity.ParsePressure, quantity.Kilopascals(100), quantity.Kilopascals(4000)), Default: planned("%v", quantity.Kilopascals(340)),
			Ask:  "Which pressure does the return hose stand?",
			Help: "Printed on it: 1 MPa, 10 bar.",
		},
		{
			Path: "rig.return_fastened", Page: "rig", Name: "return fastened", Kind: Choice, AtVehicle: true,
			Options: yesNo("rig.return_fastened", "clamped or tied in the container", "it hangs in it"),
			Ask:     "Is the return hose clamped or tied in the container?",
			Help:    "One that slips out empties the container onto the floor in seconds.",
		},
		{
			Path: "rig.feed", Page: "rig", Name: "feed", Kind: Choice, NotKnown: true, Default: planned("the engine draws for itself"),
			Options: words("engine: the engine draws for itself", "pump: an electric pump between container and engine"),
			Beside:  map[string]string{"pump": "rig.feed_pump={pressure: 400 kPa, flow: 60 L/h}"},
			Ask:     "Who moves the fluid to the engine?",
			Help:    "An engine that is fed by a tank pump may want one here too.",
		},
		{
			Path: "rig.feed_pump.pressure", Page: "rig", Name: "feed pump's pressure", Kind: Amount, When: is("rig.feed", "pump"),
			Usual: between(quantity.ParsePressure, quantity.Kilopascals(20), quantity.Kilopascals(700)),
			Ask:   "Which pressure does the pump give?",
			Help:  "400 kPa, 4 bar; set to the vehicle maker's feed pressure.",
		},
		{
			Path: "rig.feed_pump.flow", Page: "rig", Name: "feed pump's flow", Kind: Amount, When: is("rig.feed", "pump"),
			Usual: between(quantity.ParseFlow, quantity.LitresPerHour(20), quantity.LitresPerHour(400)),
			Ask:   "How much does it move?",
			Help:  "60 L/h.",
		},
		{
			Path: "rig.lift", Page: "rig", Name: "lift", Kind: Amount, NotKnown: true,
			Usual: between(quantity.ParseLength, quantity.Metres(-1), quantity.Metres(1.5)), Default: planned("none"),
			Ask:  "How far is the inlet of the pump above the fluid in the container?",
			Help: "0.4 m; below it with a minus: -0.3 m.",
		},
		{
			Path: "rig.return_lift", Page: "rig", Name: "return lift", Kind: Amount, NotKnown: true,
			Usual: between(quantity.ParseLength, quantity.Metres(-1.5), quantity.Metres(1.5)), Default: planned("none"),
			Ask:  "How far does the return end above the place where it leaves the engine?",
			Help: "0 m; below it with a minus: -0.5 m.",
		},
		{
			Path: "rig.taps", Page: "rig", Name: "taps", Kind: Choice, NotKnown: true, Default: planned("none"),
			Options: yesNo("rig.taps", "one in each hose", "none"),
			Ask:     "Is there a tap in each hose?",
			Help:    "Taps keep the container from emptying itself while the engine stands.",
		},
		{
			Path: "rig.non_return_valve", Page: "rig", Name: "non-return valve", Kind: Choice, NotKnown: true, Default: planned("none"),
			Options: yesNo("rig.non_return_valve", "there is one", "none"),
			Ask:     "Is there a non-return valve in the supply?",
			Help:    "It keeps the hose full while the engine stands.",
		},
		{
			Path: "rig.minor_loss", Page: "rig", Name: "elbows", Kind: Amount, NotKnown: true, Usual: number(0, 20), Default: planned("none"),
			Ask:  "How much do elbows and couplings of the supply add?",
			Help: "A plain number: 1 for each elbow, 0.5 for each straight coupling (common practice, no source).",
		},
		{
			Path: "rig.filter_in_loop", Page: "rig", Name: "filter in the loop", Kind: Choice, NotKnown: true, Default: planned("it is not"),
			Options: yesNo("rig.filter_in_loop", "the fluid goes through it", "it is opened behind the filter"),
			Ask:     "Is the vehicle's fuel filter in the loop?",
			Help:    "Its old fuel then thins the fluid, and takes more of it to flush.",
		},
		{
			Path: "rig.inline_filter_drop", Page: "rig", Name: "inline filter", Kind: Amount, NotKnown: true,
			Usual: between(quantity.ParsePressure, 0, quantity.Kilopascals(10)), Default: planned("no inline filter"),
			Ask:  "How much does an inline filter in the supply take?",
			Help: "2 kPa for a clean one.",
		},
		{
			Path: "rig.return_filter_drop", Page: "rig", Name: "filter in the return", Kind: Amount, NotKnown: true,
			Usual: between(quantity.ParsePressure, 0, quantity.Kilopascals(10)), Default: planned("none"),
			Ask:  "And one in the return?",
			Help: "2 kPa; 0 kPa where there is none.",
		},
		{
			Path: "rig.return_to", Page: "rig", Name: "return led to", Kind: Choice, NotKnown: true, Default: planned("the container"),
			Options: words("container: back into it", "waste: into a can, and away"),
			Ask:     "Where does the return go?",
			Help:    "Led to waste, the return takes many times what the engine burns.",
		},
		{
			Path: "rig.first_flush", Page: "rig", Name: "first flush", NotKnown: true, Default: planned("auto: twice what line and filter hold"),
			Ask:  "How much is led to waste first, to get the old fuel out?",
			Help: "auto, none, or a volume such as 300 mL.",
		},
		{
			Path: "rig.return_cooler.material", Page: "rig", Name: "coil", Kind: Choice, NotKnown: true, Default: planned("none"),
			Options: func(*engine.Library) []Option { return coilOptions },
			Ask:     "Is the return led through a coil in a bucket of water?",
			Help:    "A small container gets hot; a coil is what keeps it below the flash point.",
		},
		{
			Path: "rig.return_cooler.length", Page: "rig", Name: "coil's length", Kind: Amount, When: given("rig.return_cooler.material"),
			Usual: between(quantity.ParseLength, quantity.Metres(1), quantity.Metres(10)),
			Ask:   "How long is the coil?",
			Help:  "What lies in the water: 3 m.",
		},
		{
			Path: "rig.return_cooler.water", Page: "rig", Name: "coil's water", Kind: Amount, When: given("rig.return_cooler.material"),
			Usual: between(quantity.ParseVolume, quantity.Litres(5), quantity.Litres(60)),
			Ask:   "How much water is in the bucket?",
			Help:  "10 L.",
		},
		{
			Path: "rig.watch_time", Page: "rig", Name: "switched off within", Kind: Amount, NotKnown: true,
			Usual: between(quantity.ParseDuration, quantity.Seconds(5), quantity.Minutes(2)), Default: planned("%v", quantity.Seconds(30)),
			Ask:  "How long does it take until the watcher has switched off?",
			Help: "30 s: from seeing it to key off.",
		},
	}
}

var coilOptions = []Option{
	{Word: "none", Say: "no coil", Sets: []Edit{{Path: "rig.return_cooler", Away: true}, {Path: "rig.return_cooler", Text: "none"}}},
	{Word: "metal", Say: "copper, steel or aluminium pipe", Sets: []Edit{{Path: "rig.return_cooler.material", Text: "metal"}}},
	{Word: "rubber", Say: "rubber hose, which cools much less", Sets: []Edit{{Path: "rig.return_cooler.material", Text: "rubber"}}},
}
