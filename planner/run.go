package planner

import (
	"daytank/planner/quantity"
)

// end is one end of a band.
type end func(b quantity.Band[quantity.Flow]) quantity.Flow

func low(b quantity.Band[quantity.Flow]) quantity.Flow      { return b.Low }
func expected(b quantity.Band[quantity.Flow]) quantity.Flow { return b.Expected }
func high(b quantity.Band[quantity.Flow]) quantity.Flow     { return b.High }

// PlannedStage is a stage of the run with what flows in it.
type PlannedStage struct {
	Soak   bool
	Speed  quantity.Speed // 0 in a soak
	For    quantity.Duration
	Rate   quantity.Band[quantity.Flow] // burned
	Return quantity.Band[quantity.Flow]
	Burn   quantity.Band[quantity.Volume]
}

// run is the stages of a job with their flows, and the flows that size the rig.
type run struct {
	stages        []PlannedStage
	toWaste       bool
	gross         quantity.Flow                // burn and return at their high, fastest stage
	grossExpected quantity.Flow                // the same as expected
	highestBurn   quantity.Flow                // high, of any stage
	fastestReturn quantity.Band[quantity.Flow] // of the fastest stage
	idleReturn    quantity.Flow                // expected
}

// newRun works out the flows of every stage. A job without any running stage is
// sized for idle.
func newRun(j Job) run {
	r := run{toWaste: j.Rig.ToWaste}
	fastest := j.Engine.IdleSpeed
	for _, s := range j.Run {
		if s.Soak {
			r.stages = append(r.stages, PlannedStage{Soak: true, For: s.For})
			continue
		}
		p := PlannedStage{Speed: s.Speed, For: s.For, Rate: j.Engine.BurnAt(s.Speed)}
		p.Return = j.returnAt(s.Speed, p.Rate)
		p.Burn = overTime(p.Rate, s.For)
		r.stages = append(r.stages, p)
		fastest = max(fastest, s.Speed)
		r.highestBurn = max(r.highestBurn, p.Rate.High)
	}
	idle := j.Engine.IdleBurnBand()
	r.highestBurn = max(r.highestBurn, idle.High)
	r.idleReturn = j.returnAt(j.Engine.IdleSpeed, idle).Expected
	rate := j.Engine.BurnAt(fastest)
	r.fastestReturn = j.returnAt(fastest, rate)
	r.gross = rate.High + r.fastestReturn.High
	r.grossExpected = rate.Expected + r.fastestReturn.Expected
	return r
}

func overTime(rate quantity.Band[quantity.Flow], d quantity.Duration) quantity.Band[quantity.Volume] {
	return quantity.Band[quantity.Volume]{Low: rate.Low.Over(d), Expected: rate.Expected.Over(d), High: rate.High.Over(d)}
}

// returnAt gives the return flow at a speed; with a feed pump, what the pump
// moves and the engine does not burn, if that is more.
func (j Job) returnAt(speed quantity.Speed, rate quantity.Band[quantity.Flow]) quantity.Band[quantity.Flow] {
	b := j.Engine.ReturnFlowAt(speed)
	if j.Rig.Feed != "pump" {
		return b
	}
	q := j.Rig.FeedPump.Flow
	return quantity.Band[quantity.Flow]{
		Low: max(b.Low, q-rate.High), Expected: max(b.Expected, q-rate.Expected), High: max(b.High, q-rate.Low),
	}
}

// drawn gives what a stage takes out of the container: what is burned, and the
// return where it is led to waste.
func (r run) drawn(s PlannedStage, e end) quantity.Flow {
	if r.toWaste {
		return e(s.Rate) + e(s.Return)
	}
	return e(s.Rate)
}

// wasted gives the return led to waste over the whole run.
func (r run) wasted(e end) quantity.Volume {
	var v quantity.Volume
	if r.toWaste {
		for _, s := range r.stages {
			v += e(s.Return).Over(s.For)
		}
	}
	return v
}

// lastRunning gives the last stage in which the engine runs.
func (r run) lastRunning() (PlannedStage, bool) {
	for i := len(r.stages) - 1; i >= 0; i-- {
		if !r.stages[i].Soak {
			return r.stages[i], true
		}
	}
	return PlannedStage{}, false
}

// total gives the length of all stages.
func (r run) total() quantity.Duration {
	var d quantity.Duration
	for _, s := range r.stages {
		d += s.For
	}
	return d
}
