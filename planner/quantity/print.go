package quantity

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Printer writes quantities, always with their unit and with the digits that
// they deserve. The zero Printer writes metric units and a decimal point. What
// it writes can be read back, except hours with minutes ("1 h 05 min").
//
// Halves are rounded away from zero, no zero has a minus, and what is no finite
// number is written as "unknown".
type Printer struct {
	System       System
	DecimalComma bool
}

// Volume writes a volume to 0.1 L from 10 L on, to 0.01 L from 1 L on, to 10 mL
// from 100 mL on, and else to 1 mL; in US measures gallons, quarts below one
// gallon and fluid ounces below one quart.
func (p Printer) Volume(v Volume) string { return p.write(&volume, float64(v), volumeSteps) }

// VolumeFine writes a volume to 1 mL, or to 0.1 fl oz.
func (p Printer) VolumeFine(v Volume) string { return p.write(&volume, float64(v), volumeFineSteps) }

// Flow writes a flow in L/h or gal/h, to about three digits.
func (p Printer) Flow(f Flow) string { return p.write(&flow, float64(f), flowSteps) }

// Length writes a length in mm below 1 m and in m from there on, or in inches
// below 3 ft and in feet from there on.
func (p Printer) Length(l Length) string { return p.write(&length, float64(l), lengthSteps) }

// Pressure writes a pressure in kPa or psi.
func (p Printer) Pressure(x Pressure) string { return p.write(&pressure, float64(x), pressureSteps) }

// Temperature writes a temperature to 1 °C or 1 °F.
func (p Printer) Temperature(t Temperature) string {
	return p.write(&temperature, float64(t), temperatureSteps)
}

// TemperatureFine writes a temperature to 0.1 °C or 0.1 °F.
func (p Printer) TemperatureFine(t Temperature) string {
	return p.write(&temperature, float64(t), temperatureFineSteps)
}

// TemperatureDifference writes a difference in K or in °F.
func (p Printer) TemperatureDifference(d TemperatureDifference) string {
	return p.write(&difference, float64(d), differenceSteps)
}

// Density writes a density to 1 kg/m³ or to 0.01 lb/gal.
func (p Printer) Density(d Density) string { return p.write(&density, float64(d), densitySteps) }

// Viscosity writes a kinematic viscosity in mm²/s or, the same number, in cSt.
func (p Printer) Viscosity(v Viscosity) string {
	return p.write(&viscosity, float64(v), viscositySteps)
}

// PerStroke writes a volume per stroke in mm³/stroke in both systems, since
// control units show no other.
func (p Printer) PerStroke(x PerStroke) string {
	return p.write(&perStroke, float64(x), perStrokeSteps)
}

// Speed writes a rotational speed to 1 rpm.
func (p Printer) Speed(s Speed) string { return p.write(&speed, float64(s), speedSteps) }

// Power writes a power in W, from 1 kW on in kW, in both systems.
func (p Printer) Power(x Power) string { return p.write(&power, float64(x), powerSteps) }

// Distance writes a driven distance in km or miles.
func (p Printer) Distance(d Distance) string { return p.write(&distance, float64(d), distanceSteps) }

// Dose writes a dose in mL/L or fl oz/gal.
func (p Printer) Dose(d Dose) string { return p.write(&dose, float64(d), doseSteps) }

// write writes a value in the step that it lies in.
func (p Printer) write(k *kind, value float64, all steps) string {
	if math.IsNaN(value) || math.IsInf(value, 0) {
		return "unknown"
	}
	x, s := pick(k, value, all.in(p.System))
	return p.number(x, s) + " " + s.label
}

// pick finds the first step that a value lies in after rounding, and gives the
// rounded value in its unit.
func pick(k *kind, value float64, all []step) (float64, step) {
	var x float64
	for _, s := range all {
		u, _ := k.find(s.unit)
		x = rounded(u.fromBase(value), s.decimals)
		if math.Abs(x) < s.below {
			return x, s
		}
	}
	return x, all[len(all)-1]
}

// rounded rounds to decimals, halves away from zero; with -1 to the ten. Zero
// comes out without a sign.
func rounded(x float64, decimals int) float64 {
	if decimals < 0 {
		return math.Round(x/10)*10 + 0
	}
	scale := powersOfTen[decimals]
	return math.Round(x*scale)/scale + 0
}

func (p Printer) number(x float64, s step) string {
	text := strconv.FormatFloat(x, 'f', max(0, s.decimals), 64)
	if strings.Contains(text, ".") && (s.trim || x == 0) {
		text = strings.TrimRight(strings.TrimRight(text, "0"), ".")
	}
	return p.marked(text)
}

// VolumeIn gives a volume as a number in the unit that [Printer.VolumeFine] writes, for
// the axes of pictures, and that unit.
func (p Printer) VolumeIn(v Volume) (float64, string) {
	return p.in(&volume, float64(v), volumeFineSteps)
}

// TemperatureIn gives a temperature as a number in °C or °F, and that unit.
func (p Printer) TemperatureIn(t Temperature) (float64, string) {
	return p.in(&temperature, float64(t), temperatureSteps)
}

// in gives a value in the largest unit that it may be written in, not rounded.
func (p Printer) in(k *kind, value float64, all steps) (float64, string) {
	written := all.in(p.System)
	last := written[len(written)-1]
	u, _ := k.find(last.unit)
	return u.fromBase(value), last.label
}

// Sprintf is fmt.Sprintf with the decimal mark that is wanted in every argument that is a
// float64. Texts among the arguments stay as they are.
func (p Printer) Sprintf(format string, args ...any) string {
	if !p.DecimalComma {
		return fmt.Sprintf(format, args...)
	}
	marked := make([]any, len(args))
	for i, arg := range args {
		marked[i] = arg
		if x, is := arg.(float64); is {
			marked[i] = number{p, x}
		}
	}
	return fmt.Sprintf(format, marked...)
}

// number is a float64 that is formatted with the decimal mark that is wanted.
type number struct {
	p Printer
	x float64
}

// Format implements fmt.Formatter.
func (n number) Format(f fmt.State, verb rune) {
	_, _ = f.Write([]byte(n.p.marked(fmt.Sprintf(fmt.FormatString(f, verb), n.x)))) // a State does not fail
}

// marked puts the decimal mark that is wanted.
func (p Printer) marked(number string) string {
	if p.DecimalComma {
		return strings.Replace(number, ".", ",", 1)
	}
	return number
}

// Duration writes a duration in seconds below two minutes, then in minutes,
// from one hour on as "1 h 05 min", and from 100 hours on in hours.
func (p Printer) Duration(d Duration) string { return p.time(d, durationSteps) }

// DurationFine writes a duration like [Printer.Duration], but minutes to 0.1 min.
func (p Printer) DurationFine(d Duration) string { return p.time(d, durationFineSteps) }

// time writes hours with minutes from the last step's beginning to 100 hours.
func (p Printer) time(d Duration, all steps) string {
	_, s := pick(&duration, float64(d), all.in(p.System))
	minutes := math.Round(math.Abs(d.Minutes()))
	if s.below != ever || !(minutes < 6000) {
		return p.write(&duration, float64(d), all)
	}
	sign := ""
	if d < 0 {
		sign = "-"
	}
	return fmt.Sprintf("%s%.0f h %02.0f min", sign, math.Floor(minutes/60), math.Mod(minutes, 60))
}
