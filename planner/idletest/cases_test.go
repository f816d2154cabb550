package idletest

import (
	"math"

	"daytank/planner/quantity"
)

// cases are tests with what they must come to. Classes are those of the cylinders in
// order, where that is asked. One table, as long as there are cases.
var cases = []struct {
	name     string
	tests    func() []Test
	between  []Intervening
	rules    Rules
	verdict  Verdict
	strength Strength
	kinds    []Kind  // that must be among reasons, warnings or advice
	not      []Kind  // that must not
	classes  []Class // of all cylinders
	overall  string  // part of the sentence
}{
	{
		name: "better", tests: func() []Test { return pair(Hot, uneven, even, 0.3, 0.3) },
		verdict: Better, strength: Suggested, kinds: []Kind{OneRunEach, Uniform, OtherState}, not: []Kind{LittleData, OffCentre},
		classes: []Class{Nearer, Nearer, Same, Nearer},
		overall: "Better (suggested), hot: the cylinders work more evenly, and the spread of the corrections fell from 1.3",
	},
	{
		name: "better with repeats", tests: func() []Test { return runs(Hot, uneven, even, 2, 2, 0.05) },
		verdict: Better, strength: Shown, not: []Kind{OneRunEach}, overall: "Better (shown), hot",
	},
	{
		name: "one run against two", tests: func() []Test { return runs(Hot, uneven, even, 1, 2, 0.05) },
		verdict: Better, strength: Shown, not: []Kind{OneRunEach},
	},
	{
		name: "worse", tests: func() []Test { return pair(Hot, even, uneven, 0.3, 0.3) },
		verdict: Worse, strength: Suggested, classes: []Class{Farther, Farther, Same, Farther}, overall: "rose from 0.3",
	},
	{
		name: "mixed", tests: func() []Test {
			return pair(Hot, []float64{4.9, -7, 6, -3.9}, []float64{6, -2.5, -1.5, -2}, 0.2, 0.2)
		},
		verdict: Mixed, strength: Suggested, kinds: []Kind{BeyondLimit},
		classes: []Class{Farther, Nearer, Nearer, Nearer}, overall: "yet cylinder 1 moved away to 6",
	},
	{
		name: "too small to matter", tests: func() []Test {
			return pair(Hot, []float64{1, -1, 1, -1}, []float64{0.85, -0.85, 0.85, -0.85}, 0.15, 0.1)
		},
		verdict: TooSmall, strength: Suggested, classes: []Class{Same, Same, Same, Same}, overall: "less than would matter",
	},
	{
		name: "no change", tests: func() []Test { return pair(Hot, uneven, uneven, 0.3, 0.3) },
		verdict: NoChange, strength: Suggested, classes: []Class{Same, Same, Same, Same}, overall: "no more than it may by chance",
	},
	{
		name: "crossed", tests: func() []Test {
			return pair(Hot, []float64{0.6, -0.6, 0.6, -0.6}, []float64{-0.6, 0.6, -0.6, 0.6}, 0.1, 0)
		},
		verdict: NoChange, classes: []Class{Crossed, Crossed, Crossed, Crossed},
	},
	{
		name: "significant and still the same", tests: func() []Test {
			return pair(Hot, []float64{1, -1, 0, 0}, []float64{0.8, -0.8, 0, 0}, 0.05, 0)
		},
		verdict: TooSmall, classes: []Class{Same, Same, Same, Same},
	},
	{
		// Neighbouring samples resemble each other: 41 are worth fewer than five.
		name: "long memory", tests: func() []Test {
			return []Test{
				made{phase: Before, state: Hot, means: []float64{1, -1, 1, -1}, sd: 0.6, lag1: 0.96, every: 15}.test(),
				made{phase: After, state: Hot, means: []float64{0.6, -0.6, 0.6, -0.6}, sd: 0.6, lag1: 0.96, every: 15}.test(),
			}
		},
		verdict: NoChange, kinds: []Kind{LittleData, TooLittle, Detectable},
		classes: []Class{NotShown, NotShown, NotShown, NotShown},
	},
	{
		// Plain averages call it significant.
		name: "resembling samples", tests: func() []Test {
			return pair(Hot, []float64{1, -1, 1, -1}, []float64{0.85, -0.85, 0.85, -0.85}, 0.6, 0.85)
		},
		rules:   Rules{Margin: 0.2},
		verdict: NoChange, kinds: []Kind{LittleData, Correlated}, overall: "no more than it may by chance; a cylinder would have had to move by about",
	},
	{
		// The injector of cylinder 4 was mended: the others only follow.
		name: "one mended injector", tests: func() []Test {
			return pair(Hot, []float64{-1, -1, -1, 3}, []float64{0, 0, 0, 0.01}, 0.2, 0.2)
		},
		verdict: Better, kinds: []Kind{OneMoved}, classes: []Class{Nearer, Nearer, Nearer, Nearer},
	},
	{
		name: "all zeros", tests: func() []Test {
			return lastOf(pair(Hot, uneven, even, 0.3, 0.3), func(t *Test) {
				eachValue(t.Samples.Corrections, func(_, _ float64) float64 { return 0 })
			})
		},
		verdict: NotComparable, kinds: []Kind{BalancingOff}, overall: "the balancing was off",
	},
	{
		name: "some zeros", tests: func() []Test {
			return lastOf(change(pair(Hot, uneven, even, 0.3, 0.3), func(t *Test) { *t = longer(*t) }), func(t *Test) {
				eachValue(t.Samples.Corrections, func(at, v float64) float64 {
					if at >= 300 && at <= 330 {
						return 0
					}
					return v
				})
			})
		},
		verdict: Better, kinds: []Kind{ZerosCut},
	},
	{
		name: "held", tests: func() []Test {
			return lastOf(pair(Hot, uneven, even, 0.3, 0.3), func(t *Test) {
				eachValue(t.Samples.Corrections, func(_, _ float64) float64 { return 1.25 })
			})
		},
		verdict: NotComparable, kinds: []Kind{HeldValue},
	},
	{
		name: "one held", tests: func() []Test {
			return lastOf(pair(Hot, uneven, even, 0.3, 0.3), func(t *Test) {
				eachValue(t.Samples.Corrections[2:3], func(_, _ float64) float64 { return 1.25 })
			})
		},
		verdict: NotComparable, kinds: []Kind{HeldValue}, overall: "cylinder 3 stands at exactly 1.25 throughout",
	},
	{
		// Read in half cubic millimetres, a steady cylinder reads the same throughout.
		name: "coarse", tests: func() []Test {
			tests := pair(Hot, []float64{2.1, -1.6, 0.5, -1.1}, []float64{0.6, -0.4, 0.0, -0.4}, 0.2, 0)
			return change(tests, func(t *Test) {
				eachValue(t.Samples.Corrections, func(_, v float64) float64 { return math.Round(v*2) / 2 })
				eachValue(t.Samples.Corrections[2:3], func(_, _ float64) float64 { return 0.5 })
			})
		},
		verdict: Better, kinds: []Kind{CoarseValue},
	},
	{
		name: "at the end stop", tests: func() []Test {
			return pair(Hot, []float64{5.6, -4, 1, -2.6}, []float64{3, -2, 0.5, -1.5}, 0.3, 0.2)
		},
		verdict: Better, kinds: []Kind{}, not: []Kind{AtClamp},
	},
	{
		name: "clamped before and after", tests: func() []Test {
			return change(pair(Hot, []float64{6, -4, 1, -2.6}, []float64{5.5, -3, 0.5, -1.5}, 0.4, 0.2), func(t *Test) {
				eachValue(t.Samples.Corrections, func(_, v float64) float64 { return max(-5, min(5, v)) })
			})
		},
		verdict: Better, kinds: []Kind{AtClamp}, overall: "at least",
		classes: []Class{NotShown, Nearer, Nearer, Nearer},
	},
	{
		name: "off centre", tests: func() []Test {
			return pair(Hot, []float64{2.5, -1, 1, -0.5}, []float64{0.5, -0.4, 0.2, -0.3}, 0.2, 0.2)
		},
		verdict: Better, kinds: []Kind{OffCentre},
	},
	{
		name: "falling quantity", tests: func() []Test {
			return change(pair(Hot, even, even, 0.2, 0.2), func(t *Test) {
				x := 7.0
				if t.Phase == After {
					x = 6
				}
				for at := 0.0; at <= 600; at += 5 {
					t.Samples.Quantity.Add(at, x)
				}
			})
		},
		verdict: NoChange, kinds: []Kind{QuantityFell},
	},
	{
		name: "short", tests: func() []Test {
			return []Test{
				made{phase: Before, state: Hot, means: uneven, sd: 0.3}.test(),
				made{phase: After, state: Hot, means: even, sd: 0.3, length: 565}.test(),
			}
		},
		verdict: NotComparable, kinds: []Kind{Short}, overall: "of idle in cylinder 1",
	},
	{
		name: "just long enough", tests: func() []Test {
			return []Test{
				made{phase: Before, state: Hot, means: uneven, sd: 0.3, length: 570}.test(),
				made{phase: After, state: Hot, means: even, sd: 0.3, length: 570}.test(),
			}
		},
		verdict: Better, not: []Kind{Short},
	},
	{
		name: "gap", tests: func() []Test {
			return lastOf(pair(Hot, uneven, even, 0.3, 0.3), func(t *Test) { dropped(t, 300, 315) })
		},
		verdict: NotComparable, kinds: []Kind{Gap}, overall: "a gap of 25 s at",
	},
	{
		name: "few samples", tests: func() []Test {
			return lastOf(change(pair(Hot, uneven, even, 0.3, 0.3), func(t *Test) {}), func(t *Test) {
				for at := 30.0; at < 600; at += 45 {
					dropped(t, at, at)
				}
			})
		},
		verdict: NotComparable, kinds: []Kind{FewSamples}, not: []Kind{Gap},
	},
	{
		name: "minutes by hand", tests: func() []Test {
			return []Test{
				made{phase: Before, state: Hot, means: uneven, sd: 0.2, every: 60}.test(),
				made{phase: After, state: Hot, means: even, sd: 0.2, every: 60}.test(),
			}
		},
		verdict: Better, kinds: []Kind{LittleData}, not: []Kind{Gap, FewSamples},
	},
	{
		name: "pedal touched", tests: func() []Test {
			return lastOf(change(pair(Hot, uneven, even, 0.3, 0.3), func(t *Test) { *t = longer(*t) }), func(t *Test) {
				for at := 0.0; at <= 660; at += 5 {
					speed := 780.0
					if at >= 200 && at < 220 {
						speed = 1040
						eachValue(t.Samples.Corrections, func(when, v float64) float64 {
							if when >= 200 && when < 220 {
								return v + 9
							}
							return v
						})
					}
					t.Samples.Speed.Add(at, speed)
				}
			})
		},
		verdict: Better, kinds: []Kind{SpeedCut},
	},
	{
		name: "not hot", tests: func() []Test {
			return lastOf(pair(Hot, uneven, even, 0.3, 0.3), func(t *Test) { t.Samples.Coolant.V[40] = 74.9 })
		},
		verdict: NotComparable, kinds: []Kind{NotHot}, overall: "coolant down to 74 °C",
	},
	{
		name: "hot at the boundary", tests: func() []Test {
			return change(pair(Hot, uneven, even, 0.3, 0.3), func(t *Test) { constant(&t.Samples.Coolant, 75) })
		},
		verdict: Better, not: []Kind{NotHot},
	},
	{
		name: "drifts", tests: func() []Test {
			return lastOf(pair(Hot, uneven, even, 0.3, 0.3), func(t *Test) {
				for i := range t.Samples.Coolant.V {
					t.Samples.Coolant.V[i] = 82 + 6.5*float64(i)/120
				}
			})
		},
		verdict: NotComparable, kinds: []Kind{Drifts},
	},
	{
		name: "coolant apart", tests: func() []Test {
			return lastOf(pair(Hot, uneven, even, 0.3, 0.3), func(t *Test) { constant(&t.Samples.Coolant, 80.9) })
		},
		verdict: NotComparable, kinds: []Kind{PairCoolant},
	},
	{
		name: "fuel apart", tests: func() []Test {
			return change(pair(Hot, uneven, even, 0.3, 0.3), func(t *Test) {
				t.Samples.FuelTemp.Add(0, map[Phase]float64{Before: 30, After: 40.5}[t.Phase])
			})
		},
		verdict: NotComparable, kinds: []Kind{PairFuel},
	},
	{
		name: "hot without coolant", tests: func() []Test {
			return []Test{
				made{phase: Before, state: Hot, means: uneven, sd: 0.3, coolant: -1}.test(),
				made{phase: After, state: Hot, means: even, sd: 0.3, coolant: -1}.test(),
			}
		},
		verdict: Better, kinds: []Kind{NoCoolant},
	},
	{
		name: "not settled", tests: func() []Test {
			return lastOf(pair(Hot, uneven, even, 0.1, 0), func(t *Test) {
				eachValue(t.Samples.Corrections[:1], func(at, v float64) float64 {
					if at > 300 {
						return v + 0.4
					}
					return v
				})
			})
		},
		verdict: Better, kinds: []Kind{Unsettled},
	},
	{
		name: "cold", tests: func() []Test {
			return change(pair(Cold, uneven, even, 0.3, 0.2), func(t *Test) { t.Ambient = new(quantity.Celsius(11)) })
		},
		verdict: Better, strength: Suggested, not: []Kind{NoAmbient}, classes: []Class{Nearer, Nearer, Same, Nearer}, overall: "Better (suggested), cold",
	},
	{
		name: "cold on trust", tests: func() []Test { return pair(Cold, uneven, even, 0.3, 0.2) },
		verdict: Better, kinds: []Kind{NoAmbient},
	},
	{
		name: "cold with repeats", tests: func() []Test { return runs(Cold, uneven, even, 2, 2, 0.05) },
		verdict: Better, strength: Shown,
	},
	{
		name: "not cold", tests: func() []Test {
			return change(pair(Cold, uneven, even, 0.3, 0.2), func(t *Test) { t.Ambient = new(quantity.Celsius(6.9)) })
		},
		verdict: NotComparable, kinds: []Kind{NotCold},
	},
	{
		name: "cold starts apart", tests: func() []Test {
			return []Test{
				made{phase: Before, state: Cold, means: uneven, sd: 0.3}.test(),
				made{phase: After, state: Cold, means: even, sd: 0.3, coolant: 17.1}.test(),
			}
		},
		verdict: NotComparable, kinds: []Kind{PairStart},
	},
	{
		name: "no overlap", tests: func() []Test {
			return lastOf(pair(Cold, uneven, even, 0.3, 0.2), func(t *Test) {
				for i := range t.Samples.Coolant.V[1:] {
					t.Samples.Coolant.V[i+1] = 70
				}
			})
		},
		verdict: NotComparable, kinds: []Kind{NoOverlap},
	},
	{
		name: "cold without coolant", tests: func() []Test {
			return lastOf(pair(Cold, uneven, even, 0.3, 0.2), func(t *Test) { t.Samples.Coolant = Series{} })
		},
		verdict: NotComparable, kinds: []Kind{NoCoolant},
	},
	{
		name: "other unit", tests: func() []Test {
			return lastOf(pair(Hot, uneven, even, 0.3, 0.2), func(t *Test) { t.Unit = RPM })
		},
		verdict: NotComparable, kinds: []Kind{OtherUnit},
	},
	{
		name: "milligrams with a density", tests: func() []Test {
			return lastOf(pair(Hot, uneven, even, 0.3, 0.2), func(t *Test) {
				t.Unit, t.Density = Milligrams, new(quantity.KilogramsPerCubicMetre(835))
				eachValue(t.Samples.Corrections, func(_, v float64) float64 { return v * 0.835 })
			})
		},
		verdict: Better, classes: []Class{Nearer, Nearer, Same, Nearer},
	},
	{
		name: "other sign", tests: func() []Test {
			tests := pair(Hot, uneven, even, 0.3, 0.2)
			tests[0].Sign, tests[1].Sign = "adds fuel", "takes fuel away"
			return tests
		},
		verdict: NotComparable, kinds: []Kind{OtherSign},
	},
	{
		name: "other measure", tests: func() []Test {
			return lastOf(pair(Hot, uneven, even, 0.3, 0.2), func(t *Test) {
				t.Measure, t.Samples.Speed = Speed, t.Samples.Corrections[0]
			})
		},
		verdict: NotComparable, kinds: []Kind{OtherMeasure},
	},
	{
		name: "other cylinders", tests: func() []Test { return pair(Hot, uneven, even[:3], 0.3, 0.2) },
		verdict: NotComparable, kinds: []Kind{OtherCylinders},
	},
	{
		name: "other engine", tests: func() []Test {
			tests := pair(Hot, uneven, even, 0.3, 0.2)
			tests[0].Asset, tests[1].Asset = "VAN-07", "VAN-08"
			return tests
		},
		verdict: NotComparable, kinds: []Kind{OtherAsset},
	},
	{
		name: "other gear", tests: func() []Test {
			tests := pair(Hot, uneven, even, 0.3, 0.2)
			tests[0].Conditions, tests[1].Conditions = map[string]string{"gear": "neutral"}, map[string]string{"gear": "drive"}
			return tests
		},
		verdict: NotComparable, kinds: []Kind{OtherConditions}, overall: "gear was neutral in one test and drive in another",
	},
	{
		name: "other filter", tests: func() []Test {
			tests := pair(Hot, uneven, even, 0.3, 0.2)
			tests[0].Conditions, tests[1].Conditions = map[string]string{"filter": "old"}, map[string]string{"filter": "new"}
			return tests
		},
		verdict: Better, kinds: []Kind{Confounder}, overall: "; but filter was old before and new after",
	},
	{
		name: "tank dose between", tests: func() []Test { return pair(Hot, uneven, even, 0.3, 0.2) },
		between: []Intervening{{What: "tank dose"}}, verdict: Better, kinds: []Kind{Confounder}, overall: "; but tank dose between the tests",
	},
	{
		name: "reset and not driven", tests: func() []Test { return pair(Hot, uneven, even, 0.3, 0.2) },
		between: []Intervening{{What: "battery off", Reset: true}}, verdict: NotComparable, kinds: []Kind{ResetBetween},
	},
	{
		name: "reset and driven", tests: func() []Test { return pair(Hot, uneven, even, 0.3, 0.2) },
		between: []Intervening{{What: "faults cleared", Reset: true, Drive: true}}, verdict: Better, kinds: []Kind{Confounder},
	},
	{
		name: "after is older", tests: func() []Test {
			tests := pair(Hot, uneven, even, 0.3, 0.2)
			tests[0].On, tests[1].On = "2026-03-20", "2026-03-14"
			return tests
		},
		verdict: NotComparable, kinds: []Kind{AfterOlder},
	},
	{
		name: "none after", tests: func() []Test { return pair(Hot, uneven, even, 0.3, 0.2)[:1] },
		verdict: NotComparable, kinds: []Kind{NoTest}, overall: "no hot test after the clean",
	},
	{
		name: "an empty channel", tests: func() []Test {
			return lastOf(pair(Hot, uneven, even, 0.3, 0.2), func(t *Test) { t.Samples.Corrections[1] = Series{} })
		},
		verdict: NotComparable, kinds: []Kind{NoValues}, overall: "no value of cylinder 2",
	},
	{
		name: "one of two runs is short", tests: func() []Test {
			tests := runs(Hot, uneven, even, 2, 2, 0.05)
			dropped(&tests[1], 300, 600)
			return tests
		},
		verdict: Better, strength: Shown, kinds: []Kind{RunLeftOut},
	},
	{
		name: "no corrections on this engine", tests: func() []Test {
			return []Test{{Phase: Before, State: Hot, Measure: None}, {Phase: After, State: Hot, Measure: None}}
		},
		verdict: NotComparable, kinds: []Kind{NotMeasurable}, overall: "not measurable on this engine",
	},
	{
		name: "idle speed", tests: func() []Test {
			return change(pair(Hot, []float64{780}, []float64{780}, 12, 0.3), func(t *Test) {
				s := t.Samples.Corrections[0]
				if t.Phase == After {
					eachValue([]Series{s}, func(_, v float64) float64 { return v })
					for i := range s.V {
						s.V[i] = math.Round(780 + (s.V[i]-780)/4)
					}
				}
				t.Measure, t.Samples.Speed, t.Samples.Corrections = Speed, s, nil
			})
		},
		verdict: Better, strength: Suggested, overall: "the scatter of the idle speed fell",
	},
	{
		name: "leak-off once", tests: func() []Test { return bottles([][]float64{{40, 20, 22, 18}}, [][]float64{{25, 24, 22, 23}}) },
		verdict: NoChange, kinds: []Kind{OnlyRepeats},
	},
	{
		name: "leak-off twice", tests: func() []Test {
			return bottles([][]float64{{60, 20, 22, 18}, {61, 21, 22, 17}}, [][]float64{{25, 24, 22, 23}, {26, 24, 21, 23}})
		},
		verdict: Better, strength: Shown, overall: "leak-off volumes fell",
	},
	{
		name: "opacity twice", tests: func() []Test {
			return change(bottles([][]float64{{1.8}, {1.7}}, [][]float64{{0.9}, {0.8}}), func(t *Test) { t.Measure = Opacity })
		},
		verdict: Better, strength: Shown, overall: "the opacity fell",
	},
}
