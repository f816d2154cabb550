package safety

import (
	"math"

	"daytank/planner/quantity"
)

var flashPoint = Rule{
	ID:     "flash-point",
	Title:  "whether the fluid is fit to stand open beside an engine",
	Source: "38 °C: ASTM D975 No. 1-D and 29 CFR 1910.106; 55 °C: EN 590",
	check:  checkFlashPoint,
}

const (
	lightestDiesel = quantity.Temperature(38) // least of No. 1-D, ASTM D975
	ordinaryDiesel = quantity.Temperature(55) // least of EN 590
)

func checkFlashPoint(s subject) []Finding {
	f := s.job.Fluid.FlashPoint
	// Rounded down, so that a figure just below a limit does not read as the limit.
	shown := quantity.Celsius(math.Floor(f.Celsius()))
	switch {
	case f < lightestDiesel:
		return []Finding{stop("the fluid's flash point of %v is below the %v of the lightest diesel", shown, lightestDiesel).liftedBy("another fluid")}
	case f < ordinaryDiesel:
		return []Finding{caution("the fluid's flash point of %v is below the %v of ordinary diesel", shown, ordinaryDiesel).
			liftedBy("another fluid; otherwise no spark, lamp or charger near it")}
	}
	return nil
}
