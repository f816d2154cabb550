package safety

import (
	"fmt"

	"daytank/planner"
	"daytank/planner/quantity"
)

var fluidTemperature = Rule{
	ID:    "fluid-temperature",
	Title: "how near the fluid comes to its flash point",
	Source: "29 CFR 1910.106, heating rule (within 16.7 K of the flash point); the shut-down figure of 60 °C " +
		"and 5 K below the flash point are common practice, no source",
	When: []When{
		stopWhen("the air is as warm as the fluid may get before it counts as warm"),
		stopWhen("the fluid is expected to get hot: %v below its flash point, or %v", planner.UnderFlash, planner.ShutDown),
		cautionWhen("it is expected to pass warm (%v below its flash point, or %v), or may get hot in the high case", planner.HeatingRule, planner.ShutDown),
		cautionWhen("the container is open, and the fluid may pass warm in the high case"),
	},
	Why:      "The return brings heat into a small container, minute by minute. Near its flash point the fluid gives off vapour that lights; hot, it burns skin and thins out in the pump.",
	Lifts:    "A coil in a bucket of water in the return, more fluid, a shorter run or a soak in it; a closed and vented container.",
	Formulas: []string{"warm-and-hot", "container-heat"},
	check:    checkFluidTemperature,
}

func checkFluidTemperature(s subject) []Finding {
	h := s.plan.Heat
	switch {
	case s.job.Site.Ambient >= h.Warm:
		return []Finding{stop("at %v the air itself is at or above the %v from which this fluid counts as warm", s.job.Site.Ambient, h.Warm).
			liftedBy("another fluid with a higher flash point, or a cooler day")}
	case tooHot(s):
		found := stop("the fluid is expected to reach %v, and %v is hot: the engine must be off before that", h.Peak.Expected, h.Hot).
			liftedBy("lead the return through a coil in a bucket of water, take more fluid, or run shorter with a soak between")
		return []Finding{s.liftedOrShorter(found, tooHot, append(s.coolings(), s.soakBetween()...)...)}
	case getsWarm(s):
		found := caution("the fluid may reach %v (expected %v); from %v on it counts as warm, at %v the engine must be off: a closed, vented and bonded metal container, and readings every 2 min",
			h.Peak.High, h.Peak.Expected, h.Warm, h.Hot).
			liftedBy("lead the return through a coil in a bucket of water, take more fluid, or run shorter with a soak between")
		return []Finding{s.liftedOrShorter(found, getsWarm, append(s.shielding(), s.soakBetween()...)...)}
	}
	return nil
}

func tooHot(s subject) bool { return s.plan.Heat.Peak.Expected >= s.plan.Heat.Hot }

// getsWarm tells whether the fluid may get warm in a way that needs care.
func getsWarm(s subject) bool {
	h := s.plan.Heat
	open := !s.job.Rig.Container.IsClosed()
	return h.Peak.Expected > h.Warm || h.Peak.High >= h.Hot || (open && h.Peak.High > h.Warm)
}

// shielding are the changes that take the danger out of a fluid that gets warm:
// a lid where there is none, then whatever cools.
func (s subject) shielding() []proposal {
	if s.job.Rig.Container.IsClosed() {
		return s.coolings()
	}
	lid := propose(say("take a closed container with a vent and tight hose holes"), "rig.container.closed=true")
	return append([]proposal{lid}, s.coolings()...)
}

// coolings are the changes that keep the fluid cooler, the least first.
func (s subject) coolings() []proposal {
	coil := func(metres, litres float64) proposal {
		return propose(say("lead the return through %v of metal coil in a bucket of %v of water", quantity.Metres(metres), quantity.Litres(litres)),
			fmt.Sprintf("rig.return_cooler={material: metal, length: %g m, water: %g L}", metres, litres))
	}
	return []proposal{coil(3, 10), coil(5, 20), s.pouringMore(s.job.Fluid.Pack)}
}
