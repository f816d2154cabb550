package idletest

import (
	"fmt"
	"math"
	"strings"

	"daytank/planner/quantity"
)

// remarks says what a reader has to know beside the numbers.
func (o *Outcome) remarks(rules Rules, repeats bool) {
	warn := func(x Remark) { o.Warnings = append(o.Warnings, x) }
	if !repeats {
		warn(remark(OneRunEach, "one run in each phase: how much an idle differs from one day to another is not known, so the verdict is suggested and not shown"))
	}
	name := o.Before[0].test.name
	for _, c := range o.Cylinders {
		if o.tooLittle(c) {
			warn(remarkOf(c.Cylinder, TooLittle, "the samples of %v are worth fewer than 5 independent ones: nothing is shown for it", name(c.Cylinder)))
		}
		if plain := plainP(c); o.Measure == Corrections && !repeats && plain < significance && c.PHolm >= significance && c.Class == NotShown {
			warn(remarkOf(c.Cylinder, Correlated, "%v would look changed if every sample were independent; they follow one another, %v of them are worth %v, so no change is shown",
				name(c.Cylinder), c.Before.N+c.After.N, math.Round(c.Before.EffectiveN+c.After.EffectiveN)))
		}
		if o.Measure == Corrections && rules.Limit > 0 && math.Abs(c.After.Mean) > rules.Limit {
			warn(remarkOf(c.Cylinder, BeyondLimit, "%v stands at %v %v after the clean, beyond the limit of %v (%v): have that injector and the cylinder's compression tested",
				name(c.Cylinder), round2(c.After.Mean), string(o.Unit), rules.Limit, o.limitSource()))
		}
	}
	o.oneMoved(rules)
	if q := o.Quantity; q != nil && q.Before.Mean > 0 && q.After.Mean < (1-quantityFalls)*q.Before.Mean && o.allFine(rules) {
		warn(remark(QuantityFell, "the injected quantity fell from %v to %v though the corrections are fine: a leaking injector looks like this",
			quantity.CubicMillimetres(q.Before.Mean), quantity.CubicMillimetres(q.After.Mean)))
	}
}

// plainP gives the p of Welch's test as if every sample were independent: what a
// look at the averages amounts to.
func plainP(c Cylinder) float64 {
	vb, va := c.Before.SD*c.Before.SD/float64(c.Before.N), c.After.SD*c.After.SD/float64(c.After.N)
	df := Satterthwaite([]float64{vb, va}, []float64{float64(c.Before.N - 1), float64(c.After.N - 1)})
	return TwoSided(ratio(c.Change, math.Sqrt(vb+va)), df)
}

func (o *Outcome) limitSource() string {
	if o.Makers {
		return "the engine maker's"
	}
	return "common practice"
}

func (o *Outcome) allFine(rules Rules) bool {
	for _, c := range o.Cylinders {
		if rules.Fine > 0 && math.Abs(c.After.Mean) > rules.Fine {
			return false
		}
	}
	return o.Measure == Corrections
}

// oneMoved looks for one cylinder that moved one way while all others moved the other
// way and make up for it: since corrections are relative, that is one injector.
func (o *Outcome) oneMoved(rules Rules) {
	z := len(o.Cylinders)
	if o.Measure != Corrections || z < 3 {
		return
	}
	most := 0
	for i, c := range o.Cylinders {
		if math.Abs(c.Change) > math.Abs(o.Cylinders[most].Change) {
			most = i
		}
	}
	moved := o.Cylinders[most]
	share := -moved.Change / float64(z-1)
	for i, c := range o.Cylinders {
		if i == most {
			continue
		}
		if c.Change*share <= 0 || math.Abs(c.Change-share) > math.Abs(share) {
			return
		}
	}
	if math.Abs(moved.Change) < rules.Margin || moved.PHolm >= significance {
		return
	}
	o.Warnings = append(o.Warnings, remarkOf(moved.Cylinder, OneMoved,
		"cylinder %v moved by %v and all others by about %v the other way: corrections are relative, so this is one injector, and the others only follow",
		moved.Cylinder, round2(moved.Change), round2(math.Abs(share))))
}

// clampedAfter tells whether a cylinder stood at its end stop after the clean: then
// the spread after is a lower bound.
func (o Outcome) clampedAfter() bool {
	for _, c := range o.Cylinders {
		if atClamp(o.After, c.Cylinder) {
			return true
		}
	}
	return false
}

// verdictWords gives the beginning of the overall sentence.
func (o Outcome) verdictWords() string {
	if o.Strength == "" {
		return string(o.Verdict)
	}
	return fmt.Sprintf("%s (%s)", o.Verdict, o.Strength)
}

