package quantity

import "math"

// step says how the values below some end are written.
type step struct {
	below    float64 // in the unit, after rounding
	decimals int     // -1: to the ten
	trim     bool    // without zeros at the end
	unit     string  // by its name among the units of the kind
	label    string  // as it is shown
}

// steps are the steps of each system, from small values to large. Where US
// customary has none of its own, the metric ones hold.
type steps struct{ metric, us []step }

func (s steps) in(system System) []step {
	if system == USCustomary && s.us != nil {
		return s.us
	}
	return s.metric
}

// ever is the end of a last step.
const ever = math.MaxFloat64

var (
	volumeSteps = steps{
		metric: []step{
			{1, 1, true, "mL", "mL"},
			{100, 0, false, "mL", "mL"},
			{1000, -1, false, "mL", "mL"},
			{10, 2, false, "L", "L"},
			{ever, 1, false, "L", "L"},
		},
		us: []step{
			{1, 2, true, "floz", "fl oz"},
			{32, 1, true, "floz", "fl oz"},
			{4, 2, false, "qt", "qt"},
			{10, 2, false, "gal", "gal"},
			{ever, 1, false, "gal", "gal"},
		},
	}
	volumeFineSteps = steps{
		metric: []step{
			{1, 1, true, "mL", "mL"},
			{ever, 0, false, "mL", "mL"},
		},
		us: []step{{ever, 1, false, "floz", "fl oz"}},
	}
	flowSteps = steps{
		metric: []step{
			{10, 2, false, "L/h", "L/h"},
			{100, 1, true, "L/h", "L/h"},
			{ever, 0, false, "L/h", "L/h"},
		},
		us: []step{
			{1, 3, false, "gal/h", "gal/h"},
			{10, 2, false, "gal/h", "gal/h"},
			{100, 1, true, "gal/h", "gal/h"},
			{ever, 0, false, "gal/h", "gal/h"},
		},
	}
	lengthSteps = steps{
		metric: []step{
			{100, 1, true, "mm", "mm"},
			{1000, 0, false, "mm", "mm"},
			{ever, 2, true, "m", "m"},
		},
		us: []step{
			{10, 2, true, "in", "in"},
			{36, 1, true, "in", "in"},
			{ever, 1, true, "ft", "ft"},
		},
	}
	pressureSteps = steps{metric: threeDigits("kPa", "kPa"), us: threeDigits("psi", "psi")}

	temperatureSteps = steps{
		metric: []step{{ever, 0, false, "°C", "°C"}},
		us:     []step{{ever, 0, false, "°F", "°F"}},
	}
	temperatureFineSteps = steps{
		metric: []step{{ever, 1, false, "°C", "°C"}},
		us:     []step{{ever, 1, false, "°F", "°F"}},
	}
	differenceSteps = steps{
		metric: []step{{100, 1, true, "K", "K"}, {ever, 0, false, "K", "K"}},
		us:     []step{{100, 1, true, "°F", "°F"}, {ever, 0, false, "°F", "°F"}},
	}
	densitySteps = steps{
		metric: []step{{ever, 0, false, "kg/m3", "kg/m³"}},
		us:     []step{{ever, 2, false, "lb/gal", "lb/gal"}},
	}
	viscositySteps = steps{
		metric: []step{{10, 2, false, "mm2/s", "mm²/s"}, {100, 1, false, "mm2/s", "mm²/s"}, {ever, 0, false, "mm2/s", "mm²/s"}},
		us:     []step{{10, 2, false, "cSt", "cSt"}, {100, 1, false, "cSt", "cSt"}, {ever, 0, false, "cSt", "cSt"}},
	}
	perStrokeSteps = steps{metric: threeDigits("mm3/stroke", "mm³/stroke")}
	speedSteps     = steps{metric: []step{{ever, 0, false, "rpm", "rpm"}}}
	powerSteps     = steps{
		metric: []step{
			{10, 1, true, "W", "W"},
			{1000, 0, false, "W", "W"},
			{100, 2, true, "kW", "kW"},
			{ever, 0, false, "kW", "kW"},
		},
	}
	distanceSteps = steps{
		metric: []step{{100, 1, true, "km", "km"}, {ever, 0, false, "km", "km"}},
		us:     []step{{100, 1, true, "mi", "mi"}, {ever, 0, false, "mi", "mi"}},
	}
	doseSteps = steps{
		metric: threeDigits("mL/L", "mL/L"),
		us:     []step{{1, 3, true, "floz/gal", "fl oz/gal"}, {ever, 2, true, "floz/gal", "fl oz/gal"}},
	}

	// The last step's first 100 hours are written with their minutes.
	durationSteps = steps{metric: []step{
		{10, 1, true, "s", "s"},
		{120, 0, false, "s", "s"},
		{10, 1, true, "min", "min"},
		{60, 0, false, "min", "min"},
		{ever, 0, false, "h", "h"},
	}}
	durationFineSteps = steps{metric: []step{
		{10, 1, true, "s", "s"},
		{120, 0, false, "s", "s"},
		{60, 1, false, "min", "min"},
		{ever, 0, false, "h", "h"},
	}}
)

// threeDigits writes about three digits, at most two of them decimals.
func threeDigits(unit, label string) []step {
	return []step{{10, 2, true, unit, label}, {100, 1, true, unit, label}, {ever, 0, false, unit, label}}
}
