package idletest

import (
	"math"
	"slices"

	"daytank/planner/quantity"
)

// judgeLength asks whether there is enough idle, without holes.
func (r *Reduced) judgeLength() {
	r.IdleS = math.Inf(1)
	var short, few, gap *Remark
	for i, c := range r.channels {
		who := r.test.name(i + 1)
		r.IdleS = min(r.IdleS, c.idle)
		if c.idle < wholeIdle-idleShort && short == nil {
			x := remarkOf(i+1, Short, "%v of idle in %v; at least %v are wanted", quantity.Seconds(c.idle), who, quantity.Seconds(wholeIdle))
			short = &x
		}
		if c.interval > 0 && few == nil {
			expected := c.idle/c.interval + float64(c.pieces)
			if float64(c.Len()) < partOfSamples*expected {
				x := remarkOf(i+1, FewSamples, "%v of %v samples expected in %v; at least 90 %% are wanted", c.Len(), math.Round(expected), who)
				few = &x
			}
		}
		if c.longest > max(longestGap, gapIntervals*c.interval) && gap == nil {
			x := remarkOf(i+1, Gap, "a gap of %v at %v in %v", quantity.Seconds(c.longest), quantity.Seconds(c.at), who)
			gap = &x
		}
	}
	for _, x := range []*Remark{short, few, gap} {
		if x != nil {
			r.bad(*x)
		}
	}
}

// judgeWarmth asks whether the engine was as warm as the state says.
func (r *Reduced) judgeWarmth() {
	if r.coolant.Len() == 0 {
		if r.State == Cold {
			r.bad(remark(NoCoolant, "no coolant temperature: cold tests are compared at the same coolant temperature"))
		} else {
			r.warn(remark(NoCoolant, "no coolant temperature: that the engine was warm is taken on trust"))
		}
		return
	}
	if r.State == Hot {
		lowest := slices.Min(r.coolant.V)
		at := r.coolant.T[slices.Index(r.coolant.V, lowest)]
		if lowest < hotCoolant {
			r.bad(remark(NotHot, "coolant down to %v after %v; a hot test needs at least %v throughout",
				quantity.Celsius(math.Floor(lowest)), quantity.Seconds(at), quantity.Celsius(hotCoolant)))
		}
		if drift := driftOf(r.coolant); drift > hotDrift {
			r.bad(remark(Drifts, "the coolant drifted by %v; at most %v in a hot test",
				quantity.Kelvins(drift), quantity.Kelvins(hotDrift)))
		}
		return
	}
	start := r.coolant.V[0]
	switch ambient := r.test.Ambient; {
	case ambient == nil:
		r.warn(remark(NoAmbient, "the temperature of the air was not noted: that the engine was cold is taken on trust"))
	case math.Abs(start-ambient.Celsius()) > coldStart:
		r.bad(remark(NotCold, "coolant at %v at the start, air at %v; a cold test starts within %v of the air",
			quantity.Celsius(start), *ambient, quantity.Kelvins(coldStart)))
	}
}

// driftOf gives the highest less the lowest of the minutes' means.
func driftOf(s Series) float64 {
	low, high := math.Inf(1), math.Inf(-1)
	for i := 0; i < s.Len(); {
		end, sum := i, 0.0
		for end < s.Len() && s.T[end] < s.T[i]+60 {
			sum += s.V[end]
			end++
		}
		mean := sum / float64(end-i)
		low, high = min(low, mean), max(high, mean)
		i = end
	}
	return high - low
}

// scatterOfSpeed makes the idle speed a series of how far it is off its mean. A cold
// engine's mean is taken minute by minute, since it falls.
func (r *Reduced) scatterOfSpeed() {
	if r.Measure != Speed {
		return
	}
	c := &r.channels[0]
	level := slices.Repeat([]float64{meanOf(c.V)}, c.Len())
	if r.State == Cold {
		level = movingMean(c.Series, 30)
	}
	if c.step == 0 {
		c.step = Step(c.V)
	}
	off := make([]float64, c.Len())
	for i, v := range c.V {
		off[i] = math.Abs(v - level[i])
	}
	c.V = off
}

