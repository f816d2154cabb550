package quantity

import (
	"math"
	"slices"
	"strconv"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// exactFactors are the values of one of each unit, in the unit that the quantity
// is kept in: definitions of NIST SP 811 appendix B and NIST Handbook 44
// appendix C, worked out on paper.
var exactFactors = []struct {
	kind, unit string
	want       float64
}{
	{"volume", "L", 1e-3},
	{"volume", "mL", 1e-6},
	{"volume", "dL", 1e-4},
	{"volume", "cL", 1e-5},
	{"volume", "uL", 1e-9},
	{"volume", "m3", 1},
	{"volume", "cm3", 1e-6},
	{"volume", "mm3", 1e-9},
	{"volume", "gal", 3.785411784e-3},
	{"volume", "qt", 0.946352946e-3},
	{"volume", "pt", 0.473176473e-3},
	{"volume", "floz", 29.5735295625e-6},
	{"volume", "impgal", 4.54609e-3},
	{"volume", "impqt", 1.1365225e-3},
	{"volume", "imppt", 0.56826125e-3},
	{"volume", "impfloz", 28.4130625e-6},
	{"flow", "L/h", 1e-3 / 3600.},
	{"flow", "L/min", 1e-3 / 60.},
	{"flow", "L/s", 1e-3},
	{"flow", "mL/h", 1e-6 / 3600.},
	{"flow", "mL/min", 1e-6 / 60.},
	{"flow", "mL/s", 1e-6},
	{"flow", "m3/h", 1 / 3600.},
	{"flow", "m3/s", 1},
	{"flow", "gal/h", 3.785411784e-3 / 3600.},
	{"flow", "gal/min", 3.785411784e-3 / 60.},
	{"flow", "impgal/h", 4.54609e-3 / 3600.},
	{"length", "mm", 1e-3},
	{"length", "cm", 1e-2},
	{"length", "m", 1},
	{"length", "in", 0.0254},
	{"length", "ft", 0.3048},
	{"pressure", "kPa", 1e3},
	{"pressure", "Pa", 1},
	{"pressure", "hPa", 100},
	{"pressure", "MPa", 1e6},
	{"pressure", "bar", 1e5},
	{"pressure", "mbar", 100},
	{"pressure", "psi", 4.4482216152605 / (0.0254 * 0.0254)},
	{"pressure", "inHg", 3386.388640341},
	{"pressure", "mmHg", 133.322387415},
	{"pressure", "inH2O", 249.08891},
	{"pressure", "kgf/cm2", 98066.5},
	{"temperature", "°C", 1},
	{"temperature", "°F", -155 / 9.},
	{"temperature", "K", -272.15},
	{"temperature difference", "K", 1},
	{"temperature difference", "°C", 1},
	{"temperature difference", "°F", 5 / 9.},
	{"density", "kg/m3", 1},
	{"density", "kg/L", 1e3},
	{"density", "g/mL", 1e3},
	{"density", "g/cm3", 1e3},
	{"density", "lb/gal", 0.45359237 / 3.785411784e-3},
	{"viscosity", "mm2/s", 1e-6},
	{"viscosity", "cSt", 1e-6},
	{"viscosity", "St", 1e-4},
	{"viscosity", "m2/s", 1},
	{"injected volume", "mm3/stroke", 1e-9},
	{"injected volume", "mm3", 1e-9},
	{"rotational speed", "rpm", 1 / 60.},
	{"rotational speed", "1/min", 1 / 60.},
	{"rotational speed", "rev/min", 1 / 60.},
	{"rotational speed", "r/min", 1 / 60.},
	{"rotational speed", "1/s", 1},
	{"power", "W", 1},
	{"power", "kW", 1e3},
	{"power", "hp", 745.69987158227022},
	{"power", "PS", 735.49875},
	{"duration", "s", 1},
	{"duration", "min", 60},
	{"duration", "h", 3600},
	{"duration", "d", 86400},
	{"distance", "km", 1e3},
	{"distance", "mi", 1609.344},
	{"distance", "m", 1},
	{"dose", "mL/L", 1e-3},
	{"dose", "L/m3", 1e-3},
	{"dose", "%", 1e-2},
	{"dose", "floz/gal", 1 / 128.},
}

// TestExactFactors wants equality to the last bit, and every unit in the table.
func TestExactFactors(t *testing.T) {
	tested := map[string][]string{}
	for _, row := range exactFactors {
		tested[row.kind] = append(tested[row.kind], row.unit)
		k := kindNamed(t, row.kind)
		x, u, err := k.read("1 " + row.unit)
		if err != nil {
			t.Errorf("%s: %v", row.kind, err)
			continue
		}
		if got := u.toBase(x); got != row.want {
			t.Errorf("1 %s is %v as a %s, want %v", row.unit, got, row.kind, row.want)
		}
	}
	for _, name := range Quantities() {
		if diff := cmp.Diff(Accepted(name), tested[name]); diff != "" {
			t.Errorf("%s: units accepted (-) and tested (+):\n%s", name, diff)
		}
	}
}

func kindNamed(t testing.TB, name string) *kind {
	t.Helper()
	i := slices.IndexFunc(kinds(), func(k *kind) bool { return k.name == name })
	if i < 0 {
		t.Fatalf("there is no quantity %q", name)
	}
	return kinds()[i]
}

// TestPublishedConversions reads one side of a published conversion and prints
// it in the unit of the other.
func TestPublishedConversions(t *testing.T) {
	const (
		gnu  = "GNU Units 2.22"
		nist = "NIST SP 811"
	)
	for _, row := range []struct {
		kind, from, to string
		want, relative float64
		source         string
	}{
		{"temperature", "60 °F", "°C", 15.5555555556, 1e-11, gnu},
		{"temperature", "90 °C", "°F", 194, 0, gnu},
		{"temperature", "-20 °C", "°F", -4, 0, gnu},
		{"pressure", "20 psi", "kPa", 137.895145863, 1e-11, gnu},
		{"pressure", "350 bar", "psi", 5076.32082056, 1e-11, gnu},
		{"pressure", "1 kgf/cm2", "bar", 0.980665, 0, gnu},
		{"volume", "1 impgal", "L", 4.54609, 0, gnu},
		{"volume", "1 gal", "L", 3.785411784, 0, gnu},
		{"volume", "1 floz", "mL", 29.5735295625, 0, gnu},
		{"volume", "1 impfloz", "mL", 28.4130625, 0, gnu},
		{"viscosity", "1 cSt", "mm2/s", 1, 0, gnu},
		{"flow", "12 L/h", "gal/h", 3.1700646283, 1e-11, gnu},
		{"pressure", "1 inHg", "kPa", 3.38638864034, 1e-11, gnu},
		{"power", "1 PS", "kW", 0.73549875, 0, gnu},
		{"power", "1 hp", "kW", 0.745699871582, 1e-11, gnu},
		{"volume", "1 gal", "floz", 128, 0, nist},
		{"volume", "1 qt", "mL", 946.352946, 0, nist},
		{"volume", "1 pt", "mL", 473.176473, 0, nist},
		{"volume", "1 imppt", "L", 0.56826125, 0, nist},
		{"volume", "20 impfloz", "mL", 568.26125, 0, nist},
		{"pressure", "1 bar", "psi", 14.5037738, 6e-9, nist},
		{"pressure", "100 psi", "bar", 6.894757, 1e-7, nist},
		{"pressure", "1 psi", "Pa", 6894.757293168, 1e-12, nist},
		{"pressure", "5 inHg", "kPa", 16.9319, 1e-5, nist},
		{"pressure", "1 inHg", "Pa", 3386.389, 1e-6, nist},
		{"pressure", "1 inH2O", "Pa", 249.08891, 0, nist},
		{"temperature", "140 °F", "°C", 60, 0, nist},
		{"temperature", "100 °F", "°C", 37.7778, 1e-6, nist},
		{"temperature", "199.4 °F", "°C", 93, 0, nist},
		{"temperature", "366.15 K", "°C", 93, 0, nist},
		{"temperature difference", "30 °F", "K", 16.6667, 1e-5, nist},
	} {
		k := kindNamed(t, row.kind)
		x, from, err := k.read(row.from)
		if err != nil {
			t.Errorf("%s: %v", row.source, err)
			continue
		}
		to, known := k.find(row.to)
		if !known {
			t.Errorf("%s has no unit %s", row.kind, row.to)
		}
		if got := to.fromBase(from.toBase(x)); math.Abs(got-row.want) > row.relative*math.Abs(row.want) {
			t.Errorf("%s is %v %s, want %v (%s)", row.from, got, row.to, row.want, row.source)
		}
	}
}

// TestLimitsCompare holds what callers lean on when they compare a value that
// was read with a limit that was written in the code: one decimal is one
// number, whichever unit it came in.
func TestLimitsCompare(t *testing.T) {
	for thousandths := range 20001 {
		x := float64(thousandths) / 1000
		text := strconv.FormatFloat(x, 'f', -1, 64)
		same(t, Litres(x), ParseVolume, text+" L", strconv.Itoa(thousandths)+" mL")
		same(t, Minutes(x), ParseDuration, text+" min")
		same(t, LitresPerHour(x), ParseFlow, text+" L/h", strconv.Itoa(thousandths)+" mL/h")
		same(t, Kilopascals(x), ParsePressure, text+" kPa", strconv.Itoa(thousandths)+" Pa")
		same(t, CubicMillimetres(x), ParsePerStroke, text+" mm3/stroke")
		same(t, RPM(x), ParseSpeed, text+" rpm")
		if got := Litres(x).Litres(); got != x {
			t.Fatalf("Litres(%v).Litres() is %v", x, got)
		}
		if got := Hours(x).Hours(); got != x {
			t.Fatalf("Hours(%v).Hours() is %v", x, got)
		}
	}
}

func same[T ~float64](t *testing.T, want T, parse func(string) (T, error), texts ...string) {
	t.Helper()
	for _, text := range texts {
		if got, err := parse(text); err != nil || got != want {
			t.Fatalf("%q reads as %v (%v), want %v", text, float64(got), err, float64(want))
		}
	}
}

// TestAwkwardNumbers covers those that are beyond exact conversion.
func TestAwkwardNumbers(t *testing.T) {
	for _, x := range []float64{1.0 / 3, math.Pi * 1e15, 1e300, 5e-324, -2.0 / 7e30, 12345678901234567} {
		if got, want := perThousand.toBase(x), x/1000; got != want {
			t.Errorf("%g per thousand is %g, want %g", x, got, want)
		}
	}
	if got := float64(Litres(math.Inf(1))); !math.IsInf(got, 1) {
		t.Errorf("infinite litres are %g m³", got)
	}
	if got := float64(Litres(math.NaN())); !math.IsNaN(got) {
		t.Errorf("no number of litres is %g m³", got)
	}
}

// TestRoundTrip: a number printed with all its digits in any unit reads as
// itself, within the rounding of two conversions.
func TestRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := rapid.SampledFrom(kinds()).Draw(t, "kind")
		u := rapid.SampledFrom(k.units).Draw(t, "unit")
		x := rapid.Float64Range(-1e9, 1e9).Draw(t, "x")
		digits := strconv.FormatFloat(x, 'f', 12, 64) // all digits would be too many for a tiny x
		x, _ = strconv.ParseFloat(digits, 64)
		text := digits + " " + u.name
		read, found, err := k.read(text)
		if err != nil {
			t.Fatal(err)
		}
		if read != x || found.name != u.name {
			t.Fatalf("%q reads as %v %s", text, read, found.name)
		}
		back := u.fromBase(u.toBase(x))
		if room := 8e-16*math.Abs(x) + 2e-13*math.Abs(u.off/u.num); math.Abs(back-x) > room {
			t.Fatalf("%v %s comes back as %v", x, u.name, back)
		}
	})
}

