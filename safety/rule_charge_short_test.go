package safety

import (
	"testing"

	"daytank/planner"
	"daytank/planner/quantity"
)

// The van needs 1445 mL (arithmetic of the plan); after the planned end it
// idles on at 0.70 L/h + 5 %, so that three minutes are 36.75 mL.
func TestChargeShort(t *testing.T) {
	needed := planner.Compute(van(t)).Fluid.Needed
	margin := needed + quantity.LitresPerHour(0.735).Over(quantity.Minutes(3))
	wasted := planner.Compute(van(t, "rig.return_to=waste", "rig.container.capacity=40 L")).Fluid.Needed
	ml := quantity.Millilitres(hair)
	judge(t, chargeShort, []row{
		{"three packs are enough", nil, nil},
		{
			"two packs are not",
			[]string{"rig.charge=1200 mL"},
			[]found{{"stop", "the charge of 1.20 L is 240 mL less than the 1.44 L needed", []string{"rig.charge=1800 mL"}}},
		},
		{
			"just below what is needed",
			[]string{charge(needed - ml)},
			[]found{{"stop", "the charge of 1.44 L is 0 mL less than the 1.44 L needed", []string{"rig.charge=1800 mL"}}},
		},
		{
			"what is needed leaves no margin",
			[]string{charge(needed + ml)},
			[]found{{"caution", "the stop level is reached 0 s after the planned end at the earliest, less than 3 min", []string{"rig.charge=1800 mL"}}},
		},
		{
			"just below three minutes",
			[]string{charge(margin - ml)},
			[]found{{"caution", "the stop level is reached 3 min after the planned end at the earliest, less than 3 min", []string{"rig.charge=1800 mL"}}},
		},
		{"just three minutes", []string{charge(margin + ml)}, nil},
		{
			"small packs are counted, not just one more",
			[]string{"fluid.pack=10 mL"},
			[]found{{"caution", "the stop level is reached 26 s after the planned end at the earliest, less than 3 min", []string{"rig.charge=1490 mL"}}},
		},
		{
			"a hundred packs would be just three minutes, and a charge is written to 0.1 mL: one more",
			[]string{"fluid.pack=" + exactly(margin.Millilitres()/100) + " mL", charge(needed + ml)},
			[]found{{"caution", "the stop level is reached 0 s after the planned end at the earliest, less than 3 min", []string{"rig.charge=1496.1 mL"}}},
		},
		{
			"a return that is led away is gone as fast as what burns",
			[]string{"rig.return_to=waste", "rig.container.capacity=40 L", "fluid.pack=100 mL", charge(wasted + ml)},
			[]found{{"caution", "the stop level is reached 0 s after the planned end at the earliest, less than 3 min", []string{"rig.charge=20700 mL"}}},
		},
		{
			"a container without room for the packs is replaced with them",
			[]string{"rig.charge=1200 mL", "rig.container.capacity=1.5 L"},
			[]found{{"stop", "the charge of 1.20 L is 240 mL less than the 1.44 L needed", []string{"rig.charge=1800 mL", "rig.container.capacity=2.5 L"}}},
		},
	})
}
