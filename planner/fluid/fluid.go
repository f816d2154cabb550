// Package fluid knows how a cleaning fluid or a diesel fuel behaves with
// temperature: density, kinematic viscosity and specific heat, and reads the
// fluid section of a job file.
//
// Formulas: volume correction by Table 54B (ASTM D1250-80 / API MPMS 11.1-1980
// / ISO 91-1), viscosity by ASTM D341 in its full form, specific heat by NBS
// Miscellaneous Publication 97 (Cragoe, 1929). They hold for hydrocarbon oils;
// for solvent cleaners and methyl esters they are close, not exact (density
// ±0.3 % at 40 K from the base, own judgement).
package fluid

import (
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"sync"

	"daytank/planner/quantity"
	"daytank/planner/strict"
)

// Fluid is a cleaning fluid as its data sheet describes it.
type Fluid struct {
	Name         string
	FlashPoint   quantity.Temperature  // closed cup, section 9 of the data sheet
	Density15    quantity.Density      // at 15 °C
	Viscosity40  quantity.Viscosity    // at 40 °C
	Viscosity100 quantity.Viscosity    // at 100 °C
	Hazards      []string              // statements of section 2, such as H304; nil when not answered
	CloudPoint   *quantity.Temperature // nil when unknown
	FAMEPercent  *float64              // methyl ester by volume, 0 to 100; nil when unknown
	TankRatio    *DoseRange            // nil: its label does not allow it in the tank
	Pack         quantity.Volume       // contents of one pack
	Price        *float64              // of one pack, in the shop's money; nil when not given
}

// DoseRange is the amount of additive for each volume of fuel.
type DoseRange struct{ Min, Max quantity.Dose }

// Figures taken where a data sheet gives none (planning assumptions of this
// project: a light distillate).
const (
	AssumedDensity15    = quantity.Density(830)
	assumedViscosity40  = 3.0 // mm²/s
	assumedViscosity100 = 1.2 // mm²/s
)

// Limits of the two viscosities. The curve of ASTM D341 does not go below some
// 0.12 mm²/s, where log log Z ends. Oils thin by 2 to 12 times from 40 to
// 100 °C; two figures farther apart are not of one fluid (own judgement).
const (
	leastViscosity = quantity.Viscosity(0.2e-6)
	mostViscosity  = quantity.Viscosity(100e-6)
	mostThinning   = 20
)

var hazardStatement = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`^(EUH|H)[0-9]{3}[A-Za-z]{0,3}$`) })

// Read reads the fluid section of a job file. Problems are noted in the
// document; names of figures that were assumed are returned.
func Read(m *strict.Mapping) (f Fluid, assumed []string) {
	f.Name = m.Optional("name").Line()
	f.FlashPoint = strict.Within(m.Required("flash_point"), quantity.ParseTemperature, -60, 400)
	f.Pack = strict.Within(m.Required("pack"), quantity.ParseVolume, quantity.Millilitres(10), quantity.Litres(250))
	f.Density15 = AssumedDensity15
	if v := m.Optional("density"); v.Present() {
		f.Density15 = strict.Within(v, quantity.ParseDensity, 600, 1100)
	} else {
		assumed = append(assumed, "fluid.density")
	}
	f.readViscosity(m, &assumed)
	if v := m.Optional("hazards"); v.Present() {
		f.Hazards = readHazards(v)
	}
	f.CloudPoint = strict.MaybeWithin(m.Optional("cloud_point"), quantity.ParseTemperature, -100, 60)
	if v := m.Optional("fame_percent"); v.Present() {
		x := v.Number(0, 100)
		f.FAMEPercent = &x
	}
	if v := m.Optional("tank_ratio"); v.Present() {
		f.TankRatio = readRatio(v)
	}
	if v := m.Optional("price"); v.Present() {
		x := v.Number(0, 1e6)
		f.Price = &x
	}
	m.Close()
	return f, assumed
}

