package planner

import (
	"daytank/planner/hydraulics"
	"daytank/planner/quantity"
)

// RunDry says when to stop so that the engine never draws air.
type RunDry struct {
	StopLevel       quantity.Volume  // what is left in the container when the engine must stop
	StopLevelHeight *quantity.Length // of liquid; nil without a diameter

	// When the stop level is reached at the high burn and at the expected one,
	// from the start of the run and beyond its planned end; nil if it starts
	// below it or never gets there.
	Earliest, Expected *quantity.Duration
	Margin             *quantity.Duration // from the planned end to Earliest; negative when too late

	// How long until the container is drawn down to the unusable rest if the
	// return hose slips out, at the gross flow; AtStopLevel is nil for a return
	// to waste, which draws that way always.
	AtStart, AtEnd quantity.Duration
	AtStopLevel    *quantity.Duration
}

func (j Job) planRunDry(r run, f FluidPlan) RunDry {
	start := f.atStart()
	d := RunDry{StopLevel: f.Reserve}
	if j.Rig.Container.Diameter > 0 {
		height := quantity.Metres(float64(f.Reserve) / hydraulics.Area(j.Rig.Container.Diameter))
		d.StopLevelHeight = &height
	}
	d.Earliest = r.reaches(start-f.Reserve, high)
	d.Expected = r.reaches(start-f.Reserve, expected)
	if d.Earliest != nil {
		margin := *d.Earliest - r.total()
		d.Margin = &margin
	}
	atEnd := start
	for _, s := range r.stages {
		atEnd -= r.drawn(s, high).Over(s.For)
	}
	d.AtStart = slipsEmpty(start-f.Unusable, r.gross)
	d.AtEnd = slipsEmpty(atEnd-f.Unusable, r.gross)
	if !r.toWaste {
		stop := slipsEmpty(f.Reserve-f.Unusable, r.gross)
		d.AtStopLevel = &stop
	}
	return d
}

func slipsEmpty(above quantity.Volume, gross quantity.Flow) quantity.Duration {
	if above <= 0 || gross <= 0 {
		return 0
	}
	return quantity.Duration(float64(above) / float64(gross))
}

// reaches gives when so much has been drawn, stage by stage and then on at the
// last running stage's rate.
func (r run) reaches(available quantity.Volume, e end) *quantity.Duration {
	if available < 0 {
		return nil
	}
	var at quantity.Duration
	for _, s := range r.stages {
		rate := r.drawn(s, e)
		if taken := rate.Over(s.For); taken >= available && rate > 0 {
			at += quantity.Duration(float64(available) / float64(rate))
			return &at
		}
		available -= rate.Over(s.For)
		at += s.For
	}
	last, runs := r.lastRunning()
	rate := r.drawn(last, e)
	if !runs || rate <= 0 {
		return nil
	}
	at += quantity.Duration(float64(available) / float64(rate))
	return &at
}
