package idletest

import (
	"math"

	"daytank/planner/quantity"
)

// Reduced is a test brought down to its numbers, with what is wrong with it. With
// reasons it is no test that could be compared.
type Reduced struct {
	Phase     Phase           `json:"phase"`
	State     State           `json:"state"`
	Run       int             `json:"run"`
	Measure   Measure         `json:"measure"`
	Unit      Unit            `json:"unit"`
	IdleS     float64         `json:"idle_s"` // that is left
	CutS      float64         `json:"cut_s"`
	Cylinders []CylinderMeans `json:"cylinders"`
	Mean      float64         `json:"mean"` // over the cylinders
	RMS       float64         `json:"rms"`
	Load      *Change         `json:"load"`     // percent
	Quantity  *Change         `json:"quantity"` // mm3/stroke
	Coolant   *Change         `json:"coolant"`  // °C
	Reasons   []Remark        `json:"reasons"`
	Warnings  []Remark        `json:"warnings"`

	test     *Test
	channels []channel
	coolant  Series
}

// CylinderMeans is what one cylinder's series comes down to.
type CylinderMeans struct {
	Cylinder int `json:"cylinder"`
	Moments
	EffectiveN float64  `json:"n_eff"`
	SE         float64  `json:"se"`
	Step       float64  `json:"step"`
	Recentred  *float64 `json:"recentred"` // less the mean over the cylinders, where that is off zero
	AtClamp    bool     `json:"at_clamp"`  // its mean is a lower bound
}

// Change is how a channel went over a test: the means of its first and of its last
// minute, and of all.
type Change struct {
	Start float64 `json:"start"`
	End   float64 `json:"end"`
	Mean  float64 `json:"mean"`
}

// channel is one cylinder's series, cut, with its numbers.
type channel struct {
	part
	Moments
	nEff     float64
	step     float64
	variance float64 // of the mean
	atClamp  bool
}

// Reduce brings a test down to its numbers.
func Reduce(t Test, rules Rules) Reduced {
	series, unit := t.channels()
	r := Reduced{
		Phase: t.Phase, State: t.State, Run: t.Run, Measure: t.Measure, Unit: unit,
		Cylinders: []CylinderMeans{}, Reasons: []Remark{}, Warnings: []Remark{}, test: &t,
	}
	rules = rules.usual(unit)
	switch {
	case t.Measure == None:
		r.bad(remark(NotMeasurable, "not measurable on this engine"))
		return r
	case len(series) == 0:
		r.bad(remark(NoValues, "no values at all"))
		return r
	case t.Measure.Single():
		r.takeSingle(series)
		return r
	}
	windows := r.cutWindows(series)
	for i, s := range series {
		c := channel{part: s.without(windows), step: s.Step}
		if c.Len() == 0 && s.Len() == 0 {
			r.bad(remarkOf(i+1, NoValues, "no value of %v", t.name(i+1)))
		}
		r.channels = append(r.channels, c)
	}
	if len(r.Reasons) > 0 {
		return r
	}
	r.coolant = t.Samples.Coolant.without(windows).Series
	r.Coolant = changeOf(r.coolant)
	r.Load = changeOf(t.Samples.Load.without(windows).Series)
	r.Quantity = changeOf(t.Samples.Quantity.without(windows).Series)
	r.judgeLength()
	r.judgeWarmth()
	r.scatterOfSpeed()
	r.numbers(rules)
	r.judgeValues(rules)
	return r
}

func (r *Reduced) bad(x Remark)  { r.Reasons = append(r.Reasons, x) }
func (r *Reduced) warn(x Remark) { r.Warnings = append(r.Warnings, x) }

// channels gives what is compared, by cylinder, and its unit.
func (t Test) channels() ([]Series, Unit) {
	switch t.Measure {
	case Speed:
		if t.Samples.Speed.Len() == 0 {
			return nil, RPM
		}
		return []Series{t.Samples.Speed}, RPM
	case LeakOff, Opacity:
		var singles []Series
		for _, v := range t.Single {
			singles = append(singles, Series{T: []float64{0}, V: []float64{v}})
		}
		if t.Measure == LeakOff {
			return singles, Millilitres
		}
		return singles, PerMetre
	}
	return t.values()
}

