package quantity

import (
	"errors"
	"math"
	"strings"
	"testing"
	"unicode"

	"github.com/google/go-cmp/cmp"
)

// reader is a Parse function with its type taken off.
type reader struct {
	name  string
	parse func(string) (float64, error)
}

func readers() []reader {
	return []reader{
		{"volume", plainly(ParseVolume)},
		{"flow", plainly(ParseFlow)},
		{"length", plainly(ParseLength)},
		{"pressure", plainly(ParsePressure)},
		{"temperature", plainly(ParseTemperature)},
		{"temperature difference", plainly(ParseTemperatureDifference)},
		{"density", plainly(ParseDensity)},
		{"viscosity", plainly(ParseViscosity)},
		{"injected volume", plainly(ParsePerStroke)},
		{"rotational speed", plainly(ParseSpeed)},
		{"power", plainly(ParsePower)},
		{"duration", plainly(ParseDuration)},
		{"distance", plainly(ParseDistance)},
		{"dose", plainly(ParseDose)},
	}
}

func plainly[T ~float64](parse func(string) (T, error)) func(string) (float64, error) {
	return func(text string) (float64, error) {
		x, err := parse(text)
		return float64(x), err
	}
}

func readerNamed(t testing.TB, name string) reader {
	t.Helper()
	for _, r := range readers() {
		if r.name == name {
			return r
		}
	}
	t.Fatalf("there is no reader of %q", name)
	return reader{}
}

func TestEveryQuantityHasItsReader(t *testing.T) {
	var names []string
	for _, r := range readers() {
		names = append(names, r.name)
		_, err := r.parse("1")
		var refused *Error
		if !errors.As(err, &refused) || refused.Quantity != r.name {
			t.Errorf("the reader of %s says %v", r.name, err)
		}
	}
	if diff := cmp.Diff(Quantities(), names); diff != "" {
		t.Errorf("quantities (-) and readers (+):\n%s", diff)
	}
	if got := Accepted("mass"); got != nil {
		t.Errorf("units accepted for a mass: %v", got)
	}
}

