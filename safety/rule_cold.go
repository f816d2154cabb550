package safety

import "daytank/planner/quantity"

var cold = Rule{
	ID:     "cold",
	Title:  "whether the fluid flows at this temperature",
	Source: "the fluid's data sheet; −10 °C where it gives no cloud point, and 5 °C, are common practice, no source",
	When: []When{
		stopWhen("it is colder than the fluid's cloud point, %v where the data sheet gives none", usualCloudPoint),
		cautionWhen("it is colder than %v", chilly),
	},
	Why:      "Below its cloud point a fluid forms wax, which stops the filter and starves the pump. In the cold it is thick as well, and hoses are stiff and leak at the clips.",
	Lifts:    "A warmer place or day, or a fluid with a lower cloud point.",
	Formulas: []string{"viscosity"},
	check:    checkCold,
}

const (
	usualCloudPoint = quantity.Temperature(-10)
	chilly          = quantity.Temperature(5)
)

func checkCold(s subject) []Finding {
	cloud := usualCloudPoint
	if c := s.job.Fluid.CloudPoint; c != nil {
		cloud = *c
	}
	switch ambient := s.job.Site.Ambient; {
	case ambient < cloud:
		return []Finding{stop("at %v this fluid is below its cloud point of %v: wax stops it in hose and filter", ambient, cloud).
			liftedBy("a warmer place or day, or a fluid with a lower cloud point")}
	case ambient < chilly:
		return []Finding{caution("at %v hoses are stiff, clips slacken and the fluid is thick: look at every joint twice", ambient).
			liftedBy("a warmer place or day")}
	}
	return nil
}