func (f *Fluid) readViscosity(m *strict.Mapping, assumed *[]string) {
	at40, at100 := m.Optional("viscosity_40"), m.Optional("viscosity_100")
	f.Viscosity40 = quantity.SquareMillimetresPerSecond(assumedViscosity40)
	f.Viscosity100 = quantity.SquareMillimetresPerSecond(assumedViscosity100)
	switch {
	case at40.Present() && at100.Present():
		f.Viscosity40 = strict.Within(at40, quantity.ParseViscosity, leastViscosity, mostViscosity)
		f.Viscosity100 = strict.Within(at100, quantity.ParseViscosity, leastViscosity, mostViscosity)
		both := f.Viscosity40 > 0 && f.Viscosity100 > 0
		switch {
		case both && f.Viscosity100 >= f.Viscosity40:
			at100.Problem("a fluid is thinner at 100 °C than at 40 °C")
		case both && f.Viscosity40 > mostThinning*f.Viscosity100:
			at100.Problem("no fluid thins more than %d times from 40 °C to 100 °C", mostThinning)
		}
	case at40.Present():
		f.Viscosity40 = strict.Within(at40, quantity.ParseViscosity, leastViscosity, mostViscosity)
		f.Viscosity100 = max(leastViscosity, f.Viscosity40*assumedViscosity100/assumedViscosity40)
		*assumed = append(*assumed, "fluid.viscosity_100")
	case at100.Present():
		at40.Problem("is missing: a viscosity at 100 °C needs the one at 40 °C beside it")
	default:
		*assumed = append(*assumed, "fluid.viscosity_40", "fluid.viscosity_100")
	}
}

func readHazards(v strict.Value) []string {
	codes := []string{}
	for _, item := range v.List() {
		code := item.Text()
		for part := range strings.SplitSeq(code, "+") {
			if code != "" && !hazardStatement().MatchString(strings.TrimSpace(part)) {
				item.Problem("%q is not a hazard statement such as H304 or EUH066", code)
			}
		}
		codes = append(codes, code)
	}
	return codes
}

// MostDose is the largest dose that is taken for one: beyond it the figure is a
// slip of the pen (common practice, no source: labels ask for 1 to 20 mL/L).
const MostDose = quantity.Dose(0.2)

// readRatio reads a range of doses.
func readRatio(v strict.Value) *DoseRange {
	text := v.Text()
	if text == "" {
		return nil
	}
	r, err := ParseDoseRange(text)
	if err != nil {
		v.Problem("%s", err)
		return nil
	}
	return &r
}

// ParseDoseRange reads a range written as "2 mL/L .. 5 mL/L", or one figure, above
// 0 and up to [MostDose].
func ParseDoseRange(text string) (DoseRange, error) {
	low, high, isRange := strings.Cut(text, "..")
	if !isRange {
		high = low
	}
	var r DoseRange
	for _, end := range []struct {
		text string
		into *quantity.Dose
	}{{low, &r.Min}, {high, &r.Max}} {
		d, err := quantity.ParseDose(strings.TrimSpace(end.text))
		if err != nil {
			return DoseRange{}, err
		}
		*end.into = d
	}
	switch {
	case r.Min <= 0 || r.Max < r.Min:
		return DoseRange{}, errors.New("a range runs from a smaller to a larger dose above zero")
	case r.Max > MostDose:
		return DoseRange{}, fmt.Errorf("%s is more than %.0f mL/L", strings.TrimSpace(high), MostDose.MillilitresPerLitre())
	}
	return r, nil
}

// Has tells whether any of the statements is on the data sheet, also with a
// letter behind it (H360 finds H360FD) or joined to another by a plus.
func (f Fluid) Has(codes ...string) bool {
	return slices.ContainsFunc(f.Hazards, func(entry string) bool {
		for part := range strings.SplitSeq(entry, "+") {
			for _, code := range codes {
				if strings.HasPrefix(strings.TrimSpace(part), code) {
					return true
				}
			}
		}
		return false
	})
}