func TestSpellings(t *testing.T) {
	for _, row := range []struct {
		kind string
		text string
		want float64 // in the unit that the quantity is kept in
	}{
		{"volume", "2 L", 2e-3},
		{"volume", "2L", 2e-3},
		{"volume", "  2   l ", 2e-3},
		{"volume", "2\u00a0L", 2e-3},
		{"volume", "2\u202fL", 2e-3},
		{"volume", "+2 L", 2e-3},
		{"volume", "-2 L", -2e-3},
		{"volume", "\u22122 L", -2e-3},
		{"volume", ".5 L", 0.5e-3},
		{"volume", ",5 L", 0.5e-3},
		{"volume", "0,70 L", 0.7e-3},
		{"volume", "0,125 L", 0.125e-3},
		{"volume", "1,2000 L", 1.2e-3},
		{"volume", "1.200 L", 1.2e-3},
		{"volume", "1.2 L", 1.2e-3},
		{"volume", "1,25 L", 1.25e-3},
		{"volume", "010 mL", 10e-6},
		{"volume", "0008 mL", 8e-6},
		{"volume", "600 ml", 600e-6},
		{"volume", "60 cl", 600e-6},
		{"volume", "6 dl", 600e-6},
		{"volume", "600 cc", 600e-6},
		{"volume", "600 cm³", 600e-6},
		{"volume", "600 cm^3", 600e-6},
		{"volume", "5 uL", 5e-9},
		{"volume", "5 ul", 5e-9},
		{"volume", "5 \u00b5L", 5e-9},
		{"volume", "5 \u03bcL", 5e-9},
		{"volume", "1 US gal", 3.785411784e-3},
		{"volume", "8 fl oz", 8 * 29.5735295625e-6},
		{"volume", "1 imp gal", 4.54609e-3},
		{"flow", "0,70 L/h", 0.7e-3 / 3600},
		{"flow", "0.70 l/h", 0.7e-3 / 3600},
		{"flow", "0.70 L / h", 0.7e-3 / 3600},
		{"flow", "600 ml/min", 10e-6},
		{"flow", "600 cc/min", 10e-6},
		{"flow", "3.6 m³/h", 1e-3},
		{"length", "8 mm", 8e-3},
		{"length", "0.3125 in", 0.0079375},
		{"pressure", "25 psi", 172368.93232920903},
		{"pressure", "25 PSI", 172368.93232920903},
		{"pressure", "1 MPa", 1e6}, // not 10.2 bar
		{"temperature", "18 °C", 18},
		{"temperature", "18°C", 18},
		{"temperature", "18 ° C", 18},
		{"temperature", "18 degC", 18},
		{"temperature", "18 deg C", 18},
		{"temperature", "18 ℃", 18},
		{"temperature", "18 C", 18},
		{"temperature", "18 ºC", 18},
		{"temperature", "18 ˚C", 18},
		{"temperature", "64.4 degF", 18},
		{"temperature", "64.4 °F", 18},
		{"temperature", "64.4 ℉", 18},
		{"temperature", "64.4 F", 18},
		{"temperature", "291.15 K", 18},
		{"temperature", "-40 °F", -40},
		{"temperature difference", "8 K", 8},
		{"temperature difference", "8 degC", 8},
		{"temperature difference", "9 degF", 5},
		{"temperature difference", "9 °F", 5},
		{"density", "808 kg/m3", 808},
		{"density", "808 kg/m³", 808},
		{"density", "808 kg/m^3", 808},
		{"density", "808 g/l", 808},
		{"density", "0.808 kg/l", 808},
		{"density", "0,808 g/ml", 808},
		{"viscosity", "2.4 mm2/s", 2.4e-6},
		{"viscosity", "2.4 mm²/s", 2.4e-6},
		{"viscosity", "2.4 mm^2/s", 2.4e-6},
		{"injected volume", "7.3 mm3/stroke", 7.3e-9},
		{"injected volume", "7,3 mm³/stroke", 7.3e-9},
		{"injected volume", "7.3 mm3", 7.3e-9},
		{"injected volume", "7.3 mm^3", 7.3e-9},
		{"injected volume", "7.3 µL/stroke", 7.3e-9},
		{"injected volume", "-1.2 mm3/stroke", -1.2e-9},
		{"rotational speed", "900 rpm", 15},
		{"rotational speed", "900 RPM", 15},
		{"rotational speed", "900 1/min", 15},
		{"rotational speed", "900 min⁻¹", 15},
		{"rotational speed", "900 min^-1", 15},
		{"rotational speed", "900 rev/min", 15},
		{"duration", "3120 h", 3120 * 3600},
		{"duration", "1,5 min", 90},
		{"distance", "148200 km", 148.2e6},
		{"dose", "2 mL/L", 2e-3},
		{"dose", "2 ml/l", 2e-3},
		{"dose", "0.2 %", 2e-3},
		{"dose", "1 fl oz/gal", 1.0 / 128},
	} {
		got, err := readerNamed(t, row.kind).parse(row.text)
		if err != nil {
			t.Errorf("%v", err)
		}
		if math.Abs(got-row.want) > 1e-15*math.Abs(row.want) {
			t.Errorf("%s %q reads as %v, want %v", row.kind, row.text, got, row.want)
		}
	}
}

func TestZeroHasNoSign(t *testing.T) {
	for _, text := range []string{"-0 mm", "\u22120.00 mm", "-,0 mm"} {
		if got, err := ParseLength(text); err != nil || math.Signbit(float64(got)) {
			t.Errorf("%q reads as %v (%v)", text, float64(got), err)
		}
	}
}

