package quantity

import (
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// TestPrinter has the boundaries between steps on and just below them; the
// values are this project's own choice of digits.
func TestPrinter(t *testing.T) {
	mL, litres, lh := Millilitres, Litres, LitresPerHour
	for _, row := range []struct {
		what       string
		write      func(Printer) string
		metric, us string
	}{
		{"nothing", func(p Printer) string { return p.Volume(0) }, "0 mL", "0 fl oz"},
		{"0.5 mL", func(p Printer) string { return p.Volume(mL(0.5)) }, "0.5 mL", "0.02 fl oz"},
		{"0.96 mL", func(p Printer) string { return p.Volume(mL(0.96)) }, "1 mL", "0.03 fl oz"},
		{"6.4 mL", func(p Printer) string { return p.Volume(mL(6.4)) }, "6 mL", "0.22 fl oz"},
		{"12.5 mL", func(p Printer) string { return p.Volume(mL(12.5)) }, "13 mL", "0.42 fl oz"},
		{"99.4 mL", func(p Printer) string { return p.Volume(mL(99.4)) }, "99 mL", "3.4 fl oz"},
		{"99.6 mL", func(p Printer) string { return p.Volume(mL(99.6)) }, "100 mL", "3.4 fl oz"},
		{"104 mL", func(p Printer) string { return p.Volume(mL(104)) }, "100 mL", "3.5 fl oz"},
		{"355 mL", func(p Printer) string { return p.Volume(mL(355)) }, "360 mL", "12 fl oz"},
		{"994 mL", func(p Printer) string { return p.Volume(mL(994)) }, "990 mL", "1.05 qt"},
		{"996 mL", func(p Printer) string { return p.Volume(mL(996)) }, "1.00 L", "1.05 qt"},
		{"1.8 L", func(p Printer) string { return p.Volume(litres(1.8)) }, "1.80 L", "1.90 qt"},
		{"9.994 L", func(p Printer) string { return p.Volume(litres(9.994)) }, "9.99 L", "2.64 gal"},
		{"9.996 L", func(p Printer) string { return p.Volume(litres(9.996)) }, "10.0 L", "2.64 gal"},
		{"60 L", func(p Printer) string { return p.Volume(litres(60)) }, "60.0 L", "15.9 gal"},
		{"-2 L", func(p Printer) string { return p.Volume(litres(-2)) }, "-2.00 L", "-2.11 qt"},
		{"just below nothing", func(p Printer) string { return p.Volume(mL(-0.01)) }, "0 mL", "0 fl oz"},
		{"one gallon", func(p Printer) string { return p.Volume(litres(3.785411784)) }, "3.79 L", "1.00 gal"},
		{"one quart", func(p Printer) string { return p.Volume(mL(946.352946)) }, "950 mL", "1.00 qt"},

		{"1804.6 mL, fine", func(p Printer) string { return p.VolumeFine(mL(1804.6)) }, "1805 mL", "61.0 fl oz"},
		{"0.4 mL, fine", func(p Printer) string { return p.VolumeFine(mL(0.4)) }, "0.4 mL", "0 fl oz"},

		{"0.7 L/h", func(p Printer) string { return p.Flow(lh(0.7)) }, "0.70 L/h", "0.185 gal/h"},
		{"9.996 L/h", func(p Printer) string { return p.Flow(lh(9.996)) }, "10 L/h", "2.64 gal/h"},
		{"32.5 L/h", func(p Printer) string { return p.Flow(lh(32.5)) }, "32.5 L/h", "8.59 gal/h"},
		{"2000 L/h", func(p Printer) string { return p.Flow(lh(2000)) }, "2000 L/h", "528 gal/h"},

		{"8 mm", func(p Printer) string { return p.Length(Millimetres(8)) }, "8 mm", "0.31 in"},
		{"9.525 mm", func(p Printer) string { return p.Length(Millimetres(9.525)) }, "9.5 mm", "0.38 in"},
		{"254.4 mm", func(p Printer) string { return p.Length(Millimetres(254.4)) }, "254 mm", "10 in"},
		{"999.6 mm", func(p Printer) string { return p.Length(Millimetres(999.6)) }, "1 m", "3.3 ft"},
		{"1.5 m", func(p Printer) string { return p.Length(Metres(1.5)) }, "1.5 m", "4.9 ft"},
		{"-0.4 m", func(p Printer) string { return p.Length(Metres(-0.4)) }, "-400 mm", "-15.7 in"},

		{"16.9319 kPa", func(p Printer) string { return p.Pressure(Kilopascals(16.9319)) }, "16.9 kPa", "2.46 psi"},
		{"0.5 kPa", func(p Printer) string { return p.Pressure(Kilopascals(0.5)) }, "0.5 kPa", "0.07 psi"},
		{"99.96 kPa", func(p Printer) string { return p.Pressure(Kilopascals(99.96)) }, "100 kPa", "14.5 psi"},
		{"100 psi", func(p Printer) string { return p.Pressure(Kilopascals(689.4757293168)) }, "689 kPa", "100 psi"},

		{"93 °C", func(p Printer) string { return p.Temperature(93) }, "93 °C", "199 °F"},
		{"60 °C", func(p Printer) string { return p.Temperature(60) }, "60 °C", "140 °F"},
		{"-0.3 °C", func(p Printer) string { return p.Temperature(-0.3) }, "0 °C", "31 °F"},
		{"-17.9 °C", func(p Printer) string { return p.Temperature(-17.9) }, "-18 °C", "0 °F"},

		{"42.25 °C, fine", func(p Printer) string { return p.TemperatureFine(42.25) }, "42.3 °C", "108.1 °F"},

		{"16.7 K", func(p Printer) string { return p.TemperatureDifference(16.7) }, "16.7 K", "30.1 °F"},
		{"8 K", func(p Printer) string { return p.TemperatureDifference(8) }, "8 K", "14.4 °F"},
		{"120 K", func(p Printer) string { return p.TemperatureDifference(120) }, "120 K", "216 °F"},

		{"808.4 kg/m³", func(p Printer) string { return p.Density(808.4) }, "808 kg/m³", "6.75 lb/gal"},
		{"2.4 mm²/s", func(p Printer) string { return p.Viscosity(SquareMillimetresPerSecond(2.4)) }, "2.40 mm²/s", "2.40 cSt"},
		{"46 mm²/s", func(p Printer) string { return p.Viscosity(SquareMillimetresPerSecond(46)) }, "46.0 mm²/s", "46.0 cSt"},
		{"460 mm²/s", func(p Printer) string { return p.Viscosity(SquareMillimetresPerSecond(460)) }, "460 mm²/s", "460 cSt"},

		{"7.3 mm³", func(p Printer) string { return p.PerStroke(CubicMillimetres(7.3)) }, "7.3 mm³/stroke", "7.3 mm³/stroke"},
		{"-1.26 mm³", func(p Printer) string { return p.PerStroke(CubicMillimetres(-1.26)) }, "-1.26 mm³/stroke", "-1.26 mm³/stroke"},
		{"800 rpm", func(p Printer) string { return p.Speed(RPM(800)) }, "800 rpm", "800 rpm"},

		{"150 W", func(p Printer) string { return p.Power(150) }, "150 W", "150 W"},
		{"999.6 W", func(p Printer) string { return p.Power(999.6) }, "1 kW", "1 kW"},
		{"1250 W", func(p Printer) string { return p.Power(1250) }, "1.25 kW", "1.25 kW"},

		{"0.5 s", func(p Printer) string { return p.Duration(0.5) }, "0.5 s", "0.5 s"},
		{"45 s", func(p Printer) string { return p.Duration(45) }, "45 s", "45 s"},
		{"119.4 s", func(p Printer) string { return p.Duration(119.4) }, "119 s", "119 s"},
		{"119.6 s", func(p Printer) string { return p.Duration(119.6) }, "2 min", "2 min"},
		{"150 s", func(p Printer) string { return p.Duration(150) }, "2.5 min", "2.5 min"},
		{"12.4 min", func(p Printer) string { return p.Duration(Minutes(12.4)) }, "12 min", "12 min"},
		{"59.4 min", func(p Printer) string { return p.Duration(Minutes(59.4)) }, "59 min", "59 min"},
		{"59.6 min", func(p Printer) string { return p.Duration(Minutes(59.6)) }, "1 h 00 min", "1 h 00 min"},
		{"65 min", func(p Printer) string { return p.Duration(Minutes(65)) }, "1 h 05 min", "1 h 05 min"},
		{"-65 min", func(p Printer) string { return p.Duration(Minutes(-65)) }, "-1 h 05 min", "-1 h 05 min"},
		{"99.98 h", func(p Printer) string { return p.Duration(Hours(99.98)) }, "99 h 59 min", "99 h 59 min"},
		{"99.995 h", func(p Printer) string { return p.Duration(Hours(99.995)) }, "100 h", "100 h"},
		{"3120 h", func(p Printer) string { return p.Duration(Hours(3120)) }, "3120 h", "3120 h"},

		{"30 s, fine", func(p Printer) string { return p.DurationFine(30) }, "30 s", "30 s"},
		{"12.4 min, fine", func(p Printer) string { return p.DurationFine(Minutes(12.4)) }, "12.4 min", "12.4 min"},
		{"59.7 min, fine", func(p Printer) string { return p.DurationFine(Minutes(59.7)) }, "59.7 min", "59.7 min"},
		{"59.97 min, fine", func(p Printer) string { return p.DurationFine(Minutes(59.97)) }, "1 h 00 min", "1 h 00 min"},

		{"148200 km", func(p Printer) string { return p.Distance(Kilometres(148200)) }, "148200 km", "92087 mi"},
		{"1.5 km", func(p Printer) string { return p.Distance(Kilometres(1.5)) }, "1.5 km", "0.9 mi"},
		{"2 mL/L", func(p Printer) string { return p.Dose(MillilitresPerLitre(2)) }, "2 mL/L", "0.256 fl oz/gal"},
		{"12.5 mL/L", func(p Printer) string { return p.Dose(MillilitresPerLitre(12.5)) }, "12.5 mL/L", "1.6 fl oz/gal"},
	} {
		if got := row.write(Printer{}); got != row.metric {
			t.Errorf("%s is written as %q, want %q", row.what, got, row.metric)
		}
		if got := row.write(Printer{System: USCustomary}); got != row.us {
			t.Errorf("%s is written in US units as %q, want %q", row.what, got, row.us)
		}
		commas := row.write(Printer{DecimalComma: true})
		if want := strings.Replace(row.metric, ".", ",", 1); commas != want {
			t.Errorf("%s is written with a comma as %q, want %q", row.what, commas, want)
		}
	}
}

// The number of an axis is that which is written, but for its digits.
func TestOnAnAxis(t *testing.T) {
	for _, row := range []struct {
		p      Printer
		volume float64
		unit   string
		heat   float64
		degree string
	}{
		{Printer{}, 1804.6, "mL", 42.25, "°C"},
		{Printer{System: USCustomary}, 61.0208, "fl oz", 108.05, "°F"},
	} {
		v, unit := row.p.VolumeIn(Millilitres(1804.6))
		c, degree := row.p.TemperatureIn(42.25)
		if math.Abs(v-row.volume) > 1e-4 || unit != row.unit || math.Abs(c-row.heat) > 1e-9 || degree != row.degree {
			t.Errorf("%v: %v %s, %v %s", row.p.System, v, unit, c, degree)
		}
	}
}

// Numbers in a sentence have the mark that is wanted; texts and whole numbers stay.
func TestSprintf(t *testing.T) {
	const format = "%s: %6.2f of %+.1f, %d, %g, %v"
	args := []any{"1.5", 2.345, -0.25, 12, 0.5, 7.25}
	if got, want := (Printer{}).Sprintf(format, args...), "1.5:   2.35 of -0.2, 12, 0.5, 7.25"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	if got, want := (Printer{DecimalComma: true}).Sprintf(format, args...), "1.5:   2,35 of -0,2, 12, 0,5, 7,25"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}

// ofKind makes a value of each kind, in the order of [Quantities].
var ofKind = []func(float64) any{
	func(x float64) any { return Volume(x) },
	func(x float64) any { return Flow(x) },
	func(x float64) any { return Length(x) },
	func(x float64) any { return Pressure(x) },
	func(x float64) any { return Temperature(x) },
	func(x float64) any { return TemperatureDifference(x) },
	func(x float64) any { return Density(x) },
	func(x float64) any { return Viscosity(x) },
	func(x float64) any { return PerStroke(x) },
	func(x float64) any { return Speed(x) },
	func(x float64) any { return Power(x) },
	func(x float64) any { return Duration(x) },
	func(x float64) any { return Distance(x) },
	func(x float64) any { return Dose(x) },
}

// TestPrintedReadsBack: what is printed is read as the same kind and prints as
// itself again, in either system and with either mark.
func TestPrintedReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		i := rapid.IntRange(0, len(ofKind)-1).Draw(t, "kind")
		r := readers()[i]
		p := Printer{System(rapid.IntRange(0, 1).Draw(t, "system")), rapid.Bool().Draw(t, "comma")}
		u := rapid.SampledFrom(kinds()[i].units).Draw(t, "unit")
		x := u.toBase(rapid.Float64Range(-2000, 2000).Draw(t, "x"))
		text := p.Any(ofKind[i](x))
		if strings.Contains(text, " h ") {
			return // hours with minutes are two units
		}
		back, err := r.parse(text)
		if err != nil {
			t.Fatalf("%v %s is printed so that it does not read: %v", x, r.name, err)
		}
		if again := p.Any(ofKind[i](back)); again != text {
			t.Fatalf("%s %q reads as %v, which is printed %q", r.name, text, back, again)
		}
	})
}

