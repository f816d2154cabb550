package logfile

import (
	"fmt"
	"slices"
	"strings"

	"daytank/planner/quantity"
)

// unit is how a column's numbers become those of its role: x·factor + offset.
type unit struct {
	name           string // as the program calls it
	factor, offset float64
}

// unitNames are the ways to write units, lower case, without spaces, as far as
// package quantity does not know them; MPa and mPa differ, so pressure keeps its case.
var unitNames = map[string]string{
	"s": "s", "sec": "s", "secs": "s", "second": "s", "seconds": "s", "sek": "s", "sekunden": "s",
	"ms": "ms", "msec": "ms", "millisecond": "ms", "milliseconds": "ms", "min": "min", "minutes": "min",
	"c": "degC", "°c": "degC", "degc": "degC", "celsius": "degC", "degreesc": "degC", "grdc": "degC",
	"f": "degF", "°f": "degF", "degf": "degF", "fahrenheit": "degF", "degreesf": "degF",
	"rpm": "rpm", "1/min": "rpm", "min-1": "rpm", "min^-1": "rpm", "/min": "rpm", "u/min": "rpm", "r/min": "rpm", "min⁻¹": "rpm", "revs/min": "rpm",
	"%": "percent", "pct": "percent", "percent": "percent", "prozent": "percent",
	"mm3": "mm3/stroke", "mm³": "mm3/stroke", "mm^3": "mm3/stroke", "mm3/st": "mm3/stroke", "mm3/str": "mm3/stroke", "mm3/stroke": "mm3/stroke",
	"mm³/stroke": "mm3/stroke", "mm³/st": "mm3/stroke", "mm3/hub": "mm3/stroke", "mm³/hub": "mm3/stroke", "mm3/inj": "mm3/stroke",
	"mg": "mg/stroke", "mg/st": "mg/stroke", "mg/str": "mg/stroke", "mg/stroke": "mg/stroke", "mg/hub": "mg/stroke", "mg/inj": "mg/stroke",
	"kpa": "kPa", "bar": "bar", "mbar": "mbar", "hpa": "hPa", "psi": "psi", "psig": "psi",
	"v": "V", "mv": "mV", "a": "A", "km/h": "km/h", "kmh": "km/h", "mph": "mph", "g/s": "g/s", "l/h": "L/h", "nm": "Nm", "hz": "Hz",
	"°": "deg", "deg": "deg", "°ca": "deg", "kg/h": "kg/h", "mm": "mm",
}

// unitNamed gives the program's name of a unit; "" where it is none that is known.
func unitNamed(text string) string {
	text = strings.ReplaceAll(strings.TrimSpace(text), " ", "")
	switch text {
	case "MPa", "Mpa", "MPA":
		return "MPa"
	case "Pa":
		return "Pa"
	}
	lower := strings.ToLower(text)
	// A degree sign that an encoding has broken stands before C or F.
	if r := []rune(lower); len(r) > 1 && len(r) <= 4 && (r[0] > 0x7e || r[0] == '?') && r[0] != 'µ' {
		switch r[len(r)-1] {
		case 'c':
			return "degC"
		case 'f':
			return "degF"
		}
	}
	return unitNames[lower]
}

// longestName is what the name of a column may have, in bytes, to be looked at for a unit.
const longestName = 200

// takeUnit takes the unit off a name: in brackets, or its last words.
func takeUnit(name string) (rest, unit string, bracketed bool) {
	if len(name) > longestName {
		return name, "", false
	}
	for _, pair := range []string{"()", "[]", "{}"} {
		open, end := strings.LastIndexByte(name, pair[0]), strings.LastIndexByte(name, pair[1])
		if open >= 0 && end > open {
			inside := strings.TrimSpace(name[open+1 : end])
			if inside == "" {
				return takeUnit(strings.TrimSpace(name[:open] + name[end+1:]))
			}
			known := unitNamed(inside)
			if known == "" && strings.TrimSpace(name[:open]) != "" && inside != "" && len(words(inside)) > 2 {
				continue // a remark, no unit
			}
			if known == "" {
				known = inside
			}
			return strings.TrimSpace(name[:open] + name[end+1:]), known, true
		}
	}
	for i := range name {
		if i == 0 || !strings.ContainsRune("_ ", rune(name[i])) {
			continue
		}
		tail := strings.ReplaceAll(name[i+1:], "_", "/")
		if known := unitNamed(tail); known != "" && !slices.Contains([]string{"A", "V", "mV", "Hz", "Nm", "deg", "mm"}, known) {
			return name[:i], known, false
		}
	}
	return name, "", false
}

// convert gives how numbers in a unit become those of a role. No unit is the usual
// one of the role, if it has one.
func (r Role) convert(named string) (unit, error) {
	plain := func(name string) (unit, error) { return unit{name, 1, 0}, nil }
	fail := func(wanted string) (unit, error) {
		return unit{}, fmt.Errorf("%q is no unit of %s: %s", named, r, wanted)
	}
	switch r {
	case Time:
		switch named {
		case "", "s":
			return plain("s")
		case "ms":
			return unit{"s", 0.001, 0}, nil
		case "min":
			return unit{"s", 60, 0}, nil
		}
		return fail("s, ms or min is wanted")
	case Speed:
		if named == "" || named == "rpm" {
			return plain("rpm")
		}
		return fail("rpm is wanted")
	case Load:
		if named == "" || named == "percent" {
			return plain("percent")
		}
		return fail("% is wanted")
	case Coolant, FuelTemperature:
		switch named {
		case "", "degC":
			return plain("degC")
		case "degF":
			zero, err := quantity.ParseTemperature("0 °F")
			if err != nil {
				return unit{}, err
			}
			hundred, err := quantity.ParseTemperature("100 °F")
			if err != nil {
				return unit{}, err
			}
			return unit{"degC", (hundred.Celsius() - zero.Celsius()) / 100, zero.Celsius()}, nil
		}
		return fail("°C or °F is wanted")
	case RailPressure:
		p, err := quantity.ParsePressure("1 " + named)
		if err != nil {
			return fail("kPa, bar, MPa or psi is wanted")
		}
		return unit{"kPa", p.Kilopascals(), 0}, nil
	case Quantity:
		if named == "" || named == "mm3/stroke" {
			return plain("mm3/stroke")
		}
		return fail("mm3/stroke is wanted")
	}
	switch named {
	case "mm3/stroke", "mg/stroke", "rpm", "percent":
		return plain(named)
	}
	return fail("mm3/stroke, mg/stroke, rpm or % is wanted")
}
