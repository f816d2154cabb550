package checklist

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"sync"

	"daytank/procedures/record"
)

// Units of a level as it is read. Millimetres are of liquid above the inside
// bottom, marks those of the tape on the container, grams those of the fluid alone.
const (
	inML    = "mL"
	inMM    = "mm"
	inMarks = "mark"
	inGrams = "g"
)

// Marks is how many marks the tape on the container has: the first is the stop
// level, the last the level that the run begins with.
const Marks = 9

// How far off a level may be that is read in mL (µL), in mm, or on a scale (mg); two
// of them, at two standard errors, are what a difference may show by chance. soakUL is
// what a level may differ by over a soak. All are common practice, no source.
const (
	readingErrorUL = 20000
	readingErrorMM = 2
	readingErrorMG = 5000
	soakUL         = 20000
)

var readingForm = sync.OnceValue(func() *regexp.Regexp {
	return regexp.MustCompile(`^(?:mark\s*)?([-+]?[0-9.,]+)\s*(mL|ml|ML|mm|g|marks?)?(?:[\s;]+([-+]?[0-9.,]+)\s*(?:°C|degC)?)?$`)
})

// Unit gives the unit that a bare number stands in after these readings: that of the
// last of them, mL before one.
func Unit(readings []record.Reading) string {
	if n := len(readings); n > 0 && readings[n-1].LevelUnit != "" {
		return readings[n-1].LevelUnit
	}
	return inML
}

// ParseReading reads `LEVEL` or `LEVEL TEMPERATURE`. The level is in mL, mm of liquid,
// marks of the tape or g of fluid, with the unit behind it, or in the unit given; the
// temperature is in °C. Which units can be read hangs on what the plan knows of
// container and fluid.
func (r Run) ParseReading(text, unit string) (record.Reading, error) {
	text = strings.TrimSpace(text)
	m := readingForm().FindStringSubmatch(text)
	if m == nil {
		return record.Reading{}, safetyRefusal("a reading is the level and the temperature in °C, such as  1320 28 ; mm, g or mark can stand behind the level")
	}
	switch {
	case m[2] != "":
		unit = map[string]string{"ml": inML, "mm": inMM, "g": inGrams, "mark": inMarks, "marks": inMarks}[strings.ToLower(m[2])]
	case strings.HasPrefix(text, inMarks):
		unit = inMarks
	}
	level, err := plainDecimal(m[1])
	if err != nil {
		return record.Reading{}, safetyRefusal("%q is not a level in %s", m[1], unit)
	}
	ul, err := r.microlitres(level, unit)
	if err != nil {
		return record.Reading{}, err
	}
	if level < 0 || ul < 0 || ul > 1e9 {
		return record.Reading{}, safetyRefusal("%q is not a level in %s", m[1], unit)
	}
	if r.CapacityUL > 0 && ul > r.CapacityUL {
		return record.Reading{}, safetyRefusal("%s %s is more than the container holds, %s: read again, or type the unit behind it (mL, mm, mark, g)", m[1], unit, r.InUnit(r.CapacityUL, unit))
	}
	out := record.Reading{Level: m[1], LevelUnit: unit, LevelUL: &ul}
	if m[3] != "" {
		t, err := plainDecimal(m[3])
		if err != nil || t < -40 || t > 150 {
			return record.Reading{}, safetyRefusal("%q is not a temperature in °C", m[3])
		}
		mk := int64(math.Round((t + 273.15) * 1000))
		out.Temperature, out.TemperatureUnit, out.TemperatureMK = m[3], "degC", &mk
	}
	return out, nil
}