// aboutBins takes a cold run's scatter and correlation about the means of its coolant
// bins: corrections that fall as the engine warms are no scatter.
func (r *Reduced) aboutBins() {
	if r.State != Cold || r.coolant.Len() == 0 {
		return
	}
	own := binned(*r)
	shared := sharedBins([]bins{own})
	if len(shared) == 0 {
		return
	}
	run := coldRun(*r, own, shared)
	for i := range r.channels {
		c := &r.channels[i]
		c.SD, c.Lag1, c.nEff, c.variance = run.side[i].SD, run.side[i].Lag1, run.side[i].EffectiveN, run.variance[i]
	}
}

// clamped tells whether a series stands at its extreme for 5 % of its samples or
// more, and that is as far out as a limit may be.
func clamped(x []float64, limit float64) bool {
	extreme, at := 0.0, 0
	for _, v := range x {
		extreme = max(extreme, math.Abs(v))
	}
	if limit == 0 || extreme < limit {
		return false
	}
	for _, v := range x {
		if math.Abs(v) == extreme {
			at++
		}
	}
	return at >= 3 && float64(at) >= partAtClamp*float64(len(x))
}

// judgeValues says what the numbers themselves give away.
func (r *Reduced) judgeValues(rules Rules) {
	r.judgeHeld()
	if r.Measure == Corrections && math.Abs(r.Mean) > centred(r.Unit) {
		r.warn(remark(OffCentre, "the mean over the cylinders is %v %v: these values are not relative to the mean; re-centred ones stand beside",
			round2(r.Mean), string(r.Unit)))
	}
	least, who := math.Inf(1), 0
	for i, c := range r.channels {
		if c.atClamp {
			r.warn(remarkOf(i+1, AtClamp, "%v stands at its end stop for much of the test: its mean is a lower bound only", r.test.name(i+1)))
		}
		if c.SD > 0 && c.nEff < least {
			least, who = c.nEff, i+1
		}
		if r.State == Hot && c.SD > 0 {
			half := c.Len() / 2
			if d := math.Abs(meanOf(c.V[:half]) - meanOf(c.V[half:])); half > 0 && d > rules.Margin/2 {
				r.warn(remarkOf(i+1, Unsettled, "not settled: %v moved by %v %v from the first half to the second", r.test.name(i+1), round2(d), string(r.Unit)))
			}
		}
	}
	if least < fewEffective {
		minutes := math.Ceil(r.IdleS / 60 * fewEffective / least)
		r.warn(remarkOf(who, LittleData, "the samples of %v are worth %v independent ones; from 30 on the numbers can be relied on, which would take about %v minutes of idle",
			r.test.name(who), round1(least), minutes))
	}
}

// judgeHeld looks for channels that stand still.
func (r *Reduced) judgeHeld() {
	still, liveliest := 0, 0.0
	for _, c := range r.channels {
		if c.N < zerosInARow { // too few to stand still; that they are is said elsewhere
			return
		}
		if c.SD == 0 {
			still++
		} else {
			liveliest = max(liveliest, c.SD/c.step)
		}
	}
	if still == len(r.channels) {
		r.bad(remark(HeldValue, "nothing moves in the whole test: these are held values, not measured ones"))
		return
	}
	for i, c := range r.channels {
		switch {
		case c.SD > 0:
		case liveliest > 2:
			r.bad(remarkOf(i+1, HeldValue, "%v stands at exactly %v throughout while others move: a held value, not a measured one", r.test.name(i+1), round2(c.Mean)))
		default:
			r.warn(remarkOf(i+1, CoarseValue, "%v reads %v throughout: the channel is coarse", r.test.name(i+1), round2(c.Mean)))
		}
	}
}
