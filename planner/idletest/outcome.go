package idletest

import (
	"fmt"
	"math"
	"slices"

	"daytank/planner/quantity"
)

// outcome compares the runs of one state.
func outcome(state State, before, after []Reduced, between []Intervening, rules Rules) Outcome {
	o := Outcome{
		State: state, Reasons: []Remark{}, Warnings: []Remark{}, Cylinders: []Cylinder{},
		Verdict: NotComparable,
	}
	first := slices.Concat(before, after)[0]
	o.Measure, o.Unit = first.Measure, first.Unit
	rules = rules.usual(o.Unit)
	o.Delta, o.Fine, o.Limit, o.Makers = rules.Margin, rules.Fine, rules.Limit, rules.Makers
	o.Before, o.After = o.usable(Before, before), o.usable(After, after)
	o.Runs = Runs{len(o.Before), len(o.After)}
	if len(o.Reasons) == 0 {
		o.judgePair()
	}
	o.judgeBetween(between)
	o.Load = compared(o.Before, o.After, func(r Reduced) *Change { return r.Load })
	o.Quantity = compared(o.Before, o.After, func(r Reduced) *Change { return r.Quantity })
	if len(o.Reasons) > 0 {
		return o
	}
	o.compare(rules)
	return o
}

// usable leaves out the runs that are no tests. Where none is left their reasons are
// the outcome's.
func (o *Outcome) usable(phase Phase, runs []Reduced) []Reduced {
	var good []Reduced
	for _, r := range runs {
		if len(r.Reasons) == 0 {
			good = append(good, r)
		}
	}
	label := func(r Reduced) string {
		if len(runs) == 1 {
			return string(phase)
		}
		return fmt.Sprintf("%s, run %d", phase, r.Run)
	}
	if len(runs) == 0 {
		o.Reasons = append(o.Reasons, remark(NoTest, "no %v test %v the clean", string(o.State), string(phase)))
	}
	for _, r := range runs {
		for _, x := range r.Reasons {
			said := Remark{x.Kind, x.Cylinder, quantity.Say("%v: %v", label(r), x.Say)}
			if len(good) == 0 {
				o.Reasons = append(o.Reasons, said)
			} else {
				o.Warnings = append(o.Warnings, Remark{RunLeftOut, x.Cylinder, quantity.Say("left out: %v", said.Say)})
			}
		}
	}
	for _, r := range good {
		for _, x := range r.Warnings {
			o.Warnings = append(o.Warnings, Remark{x.Kind, x.Cylinder, quantity.Say("%v: %v", label(r), x.Say)})
		}
	}
	return good
}

// compared gives how a channel of all runs went; nil where a run lacks it.
func compared(before, after []Reduced, channel func(Reduced) *Change) *BeforeAfter {
	mean := func(runs []Reduced) *Change {
		var m Change
		for _, r := range runs {
			c := channel(r)
			if c == nil {
				return nil
			}
			n := float64(len(runs))
			m.Start, m.End, m.Mean = m.Start+c.Start/n, m.End+c.End/n, m.Mean+c.Mean/n
		}
		if len(runs) == 0 {
			return nil
		}
		return &m
	}
	b, a := mean(before), mean(after)
	if b == nil || a == nil {
		return nil
	}
	both := BeforeAfter{Before: *b, After: *a}
	if b.Mean != 0 {
		both.Change = 100 * (a.Mean - b.Mean) / math.Abs(b.Mean)
	}
	return &both
}

// compare does the statistics of an outcome whose tests are comparable.
func (o *Outcome) compare(rules Rules) {
	before, after := o.runs()
	if before == nil {
		return
	}
	o.Comparable = true
	repeats := len(before) > 1 || len(after) > 1
	p := pool(before, after)
	b, a := merged(before, repeats, p), merged(after, repeats, p)
	for _, side := range [][]Side{b, a} {
		for i := range side {
			df := max(1, side[i].EffectiveN-1)
			if repeats {
				df = p.df
			}
			side[i].Half = quantile(0.975, df) * side[i].SE
		}
	}
	o.recentre(b, a)
	o.cylinders(b, a, before, after, repeats, p, rules)
	o.spread(b, a, repeats, p)
	if o.Measure.Single() && !repeats {
		o.undecided()
		return
	}
	o.decide(rules)
	o.Strength = Suggested
	if repeats && !o.clampedAfter() {
		o.Strength = Shown
	}
	o.remarks(rules, repeats)
}