func TestRefusals(t *testing.T) {
	for _, row := range []struct {
		kind, text, want string // want: the whole message, without the units
	}{
		{"volume", "", `volume "": nothing is given`},
		{"volume", "  \u00a0 ", `volume "  \u00a0 ": nothing is given`},
		{"volume", "2", `volume "2": a unit is missing`},
		{"volume", "2 ", `volume "2 ": a unit is missing`},
		{"volume", "L", `volume "L": it does not begin with a number`},
		{"volume", "two L", `volume "two L": it does not begin with a number`},
		{"volume", "- L", `volume "- L": it does not begin with a number`},
		{"volume", "--2 L", `volume "--2 L": it does not begin with a number`},
		{"volume", "- 2 L", `volume "- 2 L": it does not begin with a number`},
		{"volume", ". L", `volume ". L": it does not begin with a number`},
		{"volume", "２ L", `volume "２ L": it does not begin with a number`},
		{"volume", "٣ L", `volume "٣ L": it does not begin with a number`},
		{"volume", "NaN L", `volume "NaN L": a finite number is wanted`},
		{"volume", "nan", `volume "nan": a finite number is wanted`},
		{"volume", "Inf L", `volume "Inf L": a finite number is wanted`},
		{"volume", "-inf L", `volume "-inf L": a finite number is wanted`},
		{"volume", "+Infinity L", `volume "+Infinity L": a finite number is wanted`},
		{"volume", "∞ L", `volume "∞ L": a finite number is wanted`},
		{"volume", "0x10 L", `volume "0x10 L": hexadecimal numbers are not read`},
		{"volume", "0X1p4 L", `volume "0X1p4 L": hexadecimal numbers are not read`},
		{"volume", "0b1 L", `volume "0b1 L": the unit "b1 L" is not known`},
		{"volume", "1e3 mL", `volume "1e3 mL": exponents are not read; write the number out`},
		{"volume", "1E-3 L", `volume "1E-3 L": exponents are not read; write the number out`},
		{"volume", "1e mL", `volume "1e mL": exponents are not read; write the number out`},
		{"volume", "1e", `volume "1e": exponents are not read; write the number out`},
		{"volume", "e3 mL", `volume "e3 mL": it does not begin with a number`},
		{"volume", "1_000 mL", `volume "1_000 mL": underscores are not read in numbers`},
		{"volume", "_1 mL", `volume "_1 mL": it does not begin with a number`},
		{"volume", "1,200 mL", `volume "1,200 mL": the comma could group thousands or be a decimal comma; write 1200 or 1.2`},
		{"volume", "-12,345 mL", `volume "-12,345 mL": the comma could group thousands or be a decimal comma; write -12345 or -12.345`},
		{"volume", "1,000 L", `volume "1,000 L": the comma could group thousands or be a decimal comma; write 1000 or 1`},
		{"volume", "1.200,5 mL", `volume "1.200,5 mL": thousands are not grouped here, and there is one decimal mark at most`},
		{"volume", "1,200.5 mL", `volume "1,200.5 mL": thousands are not grouped here, and there is one decimal mark at most`},
		{"volume", "1.200.000 mL", `volume "1.200.000 mL": thousands are not grouped here, and there is one decimal mark at most`},
		{"volume", "1..2 mL", `volume "1..2 mL": thousands are not grouped here, and there is one decimal mark at most`},
		{"volume", "1 200 mL", `volume "1 200 mL": thousands are not grouped here; write the digits together`},
		{"volume", "1\u00a0200 mL", `volume "1\u00a0200 mL": thousands are not grouped here; write the digits together`},
		{"volume", "1'200 mL", `volume "1'200 mL": thousands are not grouped here; write the digits together`},
		{"volume", "1’200 mL", `volume "1’200 mL": thousands are not grouped here; write the digits together`},
		{"volume", "1. L", `volume "1. L": digits are missing after the decimal mark`},
		{"volume", "1, L", `volume "1, L": digits are missing after the decimal mark`},
		{"length", "5/16 in", `length "5/16 in": fractions are not read; write it with a decimal mark`},
		{"length", "1 1/2 in", `length "1 1/2 in": fractions are not read; write it with a decimal mark`},
		{"volume", "2 L 3 mL", `volume "2 L 3 mL": one number with one unit is wanted, and "3 mL" follows them`},
		{"volume", "2 L mL", `volume "2 L mL": one number with one unit is wanted, and "mL" follows them`},
		{"duration", "1 h 05 min", `duration "1 h 05 min": one number with one unit is wanted, and "05 min" follows them`},
		{"volume", "2 L\n", `volume "2 L\n": it has a control character`},
		{"volume", "2\tL", `volume "2\tL": it has a control character`},
		{"volume", "2\x00L", `volume "2\x00L": it has a control character`},
		{"volume", "2\u200bL", `volume "2\u200bL": it has a control character`},
		{"volume", "\ufeff2 L", `volume "\ufeff2 L": it has a control character`},
		{"volume", "2\u2028L", `volume "2\u2028L": it has a control character`},
		{"volume", "2\xb5L", `volume "2\xb5L": it is not valid UTF-8`},
		{"volume", "2 ML", `volume "2 ML": the unit "ML" is not known, did you mean mL?`},
		{"volume", "2 GAL", `volume "2 GAL": the unit "GAL" is not known, did you mean gal?`},
		{"pressure", "2 Kpa", `pressure "2 Kpa": the unit "Kpa" is not known, did you mean kPa?`},
		{"volume", "2 buckets", `volume "2 buckets": the unit "buckets" is not known`},
		{"rotational speed", "8001/min", `rotational speed "8001/min": the unit "/min" is not known`},
		{"volume", "25 psi", `"25 psi" is a pressure, a volume is wanted`},
		{"volume", "25 PSI", `"25 PSI" is a pressure, a volume is wanted`},
		{"volume", "2 L/h", `"2 L/h" is a flow, a volume is wanted`},
		{"flow", "2 L", `"2 L" is a volume, a flow is wanted`},
		{"pressure", "1.5 m", `"1.5 m" is a length, a pressure is wanted`},
		{"duration", "5 m", `"5 m" is a length, a duration is wanted`},
		{"length", "5 min", `"5 min" is a duration, a length is wanted`},
		{"distance", "8 mm", `"8 mm" is a length, a distance is wanted`},
		{"length", "5 km", `"5 km" is a distance, a length is wanted`},
		{"injected volume", "7 mL", `"7 mL" is a volume, an injected volume is wanted`},
		{"volume", "7 mm3/stroke", `"7 mm3/stroke" is an injected volume, a volume is wanted`},
		{"density", "8 K", `"8 K" is a temperature, a density is wanted`},
		{"injected volume", "6 mg/stroke", `"6 mg/stroke" is a mass per stroke, an injected volume is wanted; its volume takes the density as well`},
		{"volume", "2 kg", `"2 kg" is a mass, a volume is wanted; its volume takes the density as well`},
		{"flow", "2 kg/h", `"2 kg/h" is a mass flow, a flow is wanted; its volume takes the density as well`},
		{"volume", "8 oz", `"8 oz" is a mass or a volume, a volume is wanted; write floz for the volume`},
		{"viscosity", "2 cP", `"2 cP" is a dynamic viscosity, a viscosity is wanted; divided by the density it is a viscosity in mm2/s`},
		{"viscosity", "2 mPa·s", `"2 mPa·s" is a dynamic viscosity, a viscosity is wanted; divided by the density it is a viscosity in mm2/s`},
		{"pressure", "20 mPa", `"20 mPa" is in millipascal or megapascal, a pressure is wanted; write Pa, kPa or MPa`},
		{"temperature", "20°", `"20°" is in an unknown degree, a temperature is wanted; write °C or °F`},
		{"temperature", "20 deg", `"20 deg" is in an unknown degree, a temperature is wanted; write °C or °F`},
		{"volume", strings.Repeat("1", 62) + " mL", `volume "` + strings.Repeat("1", 62) + ` m…": it is longer than 64 bytes`},
		{"volume", strings.Repeat("µ", 40), `volume "` + strings.Repeat("µ", 32) + `…": it is longer than 64 bytes`},
		{"volume", "2" + strings.Repeat("µ", 40), `volume "2` + strings.Repeat("µ", 31) + `…": it is longer than 64 bytes`},
	} {
		got, err := readerNamed(t, row.kind).parse(row.text)
		var refused *Error
		if !errors.As(err, &refused) {
			t.Errorf("%s %q reads as %v (%v)", row.kind, row.text, got, err)
			continue
		}
		want := row.want
		if refused.Accepted != nil {
			want += "; accepted: " + strings.Join(Accepted(row.kind), ", ")
		}
		if diff := cmp.Diff(want, err.Error()); diff != "" {
			t.Errorf("%s %q (-want +got):\n%s", row.kind, row.text, diff)
		}
		if got != 0 {
			t.Errorf("%s %q is refused and gives %v", row.kind, row.text, got)
		}
	}
}

