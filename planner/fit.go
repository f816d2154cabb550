package planner

import (
	"fmt"
	"math"
	"slices"

	"daytank/planner/quantity"
)

// Lengths of a stage are proposed in half minutes, up to two hours: nobody lets
// an engine idle on cleaning fluid for longer (own judgement).
const (
	wholeStep    = quantity.Duration(30)
	longestTried = quantity.Duration(2 * 3600)
)

// LongestRun gives the changes PATH=VALUE that make the run as long as it may be
// so that its plan fits, in half minutes: the last running stage is changed, and
// where even half a minute of it is too much, the running stages before it as
// well. It gives false where no run fits. Fits must not fit a longer run where it
// does not fit a shorter one.
func (j Job) LongestRun(fits func(Job, Plan) bool) (set []string, ok bool) {
	run := slices.Clone(j.Run)
	for i, s := range slices.Backward(run) {
		if s.Soak {
			continue
		}
		run[i].For = wholeStep
		tried := func(steps int) bool {
			changed := j
			changed.Run = slices.Clone(run)
			changed.Run[i].For = quantity.Duration(steps) * wholeStep
			return fits(changed, Compute(changed))
		}
		if !tried(1) {
			continue
		}
		run[i].For = quantity.Duration(lastTrue(int(longestTried/wholeStep), tried)) * wholeStep
		return changesOf(j.Run, run), true
	}
	return nil, false
}

// lastTrue gives the largest n from 1 to most of which is true what is true of
// all smaller ones; it is true of 1.
func lastTrue(most int, of func(int) bool) int {
	low, high := 1, most+1
	for high-low > 1 {
		if middle := (low + high) / 2; of(middle) {
			low = middle
		} else {
			high = middle
		}
	}
	return low
}

func changesOf(was, is []Stage) []string {
	var set []string
	for i := range is {
		if was[i].For != is[i].For {
			set = append(set, fmt.Sprintf("run.%d.for=%s", i, inMinutes(is[i].For)))
		}
	}
	return set
}

// inMinutes writes half minutes as in a job file.
func inMinutes(d quantity.Duration) string {
	halves := math.Round(float64(d / wholeStep))
	return fmt.Sprintf("%g min", halves/2)
}