// microlitres gives a level in µL: as it is read, but on a scale as it would be read
// at 15 °C.
func (r Run) microlitres(level float64, unit string) (int64, error) {
	switch {
	case unit == inML:
		return int64(math.Round(level * 1000)), nil
	case (unit == inMM || unit == inMarks) && r.ULPerMM == 0:
		return 0, safetyRefusal("the plan does not know the diameter of the container: read the level in mL, or in g on a scale")
	case unit == inMM:
		return int64(math.Round(level * float64(r.ULPerMM))), nil
	case unit == inMarks && r.FullUL <= r.StopUL:
		return 0, safetyRefusal("the plan has no marks: read the level in mL or mm")
	case unit == inMarks && (level < 0 || level > Marks+1):
		return 0, safetyRefusal("the marks go from 1 to %d", Marks)
	case unit == inMarks:
		return r.Mark(level), nil
	case r.MGPerML == 0:
		return 0, safetyRefusal("the plan does not know the density of the fluid: read the level in mL")
	}
	return int64(math.Round(level * 1e6 / float64(r.MGPerML))), nil
}

// Mark gives the level at a mark of the tape, in µL: 1 is the stop level, and they
// stand evenly up to 9, the level that the run begins with. Below 1 it is 0 at the
// least.
func (r Run) Mark(n float64) int64 {
	return max(0, r.StopUL+int64(math.Round((n-1)*float64(r.FullUL-r.StopUL)/(Marks-1))))
}

// MarkAt gives where on the tape a level stands, for a run that has marks: the inverse of
// Mark.
func (r Run) MarkAt(ul int64) float64 {
	return 1 + float64(ul-r.StopUL)*(Marks-1)/float64(r.FullUL-r.StopUL)
}

// InUnit gives a level as it would be read in a unit, in words: 1320 mL, 65 mm,
// mark 6.5, 1066 g.
func (r Run) InUnit(ul int64, unit string) string {
	switch {
	case unit == inMM && r.ULPerMM > 0:
		return fmt.Sprintf("%d mm", roundedTo(ul, r.ULPerMM))
	case unit == inMarks && r.FullUL > r.StopUL:
		return fmt.Sprintf("mark %.1f", r.MarkAt(ul))
	case unit == inGrams && r.MGPerML > 0:
		return fmt.Sprintf("%d g", roundedTo(ul*r.MGPerML/1000, 1000))
	}
	return fmt.Sprintf("%d mL", ul/1000)
}

func roundedTo(x, one int64) int64 { return (x + one/2) / one }

// errorUL is how far off a reading may be, in µL.
func (r Run) errorUL(reading record.Reading) float64 {
	switch {
	case (reading.LevelUnit == inMM || reading.LevelUnit == inMarks) && r.ULPerMM > 0:
		return readingErrorMM * float64(r.ULPerMM)
	case reading.LevelUnit == inGrams && r.MGPerML > 0:
		return readingErrorMG * 1000 / float64(r.MGPerML)
	}
	return readingErrorUL
}

// differenceUL is the standard error of the difference of two readings, in µL.
func (r Run) differenceUL(a, b record.Reading) float64 {
	return math.Hypot(r.errorUL(a), r.errorUL(b))
}

// at15 gives a level as it would be read at 15 °C, in µL. A temperature that was not
// read is taken as the plan expects it. What a scale shows hangs on no temperature.
func (r Run) at15(reading record.Reading) float64 {
	if reading.LevelUnit == inGrams {
		return float64(*reading.LevelUL)
	}
	mk := int64(0)
	if reading.TemperatureMK != nil {
		mk = *reading.TemperatureMK
	} else if mk = r.ExpectedMK(reading.RunMS); mk == 0 {
		mk = 288150
	}
	return float64(*reading.LevelUL) / (1 + float64(r.ExpansionPPM)/1e6*float64(mk-288150)/1000)
}

func plainDecimal(text string) (float64, error) {
	text = strings.Replace(strings.TrimPrefix(text, "+"), ",", ".", 1)
	for _, r := range text {
		if (r < '0' || r > '9') && r != '.' && r != '-' {
			return 0, fmt.Errorf("%q is not a plain number", text)
		}
	}
	return strconv.ParseFloat(text, 64)
}