// undecided: one value in each phase, and nothing known of its scatter.
func (o *Outcome) undecided() {
	o.Verdict, o.Strength = NoChange, Suggested
	for i := range o.Cylinders {
		o.Cylinders[i].Class = NotShown
	}
	o.Warnings = append(o.Warnings, remark(OnlyRepeats, "one value in each phase says nothing of how it scatters: at least two before or two after are needed"))
}

// runs brings the runs down to means; cold ones at the same coolant temperatures.
func (o *Outcome) runs() (before, after []runOf) {
	take := hotRun
	if o.State == Cold && !o.Measure.Single() {
		all := make([]bins, 0, len(o.Before)+len(o.After))
		for _, r := range slices.Concat(o.Before, o.After) {
			all = append(all, binned(r))
		}
		shared := sharedBins(all)
		if len(shared) < commonBins {
			o.Reasons = append(o.Reasons, remark(NoOverlap,
				"the coolant temperatures of the tests have %v bins of %v in common; at least %v are needed", len(shared), quantity.Kelvins(binWidth), commonBins))
			return nil, nil
		}
		next := 0
		take = func(r Reduced) runOf {
			run := coldRun(r, all[next], shared)
			next++
			return run
		}
	}
	for _, r := range o.Before {
		before = append(before, take(r))
	}
	for _, r := range o.After {
		after = append(after, take(r))
	}
	return before, after
}

// recentre gives, where the mean over the cylinders is off zero, each less that mean.
func (o *Outcome) recentre(sides ...[]Side) {
	for _, side := range sides {
		mean := meanOf(means(side))
		if o.Measure != Corrections || math.Abs(mean) <= centred(o.Unit) {
			continue
		}
		for i := range side {
			x := side[i].Mean - mean
			side[i].Recentred = &x
		}
	}
}

func means(side []Side) []float64 {
	var m []float64
	for _, s := range side {
		m = append(m, s.Mean)
	}
	return m
}

// cylinders tests each cylinder's change.
func (o *Outcome) cylinders(b, a []Side, before, after []runOf, repeats bool, p pooled, rules Rules) {
	var ps []float64
	for i := range b {
		c := Cylinder{Cylinder: i + 1, Before: b[i], After: a[i], Change: a[i].Mean - b[i].Mean}
		c.DistanceChange = math.Abs(a[i].Mean) - math.Abs(b[i].Mean)
		if repeats {
			c.SE = math.Sqrt(p.variance * (1/float64(len(before)) + 1/float64(len(after))))
			c.DF = p.df
		} else {
			var variances, freedoms []float64
			for _, x := range slices.Concat(before[0].parts[i], after[0].parts[i]) {
				variances, freedoms = append(variances, x.variance), append(freedoms, x.df)
			}
			c.SE = math.Sqrt(before[0].variance[i] + after[0].variance[i])
			c.DF = Satterthwaite(variances, freedoms)
		}
		c.T = ratio(c.Change, c.SE)
		c.P = TwoSided(c.T, c.DF)
		c.T = bounded(c.T)
		c.TostP = Equivalence(c.Change, c.SE, c.DF, rules.Margin)
		ps = append(ps, c.P)
		o.Cylinders = append(o.Cylinders, c)
	}
	for i, adjusted := range Holm(ps) {
		o.Cylinders[i].PHolm = adjusted
	}
	worst := 0.0
	for i := range o.Cylinders {
		c := &o.Cylinders[i]
		c.Class = o.class(*c, rules.Margin)
		worst = max(worst, (quantile(0.975, c.DF)+quantile(0.8, c.DF))*c.SE)
	}
	if worst > 0 {
		o.Detectable = &worst
	}
}