// TestNeverMinusZero covers every kind, system and mark just below nothing.
func TestNeverMinusZero(t *testing.T) {
	for i, of := range ofKind {
		for _, x := range []float64{math.Copysign(0, -1), -1e-14, -1e-12} {
			for _, p := range []Printer{{}, {System: USCustomary}, {DecimalComma: true}} {
				text := p.Any(of(x))
				if strings.HasPrefix(text, "-") && !strings.ContainsAny(text, "123456789") {
					t.Errorf("%v %s is written as %q", x, Quantities()[i], text)
				}
			}
		}
	}
	if got := (Printer{}).VolumeFine(Millilitres(-0.04)) + (Printer{}).DurationFine(-0.04); got != "0 mL0 s" {
		t.Errorf("fine values just below nothing are written as %q", got)
	}
	if got := (Printer{}).Any(math.Copysign(0, -1)); got != "0" {
		t.Errorf("a number is written as %q", got)
	}
}

func TestNotFinite(t *testing.T) {
	for i, of := range ofKind {
		for _, x := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
			if got := (Printer{}).Any(of(x)); got != "unknown" {
				t.Errorf("%v %s is written as %q", x, Quantities()[i], got)
			}
		}
	}
	if got := (Printer{}).DurationFine(Duration(math.Inf(1))); got != "unknown" {
		t.Errorf("an endless duration is written as %q", got)
	}
}

