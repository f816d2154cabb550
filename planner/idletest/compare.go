package idletest

import (
	"daytank/planner/quantity"
)

// Verdict is what the spread of a state shows.
type Verdict string

// Verdicts.
const (
	Better        Verdict = "better"
	Worse         Verdict = "worse"
	Mixed         Verdict = "mixed"
	TooSmall      Verdict = "too small to matter"
	NoChange      Verdict = "no change shown"
	NotComparable Verdict = "not comparable"
)

// Strength says how far a verdict carries.
type Strength string

// Strengths. One run in each phase knows nothing of the scatter from day to day.
const (
	Shown     Strength = "shown"
	Suggested Strength = "suggested"
)

// MarshalJSON gives null where there is nothing to be strong.
func (s Strength) MarshalJSON() ([]byte, error) {
	if s == "" {
		return []byte("null"), nil
	}
	return []byte(`"` + string(s) + `"`), nil
}

// Class is what a cylinder did.
type Class string

// Classes.
const (
	Same     Class = "same"
	Nearer   Class = "nearer"
	Farther  Class = "farther"
	Crossed  Class = "crossed"
	NotShown Class = "not shown"
)

// Comparison is all that the tests of an engine show.
type Comparison struct {
	States   []Outcome `json:"states"`
	Overall  string    `json:"overall"`
	Warnings []Remark  `json:"warnings"`
	Firmer   []Remark  `json:"firmer"` // what would make it firmer

	Sentence quantity.Phrase `json:"-"` // the overall sentence, in the reader's units
}

// Outcome is what the tests in one state show.
type Outcome struct {
	State      State        `json:"state"`
	Measure    Measure      `json:"measure"`
	Unit       Unit         `json:"unit"`
	Delta      float64      `json:"delta"`
	Fine       float64      `json:"fine_limit"` // 0: none
	Limit      float64      `json:"limit"`      // 0: none
	Makers     bool         `json:"limit_is_makers"`
	Runs       Runs         `json:"runs"`
	Comparable bool         `json:"comparable"`
	Reasons    []Remark     `json:"reasons"`
	Cylinders  []Cylinder   `json:"cylinders"`
	Spread     *Spread      `json:"spread"`
	Detectable *float64     `json:"detectable_change"`
	Load       *BeforeAfter `json:"load"`     // percent
	Quantity   *BeforeAfter `json:"quantity"` // mm3/stroke
	Warnings   []Remark     `json:"warnings"`
	Verdict    Verdict      `json:"verdict"`
	Strength   Strength     `json:"strength"`
	Before     []Reduced    `json:"-"`
	After      []Reduced    `json:"-"`
}

// Runs counts the runs that were compared.
type Runs struct {
	Before int `json:"before"`
	After  int `json:"after"`
}

// Cylinder is one cylinder before and after. Change is after less before; DistanceChange
// is how much farther from zero it lies.
type Cylinder struct {
	Cylinder       int     `json:"cylinder"`
	Before         Side    `json:"before"`
	After          Side    `json:"after"`
	Change         float64 `json:"change"`
	T              float64 `json:"t"`
	DF             float64 `json:"df"`
	P              float64 `json:"p"`
	PHolm          float64 `json:"p_holm"`
	DistanceChange float64 `json:"distance_change"`
	SE             float64 `json:"se"`
	TostP          float64 `json:"tost_p"`
	Class          Class   `json:"class"`
}

// Spread is the root mean square of the cylinders' means before and after.
type Spread struct {
	BeforeRMS   float64 `json:"before_rms"`
	AfterRMS    float64 `json:"after_rms"`
	Change      float64 `json:"change"`
	SE          float64 `json:"se"`
	T           float64 `json:"t"`
	DF          float64 `json:"df"`
	P           float64 `json:"p"`
	BeforeRange float64 `json:"before_range"` // highest less lowest
	AfterRange  float64 `json:"after_range"`
}

// BeforeAfter is how a channel went, and by how much its mean changed, in percent of
// that before.
type BeforeAfter struct {
	Before Change  `json:"before"`
	After  Change  `json:"after"`
	Change float64 `json:"change"`
}

// Intervening is something that was changed between the tests.
type Intervening struct {
	What  string // tank dose, filter, oil, battery off, codes cleared, ...
	Reset bool   // it made the control unit forget
	Drive bool   // driven since, so that it has learnt again
}

// Compare compares the tests before with those after, hot with hot and cold with cold.
func Compare(tests []Test, between []Intervening, rules Rules) Comparison {
	c := Comparison{States: []Outcome{}, Warnings: []Remark{}, Firmer: []Remark{}}
	for _, state := range []State{Hot, Cold} {
		var before, after []Reduced
		for _, t := range tests {
			switch {
			case t.State != state:
			case t.Phase == Before:
				before = append(before, Reduce(t, rules))
			case t.Phase == After:
				after = append(after, Reduce(t, rules))
			}
		}
		if len(before)+len(after) > 0 {
			c.States = append(c.States, outcome(state, before, after, between, rules))
		}
	}
	c.sayAll(between)
	return c
}
