package planner

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"daytank/planner/quantity"
)

// TestLongestRunOfTheVan: 1800 mL less flush 300, hoses 150.80, reserve 614.16 and
// the 257.23 mL that the first two running stages burn at most (10 min at 0.735
// L/h and 2 min at 2.2024) leave 477.81... as worked out below.
//
//	1800 − 300 − 150.80 − 614.16 − 122.50 − 73.41 = 539.13 mL at 0.735 L/h: 44.01 min
func TestLongestRunOfTheVan(t *testing.T) {
	inPacks := func(n int) func(Job, Plan) bool {
		return func(j Job, p Plan) bool { return p.Fluid.Needed <= quantity.Volume(n)*j.Fluid.Pack }
	}
	for _, tt := range []struct {
		packs int
		want  []string
		fits  bool
	}{
		{3, []string{"run.3.for=44 min"}, true},
		{1, nil, false}, // flush, hoses and reserve take more
		// 1200 − 300 − 150.80 − 614.16 = 135.04 mL: half a minute of idle at the end is
		// 6.1 mL, half a minute at 1500 rpm 18.4; 110.6 mL are 9.03 min of idle.
		{2, []string{"run.0.for=9 min", "run.1.for=0.5 min", "run.3.for=0.5 min"}, true},
	} {
		set, ok := van(t).LongestRun(inPacks(tt.packs))
		if ok != tt.fits || !slices.Equal(set, tt.want) {
			t.Errorf("in %d packs: %q, %v, want %q", tt.packs, set, ok, tt.want)
		}
	}
	// Where nothing holds it, two hours are tried, and no longer.
	always := func(Job, Plan) bool { return true }
	if set, ok := van(t).LongestRun(always); !ok || !slices.Equal(set, []string{"run.3.for=120 min"}) {
		t.Errorf("without a limit: %q, %v", set, ok)
	}
	if set, ok := van(t, "run=[{soak: 10 min}]").LongestRun(inPacks(3)); ok {
		t.Errorf("a run of soaks was made longer: %q", set)
	}
}

// TestLongestRunIsTheLongest: it fits, and half a minute more of the stage that
// was stretched does not.
func TestLongestRunIsTheLongest(t *testing.T) {
	text, library := jobText(t, "van.yaml"), shippedLibrary(t)
	rapid.Check(t, func(t *rapid.T) {
		j := drawJob(t, text, library, drawRun(t))
		limit := quantity.Litres(rapid.Float64Range(0.5, 5).Draw(t, "limit"))
		fits := func(_ Job, p Plan) bool { return p.Fluid.Needed <= limit }
		set, ok := j.LongestRun(fits)
		if !ok {
			return
		}
		longest := j
		for _, change := range set {
			var err error
			path, value := change[:len("run.0.for")], change[len("run.0.for="):]
			if longest, err = longest.With(path, value); err != nil {
				t.Fatal(err)
			}
		}
		if !fits(longest, Compute(longest)) {
			t.Fatalf("%q does not fit %v\n%s", set, limit, j.File())
		}
		shortest := j
		shortest.Run = slices.Clone(j.Run)
		for i, s := range slices.Backward(longest.Run) {
			if s.Soak {
				continue
			}
			// The stage to be longest is the last of which half a minute fits at all.
			if shortest.Run[i].For = wholeStep; !fits(shortest, Compute(shortest)) {
				continue
			}
			if s.For > longestTried-1 {
				return
			}
			longest.Run = slices.Clone(longest.Run)
			longest.Run[i].For += wholeStep
			if fits(longest, Compute(longest)) {
				t.Fatalf("%q is not the longest\n%s", set, j.File())
			}
			return
		}
	})
}
