package safety

import (
	"testing"

	"daytank/planner"
	"daytank/planner/quantity"
)

// The van is drawn empty in 29.7 s at the planned end. The limits of 10 s, 60 s
// and twice the watch time are common practice, no source.
func TestReturnOff(t *testing.T) {
	plan := planner.Compute(van(t))
	// The charge with which it takes so long.
	lasts := func(d quantity.Duration, beside float64) string {
		more := plan.Gross.Over(d - plan.RunDry.AtEnd)
		return charge(plan.Fluid.Charge + more + quantity.Millilitres(beside))
	}
	watch := func(beside float64) string {
		return "rig.watch_time=" + exactly(plan.RunDry.AtEnd.Seconds()/2+beside) + " s"
	}
	minute := plan.Fluid.Charge + plan.Gross.Over(60-plan.RunDry.AtEnd)
	const loose, alone = "rig.return_fastened=false", "site.people=1"
	tooSoon := func(seconds string, set ...string) []found {
		return []found{{"stop", "if the return hose slips out near the planned end, the container is empty in " + seconds + ", sooner than anyone can switch off", set}}
	}
	soon := func(seconds string, set ...string) []found {
		return []found{{"caution", "if the return hose slips out near the planned end, the container is empty in " + seconds, set}}
	}
	unwatched := func(watch string) []found {
		return []found{{
			"stop", "if the return hose slips out near the planned end, the container is empty in 30 s; alone that is under twice the " + watch + " it takes to switch off",
			[]string{"rig.return_fastened=true"},
		}}
	}
	const fourPacks = "rig.charge=2400 mL"
	judge(t, returnOff, []row{
		{"half a minute wants a hand near the key", nil, soon("30 s", fourPacks)},
		{"four packs last over a minute", []string{fourPacks}, nil},
		{"just below a minute", []string{lasts(60, -hair)}, soon("60 s", fourPacks)},
		{"just a minute", []string{lasts(60, hair)}, nil},
		{"below ten seconds, not fastened", []string{lasts(10, -hair), loose}, tooSoon("10 s", "rig.return_fastened=true")},
		{"below ten seconds, nobody said whether it is fastened", []string{lasts(10, -hair), "rig.return_fastened="}, tooSoon("10 s", "rig.return_fastened=true")},
		{"below ten seconds, alone", []string{lasts(10, -hair), alone}, tooSoon("10 s", alone[:len(alone)-1]+"2")},
		{"below ten seconds, alone and not fastened", []string{lasts(10, -hair), alone, loose}, tooSoon("10 s", "rig.return_fastened=true", "site.people=2")},
		{"below ten seconds, but fastened and two people", []string{lasts(10, -hair)}, soon("10 s", fourPacks)},
		{"just ten seconds, not fastened", []string{lasts(10, hair), loose}, soon("10 s", fourPacks)},
		{"alone, not fastened, twice the watch time is a minute", []string{alone, loose}, unwatched("30 s")},
		{"alone, but fastened", []string{alone}, soon("30 s", fourPacks)},
		{"two people, not fastened", []string{loose}, soon("30 s", fourPacks)},
		{"alone, not fastened, just below twice the watch time", []string{alone, loose, watch(hair)}, unwatched("15 s")},
		{"alone, not fastened, just above twice the watch time", []string{alone, loose, watch(-hair)}, soon("30 s", fourPacks)},
		{"more fluid comes with a container that holds it", []string{"rig.container.capacity=2.1 L"}, soon("30 s", fourPacks, "rig.container.capacity=3 L")},
		{"a hundred packs would last just a minute, and a charge is written to 0.1 mL: one more", []string{"fluid.pack=" + exactly(minute.Millilitres()/100) + " mL"}, soon("11 s", "rig.charge=2397.2 mL")},
		{"from below what is needed, packs that suffice", []string{"rig.charge=1000 mL", "fluid.pack=100 mL"}, soon("0 s", fourPacks)},
	})
}
