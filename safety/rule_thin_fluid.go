package safety

import "daytank/planner/quantity"

var thinFluid = Rule{
	ID:     "thin-fluid",
	Title:  "whether the warm fluid still carries a film between moving parts",
	Source: "ASTM D341 for the viscosity; 1.1 and 1.4 mm²/s are common practice, no source (EN 590 has 2.0 and arctic grades 1.2 mm²/s at 40 °C as their least)",
	When: []When{
		stopWhen("the fluid has less than %v at its expected peak", tooThin),
		cautionWhen("it has less than %v there", thin),
	},
	Why:      "In most high-pressure pumps the fluid is all that lubricates. Warm cleaner can be thinner than any diesel, and metal then runs on metal.",
	Lifts:    "Another fluid, or keep this one cooler; no load, and no more speed than planned.",
	Formulas: []string{"viscosity", "container-heat"},
	check:    checkThinFluid,
}

const (
	tooThin = quantity.Viscosity(1.1e-6)
	thin    = quantity.Viscosity(1.4e-6)
)

// atPeak is the viscosity of the fluid at its expected peak.
func (s subject) atPeak() quantity.Viscosity { return s.job.Fluid.Viscosity(s.plan.Heat.Peak.Expected) }

func checkThinFluid(s subject) []Finding {
	switch nu, peak := s.atPeak(), s.plan.Heat.Peak.Expected; {
	case nu < tooThin:
		found := stop("at its expected peak of %v the fluid has %v, less than the %v that the high-pressure pump needs", peak, nu, tooThin).
			liftedBy("another fluid, or keep this one cooler")
		return []Finding{s.lifted(found, isTooThin, s.coolings()...)}
	case nu < thin:
		found := caution("at its expected peak of %v the fluid has %v: thin for the high-pressure pump, which wants %v", peak, nu, thin).
			liftedBy("another fluid, or keep this one cooler; no load, and no more speed than planned")
		return []Finding{s.lifted(found, isThin, s.coolings()...)}
	}
	return nil
}

func isTooThin(s subject) bool { return s.atPeak() < tooThin }

func isThin(s subject) bool { return s.atPeak() < thin }
