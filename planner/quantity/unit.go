package quantity

import (
	"slices"
	"strings"
)

// unit is one unit of a quantity: the name that is shown, and other spellings,
// both as [canonical] gives them.
type unit struct {
	name string
	also []string
	factor
}

// kind is a quantity with its units, the usual ones first.
type kind struct {
	name  string
	units []unit
}

// The US gallon is 231 cubic inches: 3.785411784 L, eight pints of
// 473.176473 mL. The imperial gallon is 4.54609 L.
var volume = kind{"volume", []unit{
	{"L", nil, perThousand},
	{"mL", nil, perMillion},
	{"dL", nil, factor{num: 1, den: 1e4}},
	{"cL", nil, factor{num: 1, den: 1e5}},
	{"uL", nil, perThousandMillion},
	{"m3", nil, one},
	{"cm3", []string{"cc"}, perMillion},
	{"mm3", nil, perThousandMillion},
	{"gal", []string{"US gal", "USgal"}, factor{num: 473176473, den: 1.25e11}},
	{"qt", []string{"US qt", "USqt"}, factor{num: 473176473, den: 5e11}},
	{"pt", []string{"US pt", "USpt"}, factor{num: 473176473, den: 1e12}},
	{"floz", []string{"fl oz", "fl. oz", "fl.oz", "US fl oz", "USfloz"}, factor{num: 473176473, den: 1.6e13}},
	{"impgal", []string{"imp gal"}, factor{num: 454609, den: 1e8}},
	{"impqt", []string{"imp qt"}, factor{num: 454609, den: 4e8}},
	{"imppt", []string{"imp pt"}, factor{num: 454609, den: 8e8}},
	{"impfloz", []string{"imp fl oz", "imp floz"}, factor{num: 454609, den: 1.6e10}},
}}

var flow = kind{"flow", []unit{
	{"L/h", nil, litrePerHour},
	{"L/min", nil, factor{num: 1, den: 6e4}},
	{"L/s", nil, perThousand},
	{"mL/h", nil, factor{num: 1, den: 3.6e9}},
	{"mL/min", []string{"cm3/min", "cc/min"}, factor{num: 1, den: 6e7}},
	{"mL/s", []string{"cm3/s"}, perMillion},
	{"m3/h", nil, factor{num: 1, den: 3600}},
	{"m3/s", nil, one},
	{"gal/h", []string{"US gal/h"}, factor{num: 473176473, den: 1.25e11 * 3600}},
	{"gal/min", []string{"US gal/min"}, factor{num: 473176473, den: 1.25e11 * 60}},
	{"impgal/h", []string{"imp gal/h"}, factor{num: 454609, den: 1e8 * 3600}},
}}

var length = kind{"length", []unit{
	{"mm", nil, perThousand},
	{"cm", nil, factor{num: 1, den: 100}},
	{"m", nil, one},
	{"in", nil, factor{num: 254, den: 1e4}},
	{"ft", nil, factor{num: 3048, den: 1e4}},
}}

// psi is 0.45359237 kg · 9.80665 m/s² on (0.0254 m)²; a millimetre of mercury
// is 13.5951 · 9.80665 Pa; an inch of water is 25.4 · 9.80665 Pa.
var pressure = kind{"pressure", []unit{
	{"kPa", nil, thousand},
	{"Pa", nil, one},
	{"hPa", nil, factor{num: 100, den: 1}},
	{"MPa", nil, factor{num: 1e6, den: 1}},
	{"bar", nil, factor{num: 1e5, den: 1}},
	{"mbar", nil, factor{num: 100, den: 1}},
	{"psi", []string{"PSI", "lbf/in2"}, factor{num: 45359237 * 980665 / 5, den: 254 * 254 * 100000 / 5}},
	{"inHg", nil, factor{num: 254 * 135951 * 980665 / 10, den: 1e9}},
	{"mmHg", nil, factor{num: 135951 * 980665, den: 1e9}},
	{"inH2O", nil, factor{num: 254 * 980665, den: 1e6}},
	{"kgf/cm2", nil, factor{num: 980665, den: 10}},
}}

var temperature = kind{"temperature", []unit{
	{"°C", []string{"C"}, one},
	{"°F", []string{"F"}, factor{num: 5, den: 9, off: -160}},
	{"K", nil, kelvinScale},
}}

var difference = kind{"temperature difference", []unit{
	{"K", nil, one},
	{"°C", []string{"C"}, one},
	{"°F", []string{"F"}, factor{num: 5, den: 9}},
}}

// lb/gal is 0.45359237 kg in 3.785411784 L.
var density = kind{"density", []unit{
	{"kg/m3", []string{"g/L"}, one},
	{"kg/L", []string{"kg/dm3"}, thousand},
	{"g/mL", nil, thousand},
	{"g/cm3", []string{"g/cc"}, thousand},
	{"lb/gal", []string{"lb/US gal"}, factor{num: 453592370000 / 8, den: 473176473}},
}}

var viscosity = kind{"viscosity", []unit{
	{"mm2/s", nil, perMillion},
	{"cSt", nil, perMillion},
	{"St", []string{"cm2/s"}, factor{num: 1, den: 1e4}},
	{"m2/s", nil, one},
}}

var perStroke = kind{"injected volume", []unit{
	{"mm3/stroke", []string{"uL/stroke"}, perThousandMillion},
	{"mm3", []string{"uL"}, perThousandMillion},
}}

