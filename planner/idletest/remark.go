package idletest

import (
	"math"

	"daytank/planner/quantity"
)

// Kind says what a remark is about. A kind keeps its meaning.
type Kind string

// Kinds of remarks. Which of them make tests not comparable is for the place where
// they stand: among the reasons or among the warnings.
const (
	NoTest          Kind = "no-test"
	NoValues        Kind = "no-values"
	NotMeasurable   Kind = "not-measurable"
	BalancingOff    Kind = "balancing-off"
	ZerosCut        Kind = "zeros-cut"
	SpeedCut        Kind = "speed-cut"
	Short           Kind = "short"
	FewSamples      Kind = "few-samples"
	Gap             Kind = "gap"
	NotHot          Kind = "not-hot"
	Drifts          Kind = "drifts"
	NoCoolant       Kind = "no-coolant"
	NotCold         Kind = "not-cold"
	NoAmbient       Kind = "no-ambient"
	PairCoolant     Kind = "pair-coolant"
	PairFuel        Kind = "pair-fuel"
	PairStart       Kind = "pair-start"
	NoOverlap       Kind = "no-overlap"
	Unsettled       Kind = "unsettled"
	HeldValue       Kind = "held-value"
	CoarseValue     Kind = "coarse-value"
	AtClamp         Kind = "at-clamp"
	OffCentre       Kind = "off-centre"
	OtherUnit       Kind = "other-unit"
	OtherSign       Kind = "other-sign"
	OtherMeasure    Kind = "other-measure"
	OtherCylinders  Kind = "other-cylinders"
	OtherAsset      Kind = "other-asset"
	OtherConditions Kind = "other-conditions"
	ResetBetween    Kind = "reset"
	Confounder      Kind = "confounder"
	LittleData      Kind = "little-data"
	TooLittle       Kind = "too-little-data"
	OneRunEach      Kind = "one-run-each"
	OnlyRepeats     Kind = "only-repeats"
	RunLeftOut      Kind = "run-left-out"
	QuantityFell    Kind = "quantity-fell"
	BeyondLimit     Kind = "beyond-limit"
	OneMoved        Kind = "one-moved"
	Uniform         Kind = "uniform-wear"
	AfterOlder      Kind = "after-older"
	Correlated      Kind = "correlated"
	Detectable      Kind = "detectable"
	OtherState      Kind = "other-state"
)

// Remark is a reason or a warning.
type Remark struct {
	Kind     Kind
	Cylinder int // 0: none
	Say      quantity.Phrase
}

// MarshalText gives the sentence in metric units.
func (r Remark) MarshalText() ([]byte, error) {
	return []byte(quantity.Printer{}.Phrase(r.Say)), nil
}

func remark(kind Kind, format string, args ...any) Remark {
	return Remark{Kind: kind, Say: quantity.Say(format, args...)}
}

func remarkOf(cylinder int, kind Kind, format string, args ...any) Remark {
	r := remark(kind, format, args...)
	r.Cylinder = cylinder
	return r
}

// has tells whether one of the remarks is of the kind.
func has(remarks []Remark, kind Kind) bool {
	for _, r := range remarks {
		if r.Kind == kind {
			return true
		}
	}
	return false
}

// round2 keeps two decimals, for sentences.
func round2(x float64) float64 { return math.Round(x*100) / 100 }

// round1 keeps one decimal, for sentences.
func round1(x float64) float64 { return math.Round(x*10) / 10 }