func TestErrorFields(t *testing.T) {
	for text, want := range map[string]*Error{
		"8": {
			Quantity: "dose", Text: "8", Reason: "a unit is missing",
			Accepted: []string{"mL/L", "L/m3", "%", "floz/gal"},
		},
		"8 m": {
			Quantity: "dose", Text: "8 m", Reason: "is a length, a dose is wanted", Found: "a length",
			Accepted: []string{"mL/L", "L/m3", "%", "floz/gal"},
		},
		"8,000 mL/L": {
			Quantity: "dose", Text: "8,000 mL/L",
			Reason: "the comma could group thousands or be a decimal comma; write 8000 or 8",
		},
	} {
		_, err := ParseDose(text)
		var got *Error
		if !errors.As(err, &got) {
			t.Fatalf("%q: %v is no *Error", text, err)
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("%q (-want +got):\n%s", text, diff)
		}
	}
}

// TestLongestText: 64 bytes are read, and however many digits there are, the
// value is finite.
func TestLongestText(t *testing.T) {
	text := strings.Repeat("9", 59) + " impg"
	if len(text) != longest {
		t.Fatalf("%d bytes", len(text))
	}
	if _, err := ParseVolume(text); err == nil || strings.Contains(err.Error(), "longer") {
		t.Errorf("%v", err)
	}
	got, err := ParsePressure(strings.Repeat("9", 60) + " MPa")
	if err != nil || math.IsInf(float64(got), 0) {
		t.Errorf("%v (%v)", got, err)
	}
}