// TestMonotone: more in one unit is never less in another.
func TestMonotone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := rapid.SampledFrom(kinds()).Draw(t, "kind")
		u := rapid.SampledFrom(k.units).Draw(t, "unit")
		a := float64(rapid.Int64Range(-1e6, 1e6).Draw(t, "a")) / 1000
		b := float64(rapid.Int64Range(-1e6, 1e6).Draw(t, "b")) / 1000
		if (a < b) != (u.toBase(a) < u.toBase(b)) {
			t.Fatalf("%v and %v %s are %v and %v", a, b, u.name, u.toBase(a), u.toBase(b))
		}
	})
}

func TestArithmetic(t *testing.T) {
	near := cmp.Comparer(func(a, b float64) bool { return math.Abs(a-b) <= 1e-12*math.Max(math.Abs(a), math.Abs(b)) })
	for _, row := range []struct {
		what      string
		got, want float64
	}{
		{"0.7 L/h over 90 min, in mL", LitresPerHour(0.7).Over(Minutes(90)).Millilitres(), 1050},
		{"0 °C in K", Celsius(0).Kelvin(), 273.15},
		{"140 °F above 55 °C, in K", float64(Celsius(60).Minus(Celsius(55))), 5},
		{"55 °C and 16.7 K, in °C", Celsius(55).Plus(Kelvins(16.7)).Celsius(), 71.7},
		{"2.4 mm²/s in m²/s", SquareMillimetresPerSecond(2.4).SquareMetresPerSecond(), 2.4e-6},
		{"4 · 5.2 mm³ · 400 a minute, in L/h (GNU Units 2.22)", 4 * float64(CubicMillimetres(5.2)) * float64(RPM(400)) * 3.6e6, 0.4992},
		{"accessors", Kilometres(1.5).Kilometres() + MillilitresPerLitre(2).MillilitresPerLitre() +
			Kilopascals(3).Kilopascals() + Pascals(4).Pascals() + Watts(5).Watts() + Millimetres(6).Millimetres() +
			Metres(7).Metres() + RPM(8).RPM() + Seconds(9).Seconds() + Kelvins(10).Kelvins() +
			KilogramsPerCubicMetre(11).KilogramsPerCubicMetre() + CubicMillimetres(12).CubicMillimetres() +
			SquareMillimetresPerSecond(13).SquareMillimetresPerSecond() + LitresPerHour(14).LitresPerHour() +
			Millilitres(15).Litres()*1000 + Minutes(16).Minutes(), 136.5},
	} {
		if diff := cmp.Diff(row.want, row.got, near); diff != "" {
			t.Errorf("%s (-want +got):\n%s", row.what, diff)
		}
	}
}

func BenchmarkConstructor(b *testing.B) {
	for b.Loop() {
		_ = LitresPerHour(0.7)
	}
}
