package planner

import (
	"slices"

	"daytank/planner/quantity"
)

// Level is what the container should read at a time of the run.
type Level struct {
	At          quantity.Duration
	Volume      quantity.Band[quantity.Volume] // as read, at the fluid's temperature then
	Temperature quantity.Temperature           // expected
}

// levelEvery is how often the table of levels has a row, besides stage changes.
const levelEvery = quantity.Duration(5 * 60)

// rows gives the times of the table: every five minutes and each stage change.
func (r run) rows() []quantity.Duration {
	times := []quantity.Duration{0}
	total := r.total()
	for t := levelEvery; t < total; t += levelEvery {
		times = append(times, t)
	}
	var at quantity.Duration
	for _, s := range r.stages {
		at += s.For
		times = append(times, at)
	}
	slices.Sort(times)
	// Sums of stage lengths and multiples of five minutes can differ in the
	// last digits only.
	return slices.CompactFunc(times, func(a, b quantity.Duration) bool { return max(a-b, b-a) < 0.5 })
}

// planLevels gives the level as it will be read: the mass that is left in the
// container over the density at the fluid's temperature.
func (j Job) planLevels(r run, f FluidPlan, h Heat) []Level {
	ambient := float64(j.Fluid.Density(j.Site.Ambient))
	rho15 := float64(j.Fluid.Density15)
	mass := float64(f.Charge-f.Flush-f.Hoses) * ambient
	levels := []Level{}
	for i, at := range r.rows() {
		t := h.atRows[i]
		density := float64(j.Fluid.Density(t))
		read := func(e end) quantity.Volume {
			left := mass - float64(r.takenBy(at, e))*rho15
			return quantity.Volume(max(0, left/density))
		}
		levels = append(levels, Level{At: at, Temperature: t, Volume: quantity.Band[quantity.Volume]{
			Low: read(high), Expected: read(expected), High: read(low),
		}})
	}
	return levels
}

// takenBy gives what has left the container by a time.
func (r run) takenBy(at quantity.Duration, e end) quantity.Volume {
	var v quantity.Volume
	for _, s := range r.stages {
		d := min(max(at, 0), s.For)
		v += r.drawn(s, e).Over(d)
		at -= s.For
	}
	return v
}