func FuzzParse(f *testing.F) {
	for _, text := range []string{
		"0.70 L/h", "8 mm", "18 °C", "−5degC", "2 qt", "25 psi", "7,3 mm³/stroke", "800 1/min", "1,200 mL", "1.200,5 L",
		"1 h 05 min", "6 mg/stroke", "20 mPa", "0x10 L", "1e3 mL", "NaN K", "-inf °F", "1_0 W", "5/16 in", "\ufeff2 L", "2\xb5L",
		"0,125 gal/h", "-0 m", "99999999999999999999999999999999999999999999999999999999 MPa", "2 % ", "000,5 hp", "1’000 km",
	} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		for _, r := range readers() {
			x, err := r.parse(text)
			if err != nil {
				checkRefusal(t, r, text, err)
				continue
			}
			if math.IsNaN(x) || math.IsInf(x, 0) || (x == 0 && math.Signbit(x)) || len(text) > longest {
				t.Errorf("%s %q reads as %v", r.name, text, x)
			}
			if again, err := r.parse(" " + strings.TrimSpace(text)); len(text) < longest && (err != nil || again != x) {
				t.Errorf("%s %q reads as %v, with other spaces as %v (%v)", r.name, text, x, again, err)
			}
		}
	})
}

// checkRefusal: an error is of the type that is promised, keeps to one line, and
// where it says that the text is something else, that reads it.
func checkRefusal(t *testing.T, r reader, text string, err error) {
	t.Helper()
	var refused *Error
	if !errors.As(err, &refused) {
		t.Fatalf("%s %q: %v is no *Error", r.name, text, err)
	}
	if refused.Quantity != r.name || refused.Reason == "" || strings.ContainsFunc(err.Error(), unicode.IsControl) {
		t.Errorf("%s %q: %#v", r.name, text, refused)
	}
	for _, other := range readers() {
		if refused.Found == withArticle(other.name) {
			if _, err := other.parse(text); err != nil {
				t.Errorf("%s %q: %v, but: %v", r.name, text, refused, err)
			}
		}
	}
}
