package safety

import (
	"testing"

	"daytank/planner"
	"daytank/planner/quantity"
)

func TestContainerSmall(t *testing.T) {
	job := van(t)
	needed := job.ContainerNeeded(planner.Compute(job))
	capacity := func(v quantity.Volume) string { return "rig.container.capacity=" + exactly(v.Millilitres()) + " mL" }
	ml := quantity.Millilitres(hair)
	judge(t, containerSmall, []row{
		{"3 L hold 1.8 L", nil, nil},
		{
			"1.8 L fit in 1.9 L, but not warmed and with a tenth of room",
			[]string{"rig.container.capacity=1.9 L"},
			[]found{{
				"stop", "the charge of 1.80 L, warmed and with a tenth of room, takes 2.06 L, and the container holds 1.90 L",
				[]string{"rig.container.capacity=2.5 L"},
			}},
		},
		{"just large enough", []string{capacity(needed + ml)}, nil},
		{
			"just too small",
			[]string{capacity(needed - ml)},
			[]found{{
				"stop", "the charge of 1.80 L, warmed and with a tenth of room, takes 2.06 L, and the container holds 2.06 L",
				[]string{"rig.container.capacity=2.5 L"},
			}},
		},
	})
}

// The room is a tenth (common practice, no source) on top of what the charge
// takes at the peak of the high case: 1.8 L · 1.10 · 1.04, by the expansion of
// some 0.1 % a kelvin over 40 K.
func TestContainerNeeded(t *testing.T) {
	job := van(t)
	got := job.ContainerNeeded(planner.Compute(job)).Litres()
	if got < 1.8*1.10*1.03 || got > 1.8*1.10*1.05 {
		t.Errorf("a container of %g L, want 1.8 L with a tenth of room and some 4 %% of expansion", got)
	}
}
