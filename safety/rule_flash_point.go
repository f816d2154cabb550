package safety

import (
	"math"

	"daytank/planner/quantity"
)

var flashPoint = Rule{
	ID:     "flash-point",
	Title:  "whether the fluid is fit to stand open beside an engine",
	Source: "38 °C: ASTM D975 No. 1-D and 29 CFR 1910.106; 55 °C: EN 590; H224 and H225 below 23 °C: UN GHS chapter 2.6",
	When: []When{
		stopWhen("the flash point is below %v, the least of the lightest diesel", lightestDiesel),
		stopWhen("the data sheet has H224 or H225, and the job says a flash point that these rule out"),
		cautionWhen("the flash point is below %v, the least of ordinary diesel", ordinaryDiesel),
	},
	Why:      "Above its flash point a fluid gives off vapour that a spark lights. An engine bay has sparks, and metal far hotter than that.",
	Lifts:    "Another fluid. Between the two limits: no spark, lamp or charger near it.",
	Formulas: []string{"warm-and-hot"},
	check:    checkFlashPoint,
}

const (
	lightestDiesel = quantity.Temperature(38) // least of No. 1-D, ASTM D975
	ordinaryDiesel = quantity.Temperature(55) // least of EN 590
)

// volatile gives the hazard statement that puts the flash point below 23 °C, if there
// is one: flammable liquids of categories 1 and 2, UN GHS chapter 2.6.
func (s subject) volatile() string {
	for _, code := range []string{"H224", "H225"} {
		if s.job.Fluid.Has(code) {
			return code
		}
	}
	return ""
}

func checkFlashPoint(s subject) []Finding {
	f := s.job.Fluid.FlashPoint
	// Rounded down, so that a figure just below a limit does not read as the limit.
	shown := quantity.Celsius(math.Floor(f.Celsius()))
	if said := s.volatile(); said != "" && f >= lightestDiesel {
		return []Finding{stop("%v on the data sheet means a flash point below 23 °C, and the job says %v: one of them is wrong", said, shown).
			liftedBy("read both again on the data sheet; with this hazard it is another fluid")}
	}
	switch {
	case f < lightestDiesel:
		return []Finding{stop("the fluid's flash point of %v is below the %v of the lightest diesel", shown, lightestDiesel).liftedBy("another fluid")}
	case f < ordinaryDiesel:
		return []Finding{caution("the fluid's flash point of %v is below the %v of ordinary diesel", shown, ordinaryDiesel).
			liftedBy("another fluid; otherwise no spark, lamp or charger near it")}
	}
	return nil
}
