// Package quantity holds the physical quantities of the work as types of their
// own, reads them as people write them and prints them as people want to see
// them. It is the only place where units are converted or numbers get their
// digits.
//
// Words: a quantity is what is measured (a volume, a pressure); a unit is what
// it is written in. Each quantity is a float64 kept in one unit, named at its
// type; arithmetic between quantities is done in those. [Litres] and the like
// make a quantity from a number, v.Litres() gives the number back, [ParseVolume]
// and the like read text, a [Printer] writes it, and a [Phrase] is a sentence
// that waits for its printer.
//
// Format of a quantity in text: a sign if wanted (+, - or U+2212), decimal
// digits with at most one decimal mark, an optional space (but before 1/min a
// needed one), one unit:
//
//	0.70 L/h   8 mm   18 °C   -5degC   2 qt   25 psi   7,3 mm³/stroke
//
// The mark is a point; a comma is read too where it cannot be meant to group
// thousands. Upper and lower case differ in units, since M is mega and m milli.
// Micro is u, U+00B5 or U+03BC; powers are 3, ³ or ^3; degC, ℃ and C mean °C.
// Which units there are is in [Accepted]. gal, qt, pt and floz are US measures.
//
// Refused, with an [*Error] that says why: a number without a unit, a unit of
// another quantity, two units, grouped thousands, fractions, exponents,
// hexadecimal, underscores, NaN and infinity, control characters, more than 64
// bytes. Whether a value makes sense is for the caller to judge: negative ones
// are read.
//
// Sources of the factors: NIST SP 811 appendix B and NIST Handbook 44 appendix
// C; all are exact by definition except that of hp, which is rounded to float64.
// Conventional mercury and water (13 595.1 and 1000 kg/m³ at standard gravity)
// stand behind mmHg, inHg and inH2O.
package quantity

// Volume is in m³.
type Volume float64

// Flow is a volume each time, in m³/s.
type Flow float64

// Length is in m.
type Length float64

// Pressure is in Pa; whether it is absolute, above or below the atmosphere is
// for its name to say.
type Pressure float64

// Temperature is a point on the scale, in °C. Differences are of type
// [TemperatureDifference].
type Temperature float64

// TemperatureDifference is in K.
type TemperatureDifference float64

// Density is in kg/m³.
type Density float64

// Viscosity is kinematic, in m²/s.
type Viscosity float64

// PerStroke is the volume that one injector delivers each working stroke, or a
// difference of such volumes, in m³.
type PerStroke float64

// Speed is rotational, in revolutions each second.
type Speed float64

// Power is in W; a flow of heat is a power too.
type Power float64

// Duration is in s. Unlike time.Duration it has fractions and no largest value.
type Duration float64

// Distance is driven, in m.
type Distance float64

// Dose is the volume of additive for each volume of fuel, without a unit.
type Dose float64

// Litres gives the volume of so many L.
func Litres(x float64) Volume { return Volume(perThousand.toBase(x)) }

// Millilitres gives the volume of so many mL.
func Millilitres(x float64) Volume { return Volume(perMillion.toBase(x)) }

// Litres gives the volume in L.
func (v Volume) Litres() float64 { return perThousand.fromBase(float64(v)) }

// Millilitres gives the volume in mL.
func (v Volume) Millilitres() float64 { return perMillion.fromBase(float64(v)) }

// LitresPerHour gives the flow of so many L/h.
func LitresPerHour(x float64) Flow { return Flow(litrePerHour.toBase(x)) }

// LitresPerHour gives the flow in L/h.
func (f Flow) LitresPerHour() float64 { return litrePerHour.fromBase(float64(f)) }

// Over gives the volume that the flow delivers in a time.
func (f Flow) Over(d Duration) Volume { return Volume(float64(f) * float64(d)) }

// Metres gives the length of so many m.
func Metres(x float64) Length { return Length(x) }

// Millimetres gives the length of so many mm.
func Millimetres(x float64) Length { return Length(perThousand.toBase(x)) }

// Metres gives the length in m.
func (l Length) Metres() float64 { return float64(l) }

// Millimetres gives the length in mm.
func (l Length) Millimetres() float64 { return perThousand.fromBase(float64(l)) }

// Pascals gives the pressure of so many Pa.
func Pascals(x float64) Pressure { return Pressure(x) }