// name says what a channel is, for sentences.
func (t Test) name(cylinder int) string {
	switch t.Measure {
	case Speed:
		return "the idle speed"
	case Opacity:
		return "the opacity"
	}
	return quantity.Printer{}.Phrase(quantity.Say("cylinder %v", cylinder))
}

// takeSingle takes the values of measuring bottles or of a smoke meter. Leak-off is
// judged by how far each cylinder lies from the mean of all.
func (r *Reduced) takeSingle(series []Series) {
	mean := 0.0
	if r.Measure == LeakOff {
		for _, s := range series {
			mean += s.V[0] / float64(len(series))
		}
	}
	for i, s := range series {
		m := Moments{N: 1, Mean: s.V[0] - mean}
		r.channels = append(r.channels, channel{Moments: m, nEff: 1})
		r.Cylinders = append(r.Cylinders, CylinderMeans{Cylinder: i + 1, Moments: m, EffectiveN: 1})
	}
	r.Mean, r.RMS = mean, RMS(r.means())
}

// cutWindows finds what is no idle, and says how much it is.
func (r *Reduced) cutWindows(series []Series) []window {
	speed := offSpeed(r.test.Samples.Speed, r.State)
	var zero []window
	if r.Measure == Corrections {
		zero = allZero(series)
	}
	whole := joined(speed, zero)
	count := func(windows []window) int {
		most := 0
		for _, s := range series {
			most = max(most, s.within(windows))
		}
		return most
	}
	if n := count(speed); n > 0 {
		r.warn(remark(SpeedCut, "%v samples of a channel were cut: the speed averaged over 10 s was more than 25 rpm off its level", n))
	}
	if n := count(zero); n > 0 {
		all := 0
		for _, s := range series {
			all = max(all, s.Len())
		}
		if n == all {
			r.bad(remark(BalancingOff, "all corrections are exactly zero throughout: the balancing was off, not perfect"))
		} else {
			r.warn(remark(ZerosCut, "%v samples of a channel were cut: all corrections were exactly zero, so the balancing was off", n))
		}
	}
	for _, w := range whole {
		r.CutS += w.to - w.from
	}
	return whole
}

// changeOf gives how a channel went; nil where it was not recorded.
func changeOf(s Series) *Change {
	if s.Len() == 0 {
		return nil
	}
	first, last := s.T[0], s.T[s.Len()-1]
	within := func(from, to float64) float64 {
		var x []float64
		for i, t := range s.T {
			if t >= from && t <= to {
				x = append(x, s.V[i])
			}
		}
		return meanOf(x)
	}
	return &Change{Start: within(first, first+60), End: within(last-60, last), Mean: meanOf(s.V)}
}

// numbers reduces each channel. A channel that stands still takes its resolution from
// the others.
func (r *Reduced) numbers(rules Rules) {
	others := 0.0
	for i := range r.channels {
		c := &r.channels[i]
		c.Moments = MomentsOf(c.V)
		c.nEff = EffectiveN(c.N, c.Lag1)
		if c.step == 0 {
			c.step = Step(c.V)
		}
		if c.step > 0 && (others == 0 || c.step < others) {
			others = c.step
		}
		c.atClamp = r.Measure == Corrections && clamped(c.V, rules.Limit)
	}
	r.Mean, r.RMS = meanOf(r.means()), RMS(r.means())
	off := r.Measure == Corrections && math.Abs(r.Mean) > centred(r.Unit)
	for i := range r.channels {
		c := &r.channels[i]
		if c.step == 0 {
			c.step = others
		}
		c.variance = VarianceOfMean(c.SD, c.nEff, c.step)
	}
	r.aboutBins()
	for i, c := range r.channels {
		means := CylinderMeans{
			Cylinder: i + 1, Moments: c.Moments, EffectiveN: c.nEff,
			SE: math.Sqrt(c.variance), Step: c.step, AtClamp: c.atClamp,
		}
		if off {
			centre := c.Mean - r.Mean
			means.Recentred = &centre
		}
		r.Cylinders = append(r.Cylinders, means)
	}
}

// means gives the channels' means.
func (r Reduced) means() []float64 {
	var m []float64
	for _, c := range r.channels {
		m = append(m, c.Mean)
	}
	return m
}

// RMS gives the root of the mean square; 0 of nothing.
func RMS(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	sum := 0.0
	for _, v := range x {
		sum += v * v
	}
	return math.Sqrt(sum / float64(len(x)))
}
