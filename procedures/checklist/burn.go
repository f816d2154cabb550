package checklist

import "math"

// Estimate is the idle burn as it was estimated for the plan, in µL a minute at
// 15 °C. The readings of the run make it better.
type Estimate struct {
	LowULMin  int64 `json:"low_ul_min"`
	ExpULMin  int64 `json:"expected_ul_min"`
	HighULMin int64 `json:"high_ul_min"`
}

// Update gives what an estimate and a measured fall say together: the mean of the
// burn and its standard deviation, in µL a minute. The estimate stands for a normal
// distribution about its expected value, a quarter of its range wide; the fall, in µL,
// over so many minutes of idling or what comes to as many, is off by two readings
// (conjugate normal, as in any text on Bayesian statistics).
func (e Estimate) Update(fallUL, minutes float64) (mean, sd float64) {
	mean, sd = float64(e.ExpULMin), float64(e.HighULMin-e.LowULMin)/4
	if minutes <= 0 || sd <= 0 {
		return mean, sd
	}
	off := math.Sqrt2 * readingErrorUL / minutes
	prior, seen := 1/(sd*sd), 1/(off*off)
	return (mean*prior + fallUL/minutes*seen) / (prior + seen), 1 / math.Sqrt(prior+seen)
}

// burn gives the idle burn by the readings so far; false where it was measured, where
// the return goes to waste, or nothing was read yet.
func (r engineRun) burn(plan Run) (mean, sd float64, ok bool) {
	if plan.Burn == nil || len(r.readings) < 2 || !r.readings[0].Baseline {
		return 0, 0, false
	}
	from, to := r.readings[0], r.readings[len(r.readings)-1]
	minutes := r.idleMinutes(plan, to.RunMS)
	if minutes < 1 { // two readings of the same minute tell nothing
		return 0, 0, false
	}
	mean, sd = plan.Burn.Update(plan.at15(from)-plan.at15(to), minutes)
	return mean, sd, true
}

// idleMinutes gives how many minutes of idling the run until then comes to.
func (r engineRun) idleMinutes(plan Run, untilMS int64) float64 {
	sum := 0.0
	for i, begun := range r.starts {
		ended := untilMS
		if i+1 < len(r.starts) {
			ended = min(ended, r.starts[i+1])
		}
		if i < len(plan.Stages) && ended > begun {
			sum += float64(plan.Stages[i].FactorPPM) / 1e6 * float64(ended-begun) / float64(minute)
		}
	}
	return sum
}

// stopAtMS gives when the stop level may be reached at the earliest, by the run: as
// planned, or by the readings where the burn was estimated. Nil: not in this run.
func (r engineRun) stopAtMS(plan Run) *int64 {
	mean, sd, ok := r.burn(plan)
	if !ok {
		return plan.EarliestMS
	}
	last := r.readings[len(r.readings)-1]
	left, fast := plan.at15(last)-float64(plan.StopUL), math.Max(mean+2*sd, 1)
	at := last.RunMS
	end := r.stageMS
	for i := r.stage; i < len(plan.Stages); i++ {
		s := plan.Stages[i]
		end += s.LengthMS
		rate := fast * float64(s.FactorPPM) / 1e6 / float64(minute) // µL a millisecond
		length := float64(max(0, end-at))
		if left <= 0 || rate > 0 && left <= rate*length {
			ms := at
			if left > 0 {
				ms += int64(left / rate)
			}
			return &ms
		}
		left -= rate * length
		at = max(at, end)
	}
	return nil
}
