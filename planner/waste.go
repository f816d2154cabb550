package planner

import "daytank/planner/quantity"

// Waste is what has to be taken away afterwards, and the can it goes into.
type Waste struct {
	Liquid    quantity.Volume // left over, first flush, drained filter, and the return where it is led away
	Container quantity.Volume
}

// roomInWasteCan is how much larger the can is than what goes into it (common
// practice, no source).
const roomInWasteCan = 1.25

func (j Job) planWaste(r run, f FluidPlan) Waste {
	w := Waste{Liquid: f.Leftover + f.Flush + j.Engine.FilterVolume + r.wasted(expected)}
	w.Container = roomInWasteCan * w.Liquid
	return w
}
