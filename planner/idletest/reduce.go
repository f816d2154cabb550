package idletest

import (
	"math"
	"slices"

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
	r.Mean, r.RMS = mean, rms(r.means())
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
	r.Mean, r.RMS = meanOf(r.means()), rms(r.means())
	off := r.Measure == Corrections && math.Abs(r.Mean) > centred(r.Unit)
	for i := range r.channels {
		c := &r.channels[i]
		if c.step == 0 {
			c.step = others
		}
		c.variance = variance(c.SD, c.nEff, c.step)
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

// means gives the channels' means.
func (r Reduced) means() []float64 {
	var m []float64
	for _, c := range r.channels {
		m = append(m, c.Mean)
	}
	return m
}

// rms gives the root of the mean square; 0 of nothing.
func rms(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	sum := 0.0
	for _, v := range x {
		sum += v * v
	}
	return math.Sqrt(sum / float64(len(x)))
}
