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
// over so many minutes of idling or what comes to as many, is off by offUL (conjugate normal, as in any text on Bayesian statistics).
func (e Estimate) Update(fallUL, offUL, minutes float64) (mean, sd float64) {
	mean, sd = float64(e.ExpULMin), float64(e.HighULMin-e.LowULMin)/4
	if minutes <= 0 || sd <= 0 {
		return mean, sd
	}
	off := offUL / minutes
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
	mean, sd = plan.Burn.Update(plan.at15(from)-plan.at15(to), plan.differenceUL(from, to), minutes)
	return mean, sd, true
}

// BurnRead is the idle burn as the readings of a run tell it, in µL a minute at 15 °C,
// beside what it was planned with.
type BurnRead struct {
	Read, Planned Estimate
}

// Narrower tells whether the readings say more than was known.
func (b BurnRead) Narrower() bool {
	return b.Read.HighULMin-b.Read.LowULMin < b.Planned.HighULMin-b.Planned.LowULMin
}

// firmShare is how wide the band may be to both sides for a burn that plans take as
// measured, which they do to ±5 % (own judgement).
const firmShare = 0.10

// Firm tells whether the band is narrow enough to stand as a measured burn.
func (b BurnRead) Firm() bool {
	return float64(b.Read.HighULMin-b.Read.LowULMin)/2 <= firmShare*float64(b.Read.ExpULMin)
}

// BurnRead gives the idle burn by the readings of the run, once that has ended; false
// where the plan or the readings do not tell it, and where they were entered from paper,
// which does not say when the stages began. An estimate is made better by the
// readings; a burn that was measured before stands against them alone. The band is two
// standard errors to both sides.
func (s State) BurnRead() (BurnRead, bool) {
	r, plan := s.run, s.planned.List.Run
	if s.papered || !r.ended || plan.Idle == nil || len(r.readings) < 2 || !r.readings[0].Baseline {
		return BurnRead{}, false
	}
	mean, sd, ok := r.burn(plan)
	if !ok {
		from, to := r.readings[0], r.readings[len(r.readings)-1]
		minutes := r.idleMinutes(plan, to.RunMS)
		if minutes < 1 {
			return BurnRead{}, false
		}
		mean, sd = (plan.at15(from)-plan.at15(to))/minutes, plan.differenceUL(from, to)/minutes
	}
	whole := func(x float64) int64 { return int64(math.Round(x)) }
	return BurnRead{Estimate{whole(max(0, mean-2*sd)), whole(mean), whole(mean + 2*sd)}, *plan.Idle}, mean > 0
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

// stopAtMS gives when the stop level may be reached at the earliest, by the run: from
// what the plan begins with at the plan's high burn, or from the last reading where the
// burn was estimated. Stages that took longer or shorter than planned count as they
// went, the one under way until now at least. Nil: not in this run.
func (r engineRun) stopAtMS(plan Run, now int64) *int64 {
	mean, sd, ok := r.burn(plan)
	switch {
	case ok:
		last := r.readings[len(r.readings)-1]
		fast := math.Max(mean+2*sd, 1) / float64(minute) // µL a millisecond, at idle
		return r.reaches(plan, last.RunMS, now, plan.at15(last)-float64(plan.StopUL), false, func(s Stage) float64 {
			return fast * float64(s.FactorPPM) / 1e6
		})
	case plan.EarliestMS == nil || !r.running || plan.ExpansionPPM == 0: // or a checklist of before rates were kept
		return plan.EarliestMS
	}
	most := func(s Stage) float64 { return float64(s.DrawnHighULMin) / float64(minute) }
	above := engineRun{}.drawnBy(plan, *plan.EarliestMS, most)
	if above <= 0 {
		return plan.EarliestMS
	}
	at := r.reaches(plan, 0, now, above, true, most)
	if n := len(r.readings); n > 0 && at != nil && r.readings[0].Baseline { // what was read bounds it on both sides
		last := r.readings[n-1]
		level, off := plan.at15(last)-float64(plan.StopUL), 2*plan.errorUL(last)
		if soonest := r.reaches(plan, last.RunMS, now, level-off, true, most); soonest != nil && *soonest > *at {
			at = soonest
		}
		if latest := r.reaches(plan, last.RunMS, now, math.Max(level+off, 0), true, most); latest != nil && *latest < *at {
			at = latest
		}
	}
	return at
}

// stages calls what it is given with each stage, when it began and when it ends, and
// last with the burn after the planned end, until that says to stop. A stage ends as
// the next began, or as planned, but not before now.
func (r engineRun) stages(plan Run, now int64, each func(s Stage, from, to int64) bool) {
	begun, last := int64(0), Stage{}
	for i, s := range plan.Stages {
		end := begun + s.LengthMS
		switch {
		case i+1 < len(r.starts):
			end = r.starts[i+1]
		case i+1 == len(r.starts):
			end = max(end, now)
		}
		if !each(s, begun, end) {
			return
		}
		if begun = end; !s.Soak {
			last = s
		}
	}
	each(last, begun, math.MaxInt64/2)
}

// drawnBy gives what is drawn until a time of the run.
func (r engineRun) drawnBy(plan Run, until int64, rate func(Stage) float64) float64 {
	sum := 0.0
	r.stages(plan, 0, func(s Stage, from, to int64) bool {
		sum += rate(s) * float64(max(0, min(to, until)-from))
		return to < until
	})
	return sum
}

// reaches gives when so much has been drawn from a time on; beyond the planned end
// only where that is wanted.
func (r engineRun) reaches(plan Run, since, now int64, left float64, beyond bool, rate func(Stage) float64) (at *int64) {
	if left <= 0 {
		return &since
	}
	r.stages(plan, now, func(s Stage, from, to int64) bool {
		from = max(from, since)
		length, per := float64(max(0, to-from)), rate(s)
		if per > 0 && left <= per*length {
			if ms := from + int64(left/per); beyond || to < math.MaxInt64/2 {
				at = &ms
			}
			return false
		}
		left -= per * length
		return true
	})
	return at
}