// TestStepsAreSound: every step names a unit of its kind, is reached, and the
// last one has no end.
func TestStepsAreSound(t *testing.T) {
	for _, row := range []struct {
		k   *kind
		all []steps
	}{
		{&volume, []steps{volumeSteps, volumeFineSteps}},
		{&flow, []steps{flowSteps}},
		{&length, []steps{lengthSteps}},
		{&pressure, []steps{pressureSteps}},
		{&temperature, []steps{temperatureSteps}},
		{&difference, []steps{differenceSteps}},
		{&density, []steps{densitySteps}},
		{&viscosity, []steps{viscositySteps}},
		{&perStroke, []steps{perStrokeSteps}},
		{&speed, []steps{speedSteps}},
		{&power, []steps{powerSteps}},
		{&duration, []steps{durationSteps, durationFineSteps}},
		{&distance, []steps{distanceSteps}},
		{&dose, []steps{doseSteps}},
	} {
		for _, s := range row.all {
			checkSteps(t, row.k, s.in(Metric))
			checkSteps(t, row.k, s.in(USCustomary))
		}
	}
}

func checkSteps(t *testing.T, k *kind, all []step) {
	t.Helper()
	var ends []float64
	for _, s := range all {
		u, known := k.find(s.unit)
		if !known || canonical(s.label) != s.unit && !slices.Contains(u.also, canonical(s.label)) {
			t.Errorf("%s: step in %q shown as %q", k.name, s.unit, s.label)
		}
		ends = append(ends, u.toBase(s.below))
	}
	if !slices.IsSorted(ends) || all[len(all)-1].below != ever {
		t.Errorf("%s: steps end at %v", k.name, ends)
	}
}