// Kilopascals gives the pressure of so many kPa.
func Kilopascals(x float64) Pressure { return Pressure(thousand.toBase(x)) }

// Pascals gives the pressure in Pa.
func (p Pressure) Pascals() float64 { return float64(p) }

// Kilopascals gives the pressure in kPa.
func (p Pressure) Kilopascals() float64 { return thousand.fromBase(float64(p)) }

// Celsius gives the temperature of so many °C.
func Celsius(x float64) Temperature { return Temperature(x) }

// Celsius gives the temperature in °C.
func (t Temperature) Celsius() float64 { return float64(t) }

// Kelvin gives the temperature in K: 273.15 more than in °C.
func (t Temperature) Kelvin() float64 { return kelvinScale.fromBase(float64(t)) }

// Minus gives how much hotter t is than u.
func (t Temperature) Minus(u Temperature) TemperatureDifference {
	return TemperatureDifference(t - u)
}

// Plus gives the temperature that is d above t.
func (t Temperature) Plus(d TemperatureDifference) Temperature { return t + Temperature(d) }

// Kelvins gives the difference of so many K.
func Kelvins(x float64) TemperatureDifference { return TemperatureDifference(x) }

// Kelvins gives the difference in K.
func (d TemperatureDifference) Kelvins() float64 { return float64(d) }

// KilogramsPerCubicMetre gives the density of so many kg/m³.
func KilogramsPerCubicMetre(x float64) Density { return Density(x) }

// KilogramsPerCubicMetre gives the density in kg/m³.
func (d Density) KilogramsPerCubicMetre() float64 { return float64(d) }

// SquareMillimetresPerSecond gives the viscosity of so many mm²/s, which are cSt.
func SquareMillimetresPerSecond(x float64) Viscosity { return Viscosity(perMillion.toBase(x)) }

// SquareMillimetresPerSecond gives the viscosity in mm²/s.
func (v Viscosity) SquareMillimetresPerSecond() float64 { return perMillion.fromBase(float64(v)) }

// SquareMetresPerSecond gives the viscosity in m²/s.
func (v Viscosity) SquareMetresPerSecond() float64 { return float64(v) }

// CubicMillimetres gives the volume per stroke of so many mm³.
func CubicMillimetres(x float64) PerStroke { return PerStroke(perThousandMillion.toBase(x)) }

// CubicMillimetres gives the volume per stroke in mm³.
func (p PerStroke) CubicMillimetres() float64 { return perThousandMillion.fromBase(float64(p)) }

// RPM gives the speed of so many revolutions each minute.
func RPM(x float64) Speed { return Speed(perMinute.toBase(x)) }

// RPM gives the speed in revolutions each minute.
func (s Speed) RPM() float64 { return perMinute.fromBase(float64(s)) }

// Watts gives the power of so many W.
func Watts(x float64) Power { return Power(x) }

// Watts gives the power in W.
func (p Power) Watts() float64 { return float64(p) }

// Seconds gives the duration of so many s.
func Seconds(x float64) Duration { return Duration(x) }

// Minutes gives the duration of so many min.
func Minutes(x float64) Duration { return Duration(minute.toBase(x)) }

// Hours gives the duration of so many h.
func Hours(x float64) Duration { return Duration(hour.toBase(x)) }

// Seconds gives the duration in s.
func (d Duration) Seconds() float64 { return float64(d) }

// Minutes gives the duration in min.
func (d Duration) Minutes() float64 { return minute.fromBase(float64(d)) }

// Hours gives the duration in h.
func (d Duration) Hours() float64 { return hour.fromBase(float64(d)) }

// Kilometres gives the distance of so many km.
func Kilometres(x float64) Distance { return Distance(thousand.toBase(x)) }

// Kilometres gives the distance in km.
func (d Distance) Kilometres() float64 { return thousand.fromBase(float64(d)) }

// MillilitresPerLitre gives the dose of so many mL of additive for each L of fuel.
func MillilitresPerLitre(x float64) Dose { return Dose(perThousand.toBase(x)) }

// MillilitresPerLitre gives the dose in mL of additive for each L of fuel.
func (d Dose) MillilitresPerLitre() float64 { return perThousand.fromBase(float64(d)) }
