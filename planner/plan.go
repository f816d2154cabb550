// Package planner turns a job into a plan: how much cleaning fluid, until when
// the engine may draw from the container, how hot it gets, what hoses and
// priming it takes.
//
// Words: the charge is what is poured into the rig; the first flush is the part
// led to waste until the old fuel is out; the reserve is what must be left, and
// the level at which it is reached is the stop level; unusable is what lies too
// low for the pick-up. Every number is computed with a low, an expected and a
// high value where its inputs are uncertain, and the unsafe end decides.
//
// The job file is YAML, `job: 1`, read by [ReadJob]; its keys are those of
// [Job] in lower case with underscores. Nothing here reads a clock, a disk or a
// terminal: the date is a field of the job.
//
// Formulas stand at their functions with their sources; those called a
// judgement are this project's own, and named so that they can be argued with.
package planner

import (
	"math"

	"daytank/planner/hydraulics"
	"daytank/planner/quantity"
)

// Plan is what was computed for a job.
type Plan struct {
	BurnSource string                         // measured | injection | estimated
	IdleBurn   quantity.Band[quantity.Flow]   // at idle
	Stages     []PlannedStage                 // with soaks of their computed length
	Gross      quantity.Flow                  // what the supply hose must carry: burn and return at their high, fastest stage
	Burn       quantity.Band[quantity.Volume] // of all stages
	Fluid      FluidPlan
	RunDry     RunDry
	Levels     []Level
	Heat       Heat
	Supply     HoseNeed
	Return     HoseNeed
	Suction    *Suction          // nil where an electric pump feeds the engine
	ReturnHead quantity.Pressure // against which the return is pushed; negative where it falls
	Priming    Priming
	Run        quantity.Duration // all stages together
	Waste      Waste
	Doses      []Dose          // of the tank additive, then of the fluid where its label allows it
	Returned   quantity.Volume // of the fluid, washed back into the tank by the first start
	Cost       *float64        // of the packs, in the shop's money; nil without a price
}

// FluidPlan is where the charge goes.
type FluidPlan struct {
	Flush     quantity.Volume
	FlushTime quantity.Duration // at the expected return at idle
	Hoses     quantity.Volume   // contents of both
	Unusable  quantity.Volume
	Reserve   quantity.Volume
	Needed    quantity.Volume
	Packs     int
	Charge    quantity.Volume
	Leftover  quantity.Volume
	Strength  float64 // of the fluid in the loop after the flush, 0 to 1
}

// Priming is how line and filter are filled before the first start.
type Priming struct {
	Volume    quantity.Volume
	Method    string // hand | electric
	Strokes   int    // hand
	KeyCycles int    // electric
	Limit     int    // the count at which to stop and look: twice the guide
	Crank     struct {
		For, Rest quantity.Duration
		Attempts  int
	}
}

// HoseNeed is what one hose must withstand, and how fast it flows.
type HoseNeed struct {
	Required quantity.Temperature
	Velocity float64 // m/s, at the high flow of the fastest stage
}

// MarginOfRating is added to the hottest the fluid is expected to get in a hose
// (own judgement).
const MarginOfRating = quantity.TemperatureDifference(10)

// Compute gives the plan of a job. It is a pure function of the job.
func Compute(j Job) Plan {
	p := Plan{BurnSource: j.Engine.BurnSource(), IdleBurn: j.Engine.IdleBurnBand()}
	r := newRun(j)
	p.Gross = r.gross
	p.Fluid = j.planCharge(r)
	p.Stages = j.soakTimes(r, p.Fluid)
	r.stages = p.Stages
	for _, s := range p.Stages {
		p.Burn = p.Burn.Plus(s.Burn)
		p.Run += s.For
	}
	p.Fluid.Leftover = max(0, p.Fluid.Charge-p.Burn.Expected-p.Fluid.Flush-r.wasted(expected))
	p.Heat = j.planHeat(r, p.Fluid)
	p.RunDry = j.planRunDry(r, p.Fluid)
	p.Levels = j.planLevels(r, p.Fluid, p.Heat)
	p.Supply = HoseNeed{
		Required: p.Heat.Peak.High.Plus(MarginOfRating),
		Velocity: hydraulics.Velocity(r.gross, j.Rig.SupplyHose.Bore),
	}
	p.Return = HoseNeed{
		Required: max(j.Engine.ReturnTemperatureMax, p.Heat.Peak.High).Plus(MarginOfRating),
		Velocity: hydraulics.Velocity(r.fastestReturn.High, j.Rig.ReturnHose.Bore),
	}
	p.Suction = j.planSuction(r, p.Fluid)
	p.ReturnHead = j.returnHead(r)
	p.Priming = j.planPriming()
	p.Waste = j.planWaste(r, p.Fluid)
	p.Doses = j.planDoses()
	p.Returned = j.returned()
	if j.Fluid.Price != nil {
		cost := *j.Fluid.Price * float64(p.Fluid.Packs)
		p.Cost = &cost
	}
	return p
}

// planPriming counts strokes or key cycles for line and filter.
func (j Job) planPriming() Priming {
	e := j.Engine
	p := Priming{Volume: e.LineVolume + e.FilterVolume, Method: e.Primer.Kind}
	if p.Method == "hand" {
		p.Strokes = hydraulics.HandStrokes(p.Volume, e.Primer.StrokeVolume)
		p.Limit = 2 * p.Strokes
	} else {
		p.KeyCycles = hydraulics.KeyCycles(p.Volume, e.Primer.Flow, e.Primer.RunPerKeyOn)
		p.Limit = 2 * p.KeyCycles
	}
	p.Crank.For, p.Crank.Rest, p.Crank.Attempts = e.Crank.For, e.Crank.Rest, e.Crank.Attempts
	return p
}

// wholePacks gives the packs that hold a volume.
func wholePacks(v, pack quantity.Volume) int {
	if pack <= 0 {
		return 0
	}
	return int(math.Ceil(float64(v/pack) - 1e-9))
}
