package safety

import (
	"fmt"
	"math"
	"slices"

	"daytank/planner/quantity"
)

var chargeShort = Rule{
	ID:     "charge-short",
	Title:  "whether the charge lasts for the run and its reserve",
	Source: "arithmetic of the plan; the margin of 3 min is common practice, no source",
	When: []When{
		stopWhen("the charge is less than the fluid that is needed"),
		cautionWhen("the stop level is reached less than %v after the planned end, at the high burn", leastMargin),
	},
	Why:      "An engine that draws air stops, and its high-pressure pump runs dry: most are lubricated by nothing but what they pump. A few minutes on air can cost the pump.",
	Lifts:    "More fluid, a container in which less lies too low for the pick-up, or a shorter run.",
	Formulas: []string{"fluid-needed", "stop-level", "idle-burn"},
	check:    checkChargeShort,
}

const leastMargin = quantity.Duration(3 * 60)

// roundingOfCharge is added to what is missing, since a charge is written to
// 0.1 mL.
const roundingOfCharge = quantity.Volume(1e-6)

func checkChargeShort(s subject) []Finding {
	f := s.plan.Fluid
	switch margin := s.plan.RunDry.Margin; {
	case f.Charge < f.Needed:
		found := stop("the charge of %v is %v less than the %v needed", f.Charge, f.Needed-f.Charge, f.Needed).
			liftedBy("a shorter run, or more fluid")
		return []Finding{s.liftedOrShorter(found, isShort, s.pouring(f.Needed), s.narrowerContainer())}
	case margin != nil && *margin < leastMargin:
		found := caution("the stop level is reached %v after the planned end at the earliest, less than %v", max(0, *margin), leastMargin).
			liftedBy("a shorter run, or more fluid")
		return []Finding{s.lifted(found, hasThinMargin, s.pouringMore(s.lastDrawn().Over(leastMargin-*margin)+roundingOfCharge))}
	}
	return nil
}

// narrowerContainer proposes a container in which less lies too low for the
// pick-up.
func (s subject) narrowerContainer() proposal {
	d := s.job.Rig.Container.Diameter
	narrower := math.Floor(d.Millimetres()*0.7/10) * 10
	if d <= 0 || narrower < 50 || s.job.Rig.Container.Unusable != nil {
		return proposal{}
	}
	return propose(say("a container of %v across", quantity.Millimetres(narrower)), fmt.Sprintf("rig.container.diameter=%g mm", narrower))
}

func isShort(s subject) bool { return s.plan.Fluid.Charge < s.plan.Fluid.Needed }

func hasThinMargin(s subject) bool { return len(checkChargeShort(s)) > 0 }

// lastDrawn gives what the last running stage takes out of the container, in
// the high case: as fast the margin runs out.
func (s subject) lastDrawn() quantity.Flow {
	for _, stage := range slices.Backward(s.plan.Stages) {
		switch {
		case stage.Soak:
		case s.job.Rig.ToWaste:
			return stage.Rate.High + stage.Return.High
		default:
			return stage.Rate.High
		}
	}
	return 0
}