var speed = kind{"rotational speed", []unit{
	{"rpm", []string{"RPM"}, perMinute},
	{"1/min", []string{"min-1"}, perMinute},
	{"rev/min", nil, perMinute},
	{"r/min", nil, perMinute},
	{"1/s", []string{"rev/s", "r/s"}, one},
}}

// hp is 550 ft·lbf/s; PS is 75 kgf·m/s.
var power = kind{"power", []unit{
	{"W", nil, one},
	{"kW", nil, thousand},
	{"hp", []string{"HP"}, factor{num: 550 * 0.3048 * 0.45359237 * 9.80665, den: 1}},
	{"PS", nil, factor{num: 75 * 980665, den: 1e5}},
}}

var duration = kind{"duration", []unit{
	{"s", nil, one},
	{"min", nil, minute},
	{"h", nil, hour},
	{"d", nil, factor{num: 86400, den: 1}},
}}

var distance = kind{"distance", []unit{
	{"km", nil, thousand},
	{"mi", nil, factor{num: 1609344, den: 1e3}},
	{"m", nil, one},
}}

// A percentage is by volume, as everything in a dose is.
var dose = kind{"dose", []unit{
	{"mL/L", nil, perThousand},
	{"L/m3", nil, perThousand},
	{"%", nil, factor{num: 1, den: 100}},
	{"floz/gal", []string{"fl oz/gal"}, factor{num: 1, den: 128}},
}}

// kinds are all quantities; of those that share a unit, the commoner comes first.
func kinds() []*kind {
	return []*kind{
		&volume, &flow, &length, &pressure, &temperature, &difference, &density,
		&viscosity, &perStroke, &speed, &power, &duration, &distance, &dose,
	}
}

// Quantities gives the names that quantities have in errors and in [Accepted].
func Quantities() []string {
	var names []string
	for _, k := range kinds() {
		names = append(names, k.name)
	}
	return names
}

// Accepted gives the units in which a quantity can be written, the usual ones
// first; nil for a name that is not one of [Quantities].
func Accepted(quantity string) []string {
	for _, k := range kinds() {
		if k.name == quantity {
			return k.accepted()
		}
	}
	return nil
}

func (k *kind) accepted() []string {
	names := make([]string, len(k.units))
	for i, u := range k.units {
		names[i] = u.name
	}
	return names
}

// find gives the unit of a canonical spelling.
func (k *kind) find(spelling string) (unit, bool) {
	i := slices.IndexFunc(k.units, func(u unit) bool { return u.name == spelling || slices.Contains(u.also, spelling) })
	if i < 0 {
		return unit{}, false
	}
	return k.units[i], true
}

// foreign is a unit of something that no quantity here can be, with the remark
// that helps.
type foreign struct {
	what, remark string
	spellings    []string
}

var foreigners = []foreign{
	{"a mass per stroke", "its volume takes the density as well", []string{"mg/stroke", "mg/str", "mg/st", "mg/inj"}},
	{"a mass", "its volume takes the density as well", []string{"kg", "g", "mg", "lb"}},
	{"a mass flow", "its volume takes the density as well", []string{"kg/h", "g/h", "g/s", "g/min", "lb/h"}},
	{"a mass or a volume", "write floz for the volume", []string{"oz"}},
	{"a dynamic viscosity", "divided by the density it is a viscosity in mm2/s", []string{"cP", "P", "mPa s", "mPa·s", "mPas", "Pa s", "Pa·s"}},
	{"in millipascal or megapascal", "write Pa, kPa or MPa", []string{"mPa", "mpa", "Mpa"}},
	{"in an unknown degree", "write °C or °F", []string{"°", "deg"}},
}

func findForeign(spelling string) (foreign, bool) {
	i := slices.IndexFunc(foreigners, func(f foreign) bool { return slices.Contains(f.spellings, spelling) })
	if i < 0 {
		return foreign{}, false
	}
	return foreigners[i], true
}

// spellings brings the ways of writing one sign together. The second and third
// degree signs are those that keyboards and copied pages put in its place.
var spellings = strings.NewReplacer(
	"\u00b5", "u", "\u03bc", "u",
	"^-1", "-1", "^2", "2", "^3", "3", "⁻¹", "-1", "²", "2", "³", "3",
	"℃", "°C", "℉", "°F", "\u00ba", "°", "\u02da", "°", "° ", "°",
	" / ", "/", " /", "/", "/ ", "/",
)

// canonical gives a unit in the spelling of the tables.
func canonical(text string) string {
	parts := strings.Split(spellings.Replace(text), "/")
	for i, part := range parts {
		switch part {
		case "l", "ml", "cl", "dl", "ul":
			parts[i] = strings.TrimSuffix(part, "l") + "L"
		case "degC", "degF", "deg C", "deg F":
			parts[i] = "°" + part[len(part)-1:]
		}
	}
	return strings.Join(parts, "/")
}

// nearest gives the units of k that differ from a spelling only in upper and
// lower case.
func (k *kind) nearest(spelling string) []string {
	var near []string
	for _, u := range k.units {
		for _, s := range append([]string{u.name}, u.also...) {
			if strings.EqualFold(s, spelling) && !slices.Contains(near, u.name) {
				near = append(near, u.name)
			}
		}
	}
	return near
}
