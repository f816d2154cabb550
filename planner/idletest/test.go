package idletest

import (
	"math"

	"daytank/planner/quantity"
)

// Phase says on which side of the clean a test lies.
type Phase string

// Phases.
const (
	Before Phase = "before"
	After  Phase = "after"
)

// State says how warm the engine was.
type State string

// States.
const (
	Cold State = "cold"
	Hot  State = "hot"
)

// Measure is what is compared.
type Measure string

// Measures.
const (
	Corrections Measure = "corrections" // one series a cylinder
	Speed       Measure = "speed"       // scatter of the idle speed, where an engine shows no corrections
	LeakOff     Measure = "leak-off"    // one volume a cylinder, from measuring bottles
	Opacity     Measure = "opacity"     // of the smoke, one value a run
	None        Measure = "none"        // not measurable on this engine
)

// Single tells whether the measure gives one value a run, or a cylinder, and no series.
func (m Measure) Single() bool { return m == LeakOff || m == Opacity }

// Unit is the unit of what is compared. Tests in different units are never compared,
// but for mg/stroke and mm3/stroke with a density.
type Unit string

// Units.
const (
	CubicMillimetres Unit = "mm3/stroke"
	Milligrams       Unit = "mg/stroke"
	RPM              Unit = "rpm"
	Percent          Unit = "percent"
	Millilitres      Unit = "mL"  // leak-off
	PerMetre         Unit = "1/m" // opacity
)

// Series is one channel: values at times, which rise. Channels of one test need not
// have the same times.
type Series struct {
	T    []float64 // seconds
	V    []float64
	Step float64 // resolution, where the values were averaged on reading; 0: as the values show
}

// Len gives the number of samples.
func (s Series) Len() int { return len(s.T) }

// Add adds a sample.
func (s *Series) Add(t, v float64) { s.T, s.V = append(s.T, t), append(s.V, v) }

// Samples are the channels of a test. Only corrections are required; what was not
// recorded is empty.
type Samples struct {
	Corrections  []Series // by cylinder, in the unit of the test
	Coolant      Series   // °C
	Speed        Series   // 1/min
	Load         Series   // percent
	Quantity     Series   // injected, mm3/stroke
	RailPressure Series   // kPa
	FuelTemp     Series   // °C
}

// Test is one idle test.
type Test struct {
	Phase       Phase
	State       State
	Run         int // of the repeats in this phase and state, from 1
	Asset       string
	On          string // day, YYYY-MM-DD
	Odometer    *quantity.Distance
	EngineHours *quantity.Duration
	Measure     Measure
	Unit        Unit
	Density     *quantity.Density     // of the fuel, to take mg/stroke as mm3/stroke
	Sign        string                // what a positive correction means, as asked
	Ambient     *quantity.Temperature // of the air
	Conditions  map[string]string     // gear, air-conditioning, fuel, filter, oil: as they were
	Samples     Samples
	Single      []float64 // leak-off by cylinder, or the one opacity
}

// values gives the test's corrections in mm3/stroke where it can be, and the unit
// that they are in then.
func (t Test) values() ([]Series, Unit) {
	if t.Unit != Milligrams || t.Density == nil {
		return t.Samples.Corrections, t.Unit
	}
	perMilligram := 1 / t.Density.KilogramsPerCubicMetre() * 1000 // mm3
	var converted []Series
	for _, s := range t.Samples.Corrections {
		c := Series{T: s.T, V: make([]float64, len(s.V)), Step: s.Step * perMilligram}
		for i, v := range s.V {
			c.V[i] = v * perMilligram
		}
		converted = append(converted, c)
	}
	return converted, CubicMillimetres
}

// Intervals gives the median time between neighbours, the longest, and when that
// begins, in seconds; 0 of fewer than two samples.
func (s Series) Intervals() (typical, longest, at float64) {
	if s.Len() < 2 {
		return 0, 0, 0
	}
	steps := make([]float64, 0, s.Len()-1)
	for i := 1; i < s.Len(); i++ {
		d := s.T[i] - s.T[i-1]
		steps = append(steps, d)
		if d > longest {
			longest, at = d, s.T[i-1]
		}
	}
	return median(steps), longest, at
}

// nearest gives a look-up of the value nearest in time, which is quick where it is
// asked for times that rise. The series must not be empty.
func (s Series) nearest() func(t float64) float64 {
	next := 0
	return func(t float64) float64 {
		if s.T[next] > t { // the times begin anew
			next = 0
		}
		for next+1 < s.Len() && math.Abs(s.T[next+1]-t) <= math.Abs(s.T[next]-t) {
			next++
		}
		return s.V[next]
	}
}