// story gives what happened in a state, in plain words.
func (o Outcome) story() quantity.Phrase {
	if o.Verdict == NotComparable {
		return quantity.Say("%v", o.Reasons[0].Say)
	}
	s := o.Spread
	values := quantity.Say("from %v to %v %v", round2(s.BeforeRMS), round2(s.AfterRMS), string(o.Unit))
	if o.clampedAfter() {
		values = quantity.Say("from %v to at least %v %v", round2(s.BeforeRMS), round2(s.AfterRMS), string(o.Unit))
	}
	what := map[Measure]string{
		Corrections: "the spread of the corrections", Speed: "the scatter of the idle speed",
		LeakOff: "the spread of the leak-off volumes", Opacity: "the opacity",
	}[o.Measure]
	switch o.Verdict {
	case Better:
		return quantity.Say("%v, and %v fell %v", map[bool]string{true: "the cylinders work more evenly", false: "it runs more quietly"}[o.Measure == Corrections], what, values)
	case Worse:
		return quantity.Say("%v, and %v rose %v", map[bool]string{true: "the cylinders work less evenly", false: "it runs less quietly"}[o.Measure == Corrections], what, values)
	case Mixed:
		for _, c := range o.Cylinders {
			if c.Class == Farther && math.Abs(c.After.Mean) > o.Limit {
				return quantity.Say("%v fell %v, yet cylinder %v moved away to %v and is beyond the limit", what, values, c.Cylinder, round2(c.After.Mean))
			}
		}
	case TooSmall:
		return quantity.Say("%v went %v, less than would matter", what, values)
	}
	if o.Detectable == nil || !(*o.Detectable < 1e6) {
		return quantity.Say("%v went %v, no more than it may by chance", what, values)
	}
	return quantity.Say("%v went %v, no more than it may by chance; a cylinder would have had to move by about %v to be seen", what, values, round2(*o.Detectable))
}

// sayAll writes the overall sentence, what holds for all states, and what would make
// the answer firmer.
func (c *Comparison) sayAll(between []Intervening) {
	if len(c.States) == 0 {
		c.say(quantity.Say("Nothing to compare: no test before and none after the clean."))
		return
	}
	words, same := c.States[0].verdictWords(), true
	for _, o := range c.States {
		same = same && o.verdictWords() == words
		if o.Measure == Corrections && o.Comparable && !has(c.Warnings, Uniform) {
			c.Warnings = append(c.Warnings, remark(Uniform, "a wear that all injectors share does not show in corrections: they are relative to the mean"))
		}
	}
	switch {
	case c.notMeasurable():
		c.say(quantity.Say("Not comparable: not measurable on this engine; whether the clean did anything cannot be said from an idle test."))
	case len(c.States) == 1:
		c.say(quantity.Say("%v: %v%v.", c.opening(c.States[0].verdictWords()), c.States[0].story(), c.but()))
	case same:
		c.say(quantity.Say("%v, hot as well as cold: hot %v; cold %v%v.", capital(words), c.States[0].story(), c.States[1].story(), c.but()))
	default:
		c.say(quantity.Say("Hot: %v, %v. Cold: %v, %v%v.", c.States[0].verdictWords(), c.States[0].story(), c.States[1].verdictWords(), c.States[1].story(), c.but()))
	}
	c.firmer(between)
}

func (c *Comparison) opening(words string) string {
	if c.States[0].State == Hot {
		return capital(words) + ", hot"
	}
	return capital(words) + ", cold"
}

func capital(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

func (c *Comparison) notMeasurable() bool {
	for _, o := range c.States {
		if !has(o.Reasons, NotMeasurable) {
			return false
		}
	}
	return true
}

// but names what else may be the cause, once.
func (c *Comparison) but() quantity.Phrase {
	for _, o := range c.States {
		if !o.Comparable || o.Verdict == NoChange {
			continue
		}
		var found []any
		for _, w := range o.Warnings {
			if w.Kind == Confounder {
				found = append(found, w.Say)
			}
		}
		if len(found) > 0 {
			return quantity.Say("; but "+strings.TrimSuffix(strings.Repeat("%v; ", len(found)), "; "), found...)
		}
	}
	return quantity.Say("")
}

func (c *Comparison) say(p quantity.Phrase) {
	c.Sentence = p
	c.Overall = quantity.Printer{}.Phrase(p)
}

// firmer says what would make the answer firmer, each once.
func (c *Comparison) firmer(between []Intervening) {
	advise := func(kind Kind, format string, args ...any) {
		if !has(c.Firmer, kind) {
			c.Firmer = append(c.Firmer, remark(kind, format, args...))
		}
	}
	for _, o := range c.States {
		for _, r := range o.Reasons {
			if r.Kind == NoTest {
				advise(NoTest, "%v; take it under the same conditions", r.Say)
			}
		}
		for kind, advice := range map[Kind]string{
			Short: "idle for the whole ten minutes", Gap: "record without a break", FewSamples: "record without a break",
			NotHot: "drive the engine warm before a hot test", NotCold: "let the engine stand overnight before a cold test",
			NoCoolant: "record the coolant temperature as well",
		} {
			if has(o.Reasons, kind) || has(o.Warnings, kind) {
				advise(kind, advice)
			}
		}
		if o.Comparable && o.Strength != Shown {
			advise(OneRunEach, "repeat the test on another day: two or three runs before, and as many after, tell the scatter from day to day")
		}
		if has(o.Warnings, LittleData) || has(o.Warnings, TooLittle) {
			advise(LittleData, "idle longer, or record more often")
		}
		if o.Verdict == NoChange && o.Detectable != nil && *o.Detectable > o.Delta && *o.Detectable < 1e6 {
			advise(Detectable, "a change of %v %v would be seen here; for one of %v more or longer runs are needed", round2(*o.Detectable), string(o.Unit), o.Delta)
		}
	}
	if len(c.States) == 1 && !c.notMeasurable() {
		other := Cold
		if c.States[0].State == Cold {
			other = Hot
		}
		advise(OtherState, "test %v as well, before and after", string(other))
	}
	for _, x := range between {
		if x.Reset && !x.Drive {
			advise(ResetBetween, "drive 20 to 30 minutes, then repeat the test after the clean")
		}
	}
}
