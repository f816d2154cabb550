package quantity

import (
	"fmt"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// ParseVolume reads a volume such as "600 mL", "1,8 L" or "2 qt". Like every
// Parse function here it reads any finite value, negative ones too, and its
// error is an [*Error].
func ParseVolume(text string) (Volume, error) { return parse[Volume](&volume, text) }

// ParseFlow reads a flow such as "0.70 L/h".
func ParseFlow(text string) (Flow, error) { return parse[Flow](&flow, text) }

// ParseLength reads a length such as "8 mm" or "5 ft".
func ParseLength(text string) (Length, error) { return parse[Length](&length, text) }

// ParsePressure reads a pressure such as "17 kPa" or "5 inHg".
func ParsePressure(text string) (Pressure, error) { return parse[Pressure](&pressure, text) }

// ParseTemperature reads a temperature such as "18 °C", "18 degC" or "64 degF".
func ParseTemperature(text string) (Temperature, error) {
	return parse[Temperature](&temperature, text)
}

// ParseTemperatureDifference reads a difference such as "8 K"; "30 °F" is
// 16.67 K, the difference and not the point on the scale.
func ParseTemperatureDifference(text string) (TemperatureDifference, error) {
	return parse[TemperatureDifference](&difference, text)
}

// ParseDensity reads a density such as "808 kg/m3".
func ParseDensity(text string) (Density, error) { return parse[Density](&density, text) }

// ParseViscosity reads a kinematic viscosity such as "2.4 mm2/s".
func ParseViscosity(text string) (Viscosity, error) { return parse[Viscosity](&viscosity, text) }

// ParsePerStroke reads a volume per stroke such as "7.3 mm3/stroke"; a mass per
// stroke is refused, since it takes a density to become a volume.
func ParsePerStroke(text string) (PerStroke, error) { return parse[PerStroke](&perStroke, text) }

// ParseSpeed reads a rotational speed such as "800 rpm".
func ParseSpeed(text string) (Speed, error) { return parse[Speed](&speed, text) }

// ParsePower reads a power such as "150 W".
func ParsePower(text string) (Power, error) { return parse[Power](&power, text) }

// ParseDuration reads a duration such as "30 s" or "3120 h".
func ParseDuration(text string) (Duration, error) { return parse[Duration](&duration, text) }

// ParseDistance reads a driven distance such as "148200 km".
func ParseDistance(text string) (Distance, error) { return parse[Distance](&distance, text) }

// ParseDose reads a dose such as "2 mL/L"; a percentage is by volume.
func ParseDose(text string) (Dose, error) { return parse[Dose](&dose, text) }

// longest is the number of bytes that a text may have.
const longest = 64

func parse[T ~float64](k *kind, text string) (T, error) {
	x, u, err := k.read(text)
	if err != nil {
		return 0, err
	}
	return T(u.toBase(x)), nil
}

// read takes a text apart into its number and its unit.
func (k *kind) read(text string) (float64, unit, error) {
	if reason := unreadable(text); reason != "" {
		return 0, unit{}, k.problem(text, reason)
	}
	number, rest := split(trimmed(text))
	digits, reason := plain(number, rest)
	if reason != "" {
		return 0, unit{}, k.problem(text, reason)
	}
	u, err := k.unitOf(text, trimmed(rest))
	if err != nil {
		return 0, unit{}, err
	}
	x, failed := strconv.ParseFloat(digits, 64)
	if failed != nil {
		return 0, unit{}, k.problem(text, "it does not begin with a number")
	}
	return x, u, nil
}

// unreadable tells why a text is not worth taking apart; empty if it is.
func unreadable(text string) string {
	if len(text) > longest {
		return fmt.Sprintf("it is longer than %d bytes", longest)
	}
	if !utf8.ValidString(text) {
		return "it is not valid UTF-8"
	}
	for _, r := range text {
		if unicode.IsControl(r) || unicode.In(r, unicode.Cf, unicode.Zl, unicode.Zp) {
			return "it has a control character"
		}
	}
	if trimmed(text) == "" {
		return "nothing is given"
	}
	return ""
}

// trimmed cuts the spaces off, also those that do not break.
func trimmed(text string) string { return strings.Trim(text, " \u00a0\u2009\u202f") }

// split gives the sign, digits and marks that a text begins with, the sign in
// ASCII, and the rest.
func split(text string) (number, rest string) {
	if after, found := strings.CutPrefix(text, "\u2212"); found {
		text = "-" + after
	}
	end := 0
	for end < len(text) && (isDigit(text[end]) || text[end] == '.' || text[end] == ',' || (end == 0 && isSign(text[0]))) {
		end++
	}
	return text[:end], text[end:]
}

func isDigit(c byte) bool { return '0' <= c && c <= '9' }

func isSign(c byte) bool { return c == '+' || c == '-' }

// plain gives the number in the form of strconv, or the reason why it cannot be
// taken for one.
func plain(number, rest string) (digits, reason string) {
	unsigned := strings.TrimLeft(number, "+-")
	sign := strings.TrimSuffix(number, unsigned)
	whole, part, marked := cutMark(unsigned)
	switch {
	case strings.Trim(unsigned, ".,") == "":
		return "", notANumber(rest)
	case strings.ContainsAny(part, ".,"):
		return "", "thousands are not grouped here, and there is one decimal mark at most"
	case marked && part == "":
		return "", "digits are missing after the decimal mark"
	case ambiguous(unsigned):
		return "", fmt.Sprintf("the comma could group thousands or be a decimal comma; write %s or %s",
			sign+whole+part, sign+strings.TrimRight(strings.TrimRight(whole+"."+part, "0"), "."))
	}
	if reason := oddRest(whole, rest); reason != "" {
		return "", reason
	}
	return strings.Replace(number, ",", ".", 1), ""
}

// cutMark cuts a number at its first decimal mark.
func cutMark(number string) (whole, part string, marked bool) {
	i := strings.IndexAny(number, ".,")
	if i < 0 {
		return number, "", false
	}
	return number[:i], number[i+1:], true
}

// ambiguous tells whether a comma may group thousands: three digits follow it,
// and what stands before could be a first group, which does not begin with 0.
func ambiguous(unsigned string) bool {
	whole, part, marked := strings.Cut(unsigned, ",")
	return marked && len(part) == 3 && strings.Trim(whole, "0") != ""
}

// notANumber says what stands where the digits should.
func notANumber(rest string) string {
	word := strings.ToLower(rest)
	for _, name := range []string{"nan", "inf", "∞"} {
		if strings.HasPrefix(word, name) {
			return "a finite number is wanted"
		}
	}
	return "it does not begin with a number"
}

// oddRest says what is wrong where the number goes on in a way that is not read
// here; empty if it does not.
func oddRest(whole, rest string) string {
	apart := trimmed(rest)
	switch {
	case strings.HasPrefix(rest, "_"):
		return "underscores are not read in numbers"
	case isExponent(rest):
		return "exponents are not read; write the number out"
	case whole == "0" && len(rest) > 1 && (rest[0] == 'x' || rest[0] == 'X'):
		return "hexadecimal numbers are not read"
	case isFraction(apart):
		return "fractions are not read; write it with a decimal mark"
	case isGroup(rest, apart):
		return "thousands are not grouped here; write the digits together"
	}
	return ""
}

// isExponent recognises what follows the digits in 1e3, 1E-3 and 1e.
func isExponent(rest string) bool {
	if rest == "" || (rest[0] != 'e' && rest[0] != 'E') {
		return false
	}
	after := strings.TrimLeft(rest[1:], "+-")
	return after == "" || after[0] == ' ' || isDigit(after[0])
}

// isFraction recognises what follows the first digits in 5/16 and 1 1/2, as
// against 800 1/min.
func isFraction(apart string) bool {
	after, found := strings.CutPrefix(strings.TrimLeft(apart, "0123456789"), "/")
	return found && after != "" && isDigit(after[0])
}

// isGroup recognises more digits after a space or an apostrophe, but not the
// unit 1/min.
func isGroup(rest, apart string) bool {
	for _, mark := range []string{"'", "’"} {
		if after, found := strings.CutPrefix(rest, mark); found && after != "" && isDigit(after[0]) {
			return true
		}
	}
	return apart != "" && isDigit(apart[0]) && !strings.HasPrefix(apart, "1/")
}

// unitOf finds the unit of a number, or says why there is none.
func (k *kind) unitOf(text, written string) (unit, error) {
	if written == "" {
		return unit{}, k.unitProblem(text, "a unit is missing")
	}
	spelling := canonical(written)
	if u, known := k.find(spelling); known {
		return u, nil
	}
	for _, other := range kinds() {
		if _, known := other.find(spelling); known {
			return unit{}, k.misplaced(text, withArticle(other.name), "")
		}
	}
	if f, known := findForeign(spelling); known {
		return unit{}, k.misplaced(text, f.what, f.remark)
	}
	return unit{}, k.unitProblem(text, k.unknown(written, spelling))
}

// unknown says what is wrong with a unit that is nothing's.
func (k *kind) unknown(written, spelling string) string {
	first, more, several := strings.Cut(written, " ")
	if _, known := k.find(canonical(first)); known && several {
		return fmt.Sprintf("one number with one unit is wanted, and %q follows them", trimmed(more))
	}
	if near := k.nearest(spelling); len(near) > 0 {
		return fmt.Sprintf("the unit %q is not known, did you mean %s?", written, strings.Join(near, " or "))
	}
	return fmt.Sprintf("the unit %q is not known", written)
}