func TestAnyAndPhrase(t *testing.T) {
	charge := Litres(1.8)
	var none *Volume
	for _, row := range []struct {
		value      any
		metric, us string
	}{
		{charge, "1.80 L", "1,90 qt"},
		{&charge, "1.80 L", "1,90 qt"},
		{none, "unknown", "unknown"},
		{nil, "unknown", "unknown"},
		{3, "3", "3"},
		{true, "true", "true"},
		{"a.b", "a.b", "a.b"},
		{0.25, "0.25", "0,25"},
		{math.Inf(1), "unknown", "unknown"},
		{1e21, "1000000000000000000000", "1000000000000000000000"},
		{[]string{"H304", "H315"}, "H304, H315", "H304, H315"},
		{[]string{}, "", ""},
		{[]Temperature{20, 60}, "20 °C, 60 °C", "68 °F, 140 °F"},
		{USCustomary, "us", "us"},
		{errors.New("torn page"), "torn page", "torn page"},
		{Say("pour in %v", charge), "pour in 1.80 L", "pour in 1,90 qt"},
	} {
		if got := (Printer{}).Any(row.value); got != row.metric {
			t.Errorf("%#v is written as %q, want %q", row.value, got, row.metric)
		}
		if got := (Printer{USCustomary, true}).Any(row.value); got != row.us {
			t.Errorf("%#v is written in US units as %q, want %q", row.value, got, row.us)
		}
	}
	ph := Say("at %v the fluid is %v: 100%% of %v people, %v", Minutes(12), Celsius(60), 2, []string{"Mara Quill", "Tobi Fenn"})
	want := "at 12 min the fluid is 140 °F: 100% of 2 people, Mara Quill, Tobi Fenn"
	if got := (Printer{System: USCustomary}).Phrase(ph); got != want {
		t.Errorf("phrase %q, want %q", got, want)
	}
	if got := (Printer{}).Phrase(Phrase{}); got != "" {
		t.Errorf("an empty phrase is %q", got)
	}
}

func TestParseSystem(t *testing.T) {
	for text, want := range map[string]System{"metric": Metric, "us": USCustomary} {
		if got, err := ParseSystem(text); err != nil || got != want || got.String() != text {
			t.Errorf("%q reads as %v (%v)", text, got, err)
		}
	}
	for _, text := range []string{"", "US", "imperial", "Metric ", "system 2"} {
		if got, err := ParseSystem(text); err == nil || !strings.HasSuffix(err.Error(), " is not one of metric, us") {
			t.Errorf("%q reads as %v (%v)", text, got, err)
		}
	}
	if got := System(2).String(); got != "system 2" {
		t.Errorf("no system is called %q", got)
	}
}

func TestBand(t *testing.T) {
	around := Around(Litres(2), 0.25)
	want := Band[Volume]{Litres(1.5), Litres(2), Litres(2.5)}
	if around != want {
		t.Errorf("2 L give or take a quarter: %v, want %v", around, want)
	}
	if got, want := Exactly(Watts(5)).Times(2).Plus(Band[Power]{1, 2, 3}), (Band[Power]{11, 12, 13}); got != want {
		t.Errorf("sum of bands %v, want %v", got, want)
	}
}
