package planner

import (
	"daytank/planner/hydraulics"
	"daytank/planner/quantity"
)

// Suction is what the engine's own pump has to pull at its inlet at the gross
// flow, with the container down at the stop level.
type Suction struct {
	Flow         quantity.Flow // gross: burn and return at their high
	Viscosity    quantity.Viscosity
	Reynolds     float64
	Friction     quantity.Pressure // hose, entrance, exit, elbows and couplings
	Lift         quantity.Pressure // negative where the container stands above
	Filter       quantity.Pressure // inline, and the vehicle's own in the loop
	Total        quantity.Pressure
	Expected     quantity.Pressure // total at the expected flows
	Limit        quantity.Pressure
	SmallestBore *quantity.Length // of ISO 1307 that stays within the limit; nil: none does
}

// filterInLoop is what a used fuel filter takes of the suction (own judgement).
const filterInLoop = quantity.Pressure(5000)

// coldestPumped is the warmest at which the fluid is taken to be when it is
// first drawn: viscosity counts at this or at the ambient temperature, whichever
// is colder (own judgement).
const coldestPumped = quantity.Temperature(15)

// cold gives the temperature at which the fluid is thickest.
func (j Job) cold() quantity.Temperature { return min(j.Site.Ambient, coldestPumped) }

// InletLimit gives the depression that the pump may see at its inlet: the
// maker's figure, or that of the layout.
func (j Job) InletLimit() quantity.Pressure {
	if p := j.Engine.InletDepressionLimit; p != nil {
		return *p
	}
	return j.Engine.Layout.InletDepressionLimit
}

// planSuction gives the suction; nil where an electric pump feeds the engine.
func (j Job) planSuction(r run, f FluidPlan) *Suction {
	if j.Rig.Feed == "pump" {
		return nil
	}
	nu, density := j.Fluid.Viscosity(j.cold()), j.Fluid.Density(j.cold())
	hose := hydraulics.Pipe{
		Bore: j.Rig.SupplyHose.Bore, Length: j.Rig.SupplyHose.Length,
		Losses: hydraulics.EntranceLoss + hydraulics.ExitLoss + j.Rig.MinorLoss,
	}
	s := Suction{
		Flow: r.gross, Viscosity: nu, Reynolds: hydraulics.Reynolds(r.gross, hose.Bore, nu),
		Friction: hose.Friction(r.gross, density, nu),
		Lift:     hydraulics.Head(density, j.Rig.Lift+j.fallOfLevel(f)),
		Filter:   j.Rig.SupplyDrop, Limit: j.InletLimit(),
	}
	if j.Rig.FilterInLoop {
		s.Filter += filterInLoop
	}
	s.Total = s.Friction + s.Lift + s.Filter
	s.Expected = hose.Friction(r.grossExpected, density, nu) + s.Lift + s.Filter
	for _, bore := range hydraulics.Bores() {
		other, hose := j, hose // what another hose holds is not in the container
		other.Rig.SupplyHose.Bore, hose.Bore = bore, bore
		lift := hydraulics.Head(density, j.Rig.Lift+other.fallOfLevel(other.planCharge(r)))
		if hose.Friction(r.gross, density, nu)+lift+s.Filter <= s.Limit {
			s.SmallestBore = &bore
			break
		}
	}
	return &s
}

// fallOfLevel gives how far the level in the container falls from the start of
// the run to the stop level; 0 where the diameter is not known.
func (j Job) fallOfLevel(f FluidPlan) quantity.Length {
	base := hydraulics.Area(j.Rig.Container.Diameter)
	if base <= 0 {
		return 0
	}
	return quantity.Metres(max(0, float64(f.atStart()-f.Reserve)) / base)
}

// returnHead gives the pressure against which the engine pushes its return, at
// the high return of the fastest stage: friction, lift and filter. Negative
// where the return falls.
func (j Job) returnHead(r run) quantity.Pressure {
	nu, density := j.Fluid.Viscosity(j.cold()), j.Fluid.Density(j.cold())
	hose := hydraulics.Pipe{
		Bore: j.Rig.ReturnHose.Bore, Length: j.Rig.ReturnHose.Length,
		Losses: hydraulics.EntranceLoss + hydraulics.ExitLoss,
	}
	return hose.Friction(r.fastestReturn.High, density, nu) + hydraulics.Head(density, j.Rig.ReturnLift) + j.Rig.ReturnDrop
}
