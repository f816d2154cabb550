package idletest

import (
	"math"
	"slices"
	"strings"

	"daytank/planner/quantity"
)

// judgePair asks whether the runs of a state may be compared with one another.
func (o *Outcome) judgePair() {
	first := o.Before[0]
	all := slices.Concat(o.Before, o.After)
	bad := func(x Remark) { o.Reasons = append(o.Reasons, x) }
	differs := func(of func(*Test) string) (string, string, bool) {
		for _, r := range all {
			if a, b := of(first.test), of(r.test); a != b && a != "" && b != "" {
				return a, b, true
			}
		}
		return "", "", false
	}
	if a, b, yes := differs(func(t *Test) string { return t.Asset }); yes {
		bad(remark(OtherAsset, "the tests are of different engines, %v and %v", a, b))
	}
	if a, b, yes := differs(func(t *Test) string { return string(t.Measure) }); yes {
		bad(remark(OtherMeasure, "one test measures %v, another %v", a, b))
		return
	}
	for _, r := range all {
		if r.Unit != first.Unit {
			bad(remark(OtherUnit, "one test is in %v, another in %v: give the fuel's density to take mg/stroke as mm3/stroke; other kinds are never compared",
				string(first.Unit), string(r.Unit)))
			return
		}
		if len(r.channels) != len(first.channels) {
			bad(remark(OtherCylinders, "one test has %v cylinders, another %v", len(first.channels), len(r.channels)))
			return
		}
	}
	if _, _, yes := differs(func(t *Test) string { return t.Sign }); yes {
		bad(remark(OtherSign, "in one test a positive correction adds fuel, in another it takes fuel away"))
	}
	for _, name := range []string{"gear", "air-conditioning"} {
		if a, b, yes := differs(func(t *Test) string { return t.Conditions[name] }); yes {
			bad(remark(OtherConditions, "%v was %v in one test and %v in another", name, a, b))
		}
	}
	o.judgeDates()
	if !o.Measure.Single() {
		o.judgeTemperatures()
	}
}

// judgeDates asks whether what is called after came after.
func (o *Outcome) judgeDates() {
	for _, b := range o.Before {
		for _, a := range o.After {
			if b.test.On != "" && a.test.On != "" && a.test.On < b.test.On {
				o.Reasons = append(o.Reasons, remark(AfterOlder, "the test after the clean, of %v, is older than that before, of %v", a.test.On, b.test.On))
				return
			}
		}
	}
}

// judgeTemperatures asks whether every run before was as warm as every run after.
func (o *Outcome) judgeTemperatures() {
	apart := func(of func(Reduced) (float64, bool)) float64 {
		most := 0.0
		for _, b := range o.Before {
			for _, a := range o.After {
				x, has := of(b)
				y, also := of(a)
				if has && also {
					most = max(most, math.Abs(x-y))
				}
			}
		}
		return most
	}
	bad := func(kind Kind, what string, by, most float64) {
		o.Reasons = append(o.Reasons, remark(kind, what, quantity.Kelvins(by), quantity.Kelvins(most)))
	}
	if o.State == Cold {
		start := apart(func(r Reduced) (float64, bool) {
			if r.coolant.Len() == 0 {
				return 0, false
			}
			return r.coolant.V[0], true
		})
		if start > pairCoolant {
			bad(PairStart, "the tests started %v apart in coolant temperature; at most %v", start, pairCoolant)
		}
	} else if by := apart(func(r Reduced) (float64, bool) {
		if r.Coolant == nil {
			return 0, false
		}
		return r.Coolant.Mean, true
	}); by > pairCoolant {
		bad(PairCoolant, "the coolant was %v apart between the tests; at most %v", by, pairCoolant)
	}
	if by := apart(func(r Reduced) (float64, bool) {
		s := r.test.Samples.FuelTemp
		if s.Len() == 0 {
			return 0, false
		}
		return meanOf(s.V), true
	}); o.State == Hot && by > pairFuel {
		bad(PairFuel, "the fuel was %v apart between the tests; at most %v", by, pairFuel)
	}
}

// judgeBetween asks what else was changed between the tests.
func (o *Outcome) judgeBetween(between []Intervening) {
	for _, x := range between {
		switch {
		case x.Reset && !x.Drive:
			o.Reasons = append(o.Reasons, remark(ResetBetween, "%v between the tests, and not driven since: the control unit has not learnt again", x.What))
		case x.Reset:
			o.Warnings = append(o.Warnings, remark(Confounder, "%v between the tests, and driven since", x.What))
		default:
			o.Warnings = append(o.Warnings, remark(Confounder, "%v between the tests: what changed may be due to that", x.What))
		}
	}
	if len(o.Before) == 0 || len(o.After) == 0 {
		return
	}
	before, after := o.Before[0].test.Conditions, o.After[0].test.Conditions
	var names []string
	for name, was := range before {
		if is := after[name]; was != "" && is != "" && was != is && name != "gear" && name != "air-conditioning" {
			names = append(names, name)
		}
	}
	slices.Sort(names)
	for _, name := range names {
		o.Warnings = append(o.Warnings, remark(Confounder, "%v was %v before and %v after: what changed may be due to that",
			strings.ToLower(name), before[name], after[name]))
	}
}
