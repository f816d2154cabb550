package safety

var loopUncooled = Rule{
	ID:     "loop-uncooled",
	Title:  "whether the loop leaves out the vehicle's own fuel cooler",
	Source: "common practice, no source",
	When: []When{
		cautionWhen("the layout is unit-injector, and the return goes through no coil"),
	},
	Why:      "This fuel system heats its return so much that the vehicle has a cooler for it. On the container the return never gets there.",
	Lifts:    "A coil in a bucket of water, and frequent readings of the temperature.",
	Formulas: []string{"container-heat"},
	check:    checkLoopUncooled,
}

func checkLoopUncooled(s subject) []Finding {
	if !runsUncooled(s) {
		return nil
	}
	found := caution("the return is opened before the vehicle's fuel cooler, and nothing else cools the loop").
		liftedBy("lead the return through a coil in a bucket of water, and read the temperature often")
	return []Finding{s.lifted(found, runsUncooled, s.coolings()[:2]...)}
}

func runsUncooled(s subject) bool {
	return s.job.Engine.Layout.ID == "unit-injector" && s.job.Rig.Coil == nil
}
