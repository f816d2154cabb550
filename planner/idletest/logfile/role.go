package logfile

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"

	"daytank/planner/idletest"
)

// Role is what a column is taken as: time, speed, load, coolant, quantity,
// rail-pressure, fuel-temperature or correction.N, N from 1. Empty: not taken.
type Role string

// Roles but corrections.
const (
	Time            Role = "time"
	Speed           Role = "speed"
	Load            Role = "load"
	Coolant         Role = "coolant"
	Quantity        Role = "quantity"
	RailPressure    Role = "rail-pressure"
	FuelTemperature Role = "fuel-temperature"
)

// MostCylinders is how many corrections a log may have.
const MostCylinders = idletest.MostCylinders

// Correction gives the role of a cylinder's correction.
func Correction(cylinder int) Role { return Role(fmt.Sprintf("correction.%d", cylinder)) }

// Cylinder gives the cylinder whose correction a role is; 0 of another.
func (r Role) Cylinder() int {
	number, ok := strings.CutPrefix(string(r), "correction.")
	if !ok {
		return 0
	}
	n, err := strconv.Atoi(number)
	if err != nil || n < 1 || n > MostCylinders {
		return 0
	}
	return n
}

// Known tells whether it is a role at all.
func (r Role) Known() bool {
	return r.Cylinder() > 0 || slices.Contains([]Role{Time, Speed, Load, Coolant, Quantity, RailPressure, FuelTemperature}, r)
}

// usual is the range that a role's values can lie in, in the role's own unit; what
// lies outside counts as missing. It leaves out what loggers write in place of a
// value: -200, -9999, 65535, and 255 or 215 where a byte is full, -40 where it is
// empty (common practice, no source).
type usual struct{ low, high float64 }

func (r Role) usual(unit string) usual {
	switch r {
	case Speed:
		return usual{0, 6000}
	case Load:
		return usual{0, 100}
	case Coolant, FuelTemperature:
		return usual{-39.9, 150}
	case Quantity:
		return usual{0, 200}
	case RailPressure:
		return usual{0, 400000}
	}
	switch unit {
	case "rpm":
		return usual{-200, 200}
	case "percent":
		return usual{-100, 100}
	}
	return usual{-50, 50}
}

// text says the range for people.
func (u usual) text(unit string) string {
	name := map[string]string{"": "", "degC": " °C", "percent": " %"}
	suffix, ok := name[unit]
	if !ok {
		suffix = " " + unit
	}
	return fmt.Sprintf("outside %g to %g%s", u.low, u.high, suffix)
}

// words splits a name into lower-case words and numbers: "Corr1_Cyl" is corr, 1, cyl.
func words(name string) []string {
	return wordPattern().FindAllString(strings.ToLower(name), -1)
}

var wordPattern = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`\p{L}+|\d+`) })

// The words that names are known by: English and German, as loggers write them.
var (
	correctionWords = []string{"corr", "correction", "corrections", "balance", "balancing", "korrektur", "ausgleich", "mengenausgleich"}
	timeWords       = []string{"time", "zeit", "timestamp", "elapsed", "seconds", "sec", "clock", "uhrzeit", "datetime"}
	notTime         = []string{"injection", "opening", "delay", "duration", "glow", "open", "on", "idle", "ignition"}
	notActual       = []string{"target", "desired", "specified", "setpoint", "nominal", "required", "soll", "demand"}
)

// guess takes a column by its name, which has its unit taken off.
func guess(name string) Role {
	w := words(name)
	has := func(any ...string) bool {
		return slices.ContainsFunc(w, func(x string) bool { return slices.Contains(any, x) })
	}
	temperature := has("temp", "temperature", "temperatur", "t")
	switch {
	case len(w) == 0:
		return ""
	case has(correctionWords...) && !has("temp", "temperature", "pressure", "boost", "altitude", "timing", "angle", "total", "sum", "air"):
		return numbered(w)
	case has(notActual...):
		return ""
	case has("coolant", "ect", "kühlmittel", "kuhlmittel", "kühlmitteltemperatur", "kuhlmitteltemperatur") && !has("pressure", "level", "fan"),
		has("engine", "water", "motor") && has("temp", "temperature", "temperatur") && !has("oil", "air", "intake", "exhaust"):
		return Coolant
	case has("fuel", "kraftstoff") && temperature && !has("rate", "level"),
		has("kraftstofftemperatur"):
		return FuelTemperature
	case has("rail") && has("pressure", "druck", "press"), has("raildruck"):
		return RailPressure
	case has("quantity", "menge", "amount") && has("injected", "injection", "fuel", "idle", "inj"), has("einspritzmenge"):
		return Quantity
	case has("load", "motorlast") && !has("road", "axle"):
		return Load
	case has("rpm", "drehzahl", "motordrehzahl", "revs", "revolutions") && !has("turbo", "fan", "pump", "wheel", "alternator"),
		has("speed") && !has("vehicle", "road", "wheel", "turbo", "fan", "pump", "wind", "shaft", "km", "mph", "gps", "cruise"):
		return Speed
	case has(timeWords...) && !has(notTime...), len(w) == 1 && w[0] == "t":
		return Time
	}
	return ""
}

// numbered takes the last number of a name as a cylinder.
func numbered(w []string) Role {
	for _, word := range slices.Backward(w) {
		if n, err := strconv.Atoi(word); err == nil {
			if n >= 1 && n <= MostCylinders {
				return Correction(n)
			}
			return ""
		}
	}
	return ""
}
