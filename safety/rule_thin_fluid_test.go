package safety

import (
	"testing"

	"daytank/planner"
)

func TestThinFluid(t *testing.T) {
	// At a peak of some 50 °C, from thick enough to too thin: the limits of 1.4 and
	// 1.1 mm²/s hold at the viscosity there, and all three occur.
	seen := map[string]int{}
	for nu40 := 1.0; nu40 < 3.6; nu40 += 0.05 {
		job := van(t, "fluid.viscosity_40="+exactly(nu40)+" mm2/s", "fluid.viscosity_100="+exactly(nu40/2)+" mm2/s", noCoil, "run=[{speed: idle, for: 6 min}]")
		plan := planner.Compute(job)
		nu := job.Fluid.Viscosity(plan.Heat.Peak.Expected).SquareMillimetresPerSecond()
		want := ""
		switch {
		case nu < 1.1:
			want = "stop"
		case nu < 1.4:
			want = "caution"
		}
		got := ""
		for _, w := range Assess(job, plan).worded(thinFluid.ID) {
			got = w.Severity
		}
		if got != want {
			t.Errorf("%.2f mm²/s at 40 °C, %.3f at %v: %q, want %q", nu40, nu, plan.Heat.Peak.Expected, got, want)
		}
		seen[got]++
	}
	if len(seen) != 3 {
		t.Errorf("seen %v", seen)
	}
	judge(t, thinFluid, []row{
		{"the van: 2.9 mm²/s at 33 °C", nil, nil},
		{
			"too thin without a coil, and with one thick enough",
			[]string{noCoil, "fluid.viscosity_40=1.6 mm2/s", "fluid.viscosity_100=0.8 mm2/s"},
			[]found{{"stop", "at its expected peak of 73 °C the fluid has 1.05 mm²/s, less than the 1.10 mm²/s that the high-pressure pump needs", []string{firstCoil}}},
		},
		{
			"thin without a coil, and with one thick enough",
			[]string{noCoil, "fluid.viscosity_40=2 mm2/s", "fluid.viscosity_100=1 mm2/s"},
			[]found{{"caution", "at its expected peak of 73 °C the fluid has 1.31 mm²/s: thin for the high-pressure pump, which wants 1.40 mm²/s", []string{firstCoil}}},
		},
	})
}
