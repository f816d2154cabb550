package report

import "daytank/planner/quantity"

// Amounts writes the numbers of the models in the units and with the decimal mark of a
// printer. What is not known is a dash.
type Amounts struct{ quantity.Printer }

// unknown stands where there is no number.
const unknown = "-"

// ML writes a volume given in mL.
func (a Amounts) ML(ml float64) string { return a.VolumeFine(quantity.Millilitres(ml)) }

// MLOr writes a volume given in mL, where there is one.
func (a Amounts) MLOr(ml *float64) string { return orDash(ml, a.ML) }

// Celsius writes a temperature given in °C to the degree.
func (a Amounts) Celsius(c float64) string { return a.Temperature(quantity.Celsius(c)) }

// CelsiusOr writes a temperature given in °C to the degree, where there is one.
func (a Amounts) CelsiusOr(c *float64) string { return orDash(c, a.Celsius) }

// CelsiusFine writes a temperature given in °C to a tenth, where there is one.
func (a Amounts) CelsiusFine(c *float64) string {
	return orDash(c, func(x float64) string { return a.TemperatureFine(quantity.Celsius(x)) })
}

// MM writes a height given in mm, where there is one.
func (a Amounts) MM(mm *float64) string {
	return orDash(mm, func(x float64) string { return a.Length(quantity.Millimetres(x)) })
}

// Min writes minutes to the minute.
func (a Amounts) Min(minutes float64) string { return a.Sprintf("%.0f min", round(minutes, 0)) }

// Tenths writes a number to a tenth.
func (a Amounts) Tenths(x float64) string { return a.Sprintf("%.1f", x) }

// Hundredths writes a number to a hundredth.
func (a Amounts) Hundredths(x float64) string { return a.Sprintf("%.2f", x) }

// LPerH writes a flow given in L/h.
func (a Amounts) LPerH(x float64) string { return a.Flow(quantity.LitresPerHour(x)) }

// Clock writes seconds as minutes and seconds, 7:05.
func (a Amounts) Clock(s float64) string { return seconds(s) }

// ClockOr writes seconds as minutes and seconds, where there are any.
func (a Amounts) ClockOr(s *float64) string { return orDash(s, seconds) }

func orDash(x *float64, write func(float64) string) string {
	if x == nil {
		return unknown
	}
	return write(*x)
}
