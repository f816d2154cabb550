package planner

import (
	"math"

	"daytank/planner/hydraulics"
	"daytank/planner/quantity"
)

// Judgements of the charge.
const (
	flushOverContents = 2                     // first flush: times line and filter in the loop
	reserveAtGross    = quantity.Duration(10) // seconds of the gross flow kept in reserve
	roomInContainer   = 1.10
)

// loopVolume is what the vehicle's own line, and its filter if it stays in the
// loop, hold of old fuel.
func (j Job) loopVolume() quantity.Volume {
	v := j.Engine.LineVolume
	if j.Rig.FilterInLoop {
		v += j.Engine.FilterVolume
	}
	return v
}

// flush gives the first flush.
func (j Job) flush() quantity.Volume {
	if j.Rig.FirstFlush.Auto {
		return flushOverContents * j.loopVolume()
	}
	return j.Rig.FirstFlush.Volume
}

// strength gives the part of the fluid in the loop that is not old fuel once
// the flush is through: the line is pushed out as a plug, the filter thins out
// as a stirred vessel.
func (j Job) strength(flush, charge quantity.Volume) float64 {
	line, filter := j.Engine.LineVolume, quantity.Volume(0)
	if j.Rig.FilterInLoop {
		filter = j.Engine.FilterVolume
	}
	var residual quantity.Volume
	switch {
	case flush < line:
		residual = line - flush + filter
	case filter > 0:
		residual = filter * quantity.Volume(math.Exp(-float64((flush-line)/filter)))
	}
	if charge <= 0 {
		return 0
	}
	return max(0, 1-float64(residual/charge))
}

// unusable gives what lies too low for the pick-up: the base times the height
// of the pick-up and the cover it wants, or as given; never below the layout's
// least.
func (j Job) unusable(gross quantity.Flow) quantity.Volume {
	c := j.Rig.Container
	least := j.Engine.Layout.LeastUnusable
	switch {
	case c.Unusable != nil:
		return max(least, *c.Unusable)
	case c.Diameter > 0:
		cover := hydraulics.Submergence(gross, c.PickupBore)
		return max(least, hydraulics.Contents(c.Diameter, c.PickupHeight+cover))
	}
	return least
}

// planCharge gives what is needed, and what is poured in.
func (j Job) planCharge(r run) FluidPlan {
	f := FluidPlan{Flush: j.flush(), Unusable: j.unusable(r.gross)}
	if r.idleReturn > 0 {
		f.FlushTime = quantity.Duration(float64(f.Flush) / float64(r.idleReturn))
	}
	for _, h := range []Hose{j.Rig.SupplyHose, j.Rig.ReturnHose} {
		f.Hoses += hydraulics.Contents(h.Bore, h.Length)
	}
	watched := r.highestBurn
	if r.toWaste {
		watched = r.gross
	}
	f.Reserve = f.Unusable + watched.Over(j.Rig.WatchTime) + r.gross.Over(reserveAtGross)
	f.Needed = f.Flush + f.Hoses + f.Reserve
	for _, s := range r.stages {
		f.Needed += r.drawn(s, high).Over(s.For)
	}
	f.Packs = wholePacks(f.Needed, j.Fluid.Pack)
	f.Charge = quantity.Volume(f.Packs) * j.Fluid.Pack
	if j.Rig.Charge != nil {
		f.Charge = *j.Rig.Charge
		f.Packs = wholePacks(f.Charge, j.Fluid.Pack)
	}
	f.Strength = j.strength(f.Flush, f.Charge)
	return f
}

// atStart gives what is in the container when the run begins: flush and hoses
// are out of it.
func (f FluidPlan) atStart() quantity.Volume { return max(0, f.Charge-f.Flush-f.Hoses) }

// ContainerNeeded gives the capacity a container must have: the charge with a
// tenth of room, warmed to the peak of the high case.
func (j Job) ContainerNeeded(p Plan) quantity.Volume {
	warmed := float64(j.Fluid.Density(j.Site.Ambient) / j.Fluid.Density(p.Heat.Peak.High))
	return p.Fluid.Charge * quantity.Volume(max(1, warmed)*roomInContainer)
}

// ChargeForPacks gives the contents of the packs that hold what is needed.
func (j Job) ChargeForPacks(p Plan) quantity.Volume {
	return quantity.Volume(wholePacks(p.Fluid.Needed, j.Fluid.Pack)) * j.Fluid.Pack
}