// bounded keeps an infinite t out of the numbers: it stands for a change without any
// scatter.
func bounded(t float64) float64 { return max(-math.MaxFloat64, min(math.MaxFloat64, t)) }

// class says what a cylinder did: the first row that holds.
func (o *Outcome) class(c Cylinder, margin float64) Class {
	d, q := c.DistanceChange, quantile(0.975, c.DF)
	moved := c.PHolm < significance && math.Abs(d) > q*c.SE
	if o.tooLittle(c) {
		return NotShown
	}
	class := NotShown
	switch {
	case c.TostP < significance:
		class = Same
	case moved && d <= -margin:
		class = Nearer
	case moved && d >= margin:
		class = Farther
	case c.PHolm < significance && c.Before.Mean*c.After.Mean < 0 && math.Abs(d) < margin:
		class = Crossed
	}
	// A mean at the end stop is a lower bound: what rests on its being no larger is not shown.
	before, after := atClamp(o.Before, c.Cylinder), atClamp(o.After, c.Cylinder)
	switch {
	case after && (class == Same || class == Nearer || class == Crossed),
		before && (class == Same || class == Farther || class == Crossed):
		return NotShown
	}
	return class
}

// tooLittle tells whether a phase's samples of a cylinder are worth fewer than five.
// Single values are not samples.
func (o *Outcome) tooLittle(c Cylinder) bool {
	if o.Measure.Single() {
		return false
	}
	return c.Before.EffectiveN < noEffective || c.After.EffectiveN < noEffective
}

func atClamp(runs []Reduced, cylinder int) bool {
	return slices.ContainsFunc(runs, func(r Reduced) bool { return r.channels[cylinder-1].atClamp })
}

// spread tests the change of the root mean square.
func (o *Outcome) spread(b, a []Side, repeats bool, p pooled) {
	s := Spread{DF: math.Inf(1)}
	s.BeforeRMS, s.BeforeRange = spreadOf(b)
	s.AfterRMS, s.AfterRange = spreadOf(a)
	s.Change = s.AfterRMS - s.BeforeRMS
	s.SE = math.Hypot(errorOf(b, s.BeforeRMS), errorOf(a, s.AfterRMS))
	for _, c := range o.Cylinders {
		s.DF = min(s.DF, c.DF)
	}
	if repeats {
		s.DF = p.df
	}
	s.T = ratio(s.Change, s.SE)
	s.P = TwoSided(s.T, s.DF)
	s.T = bounded(s.T)
	o.Spread = &s
}

// spreadOf gives root mean square and range of the means.
func spreadOf(side []Side) (rootMeanSquare, width float64) {
	m := means(side)
	return RMS(m), slices.Max(m) - slices.Min(m)
}

// errorOf propagates the standard errors of the means to their root mean square.
func errorOf(side []Side, rootMeanSquare float64) float64 {
	sum, z := 0.0, float64(len(side))
	for _, s := range side {
		share := 1 / math.Sqrt(z) // where all means are zero, what one could have moved it by
		if rootMeanSquare > 0 {
			share = s.Mean / (z * rootMeanSquare)
		}
		sum += share * s.SE * share * s.SE
	}
	return math.Sqrt(sum)
}

// decide gives the verdict of the spread.
func (o *Outcome) decide(rules Rules) {
	s := o.Spread
	switch {
	case !(s.P < significance):
		o.Verdict = NoChange
	case s.Change <= -rules.Margin/2:
		o.Verdict = Better
		for _, c := range o.Cylinders {
			if c.Class == Farther && rules.Limit > 0 && math.Abs(c.After.Mean) > rules.Limit {
				o.Verdict = Mixed
			}
		}
	case s.Change >= rules.Margin/2:
		o.Verdict = Worse
	default:
		o.Verdict = TooSmall
	}
}
