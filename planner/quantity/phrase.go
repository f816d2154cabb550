package quantity

import (
	"fmt"
	"math"
	"reflect"
	"strconv"
	"strings"
)

// Phrase is a sentence whose quantities are written in the user's units when it
// is shown. The format is that of package fmt with no verb but %v.
type Phrase struct {
	Format string
	Args   []any
}

// Say makes a phrase: Say("pour in %v", Litres(1.8)).
func Say(format string, args ...any) Phrase { return Phrase{Format: format, Args: args} }

// Fine is a volume that is written as [Printer.VolumeFine] does: a level that is read off,
// and not what is poured.
type Fine Volume

// Phrase writes a phrase, each of its arguments as [Printer.Any] does.
func (p Printer) Phrase(ph Phrase) string {
	words := make([]any, len(ph.Args))
	for i, arg := range ph.Args {
		words[i] = p.Any(arg)
	}
	return fmt.Sprintf(ph.Format, words...)
}

// Any writes a quantity by its type. Texts and whole numbers stay as they are,
// other numbers get the decimal mark, lists are joined by ", ", a pointer is
// written as what it points to, "unknown" where that is nothing, and a phrase
// as a phrase.
func (p Printer) Any(v any) string {
	switch x := v.(type) {
	case Volume:
		return p.Volume(x)
	case Fine:
		return p.VolumeFine(Volume(x))
	case Flow:
		return p.Flow(x)
	case Length:
		return p.Length(x)
	case Pressure:
		return p.Pressure(x)
	case Temperature:
		return p.Temperature(x)
	case TemperatureDifference:
		return p.TemperatureDifference(x)
	case Density:
		return p.Density(x)
	case Viscosity:
		return p.Viscosity(x)
	case PerStroke:
		return p.PerStroke(x)
	case Speed:
		return p.Speed(x)
	case Power:
		return p.Power(x)
	case Duration:
		return p.Duration(x)
	case Distance:
		return p.Distance(x)
	case Dose:
		return p.Dose(x)
	}
	return p.other(v)
}

// other writes what is no quantity.
func (p Printer) other(v any) string {
	switch x := v.(type) {
	case nil:
		return "unknown"
	case string:
		return x
	case float64:
		return p.plain(x)
	case Phrase:
		return p.Phrase(x)
	case fmt.Stringer, error:
		return fmt.Sprint(x)
	}
	switch r := reflect.ValueOf(v); {
	case r.Kind() == reflect.Pointer && r.IsNil():
		return "unknown"
	case r.Kind() == reflect.Pointer:
		return p.Any(r.Elem().Interface())
	case r.Kind() == reflect.Slice:
		words := make([]string, r.Len())
		for i := range words {
			words[i] = p.Any(r.Index(i).Interface())
		}
		return strings.Join(words, ", ")
	}
	return fmt.Sprint(v)
}

// plain writes a number without a unit, with all its digits.
func (p Printer) plain(x float64) string {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return "unknown"
	}
	return p.marked(strconv.FormatFloat(x+0, 'f', -1, 64))
}
