package safety

var loopUncooled = Rule{
	ID:     "loop-uncooled",
	Title:  "whether the loop leaves out the vehicle's own fuel cooler",
	Source: "common practice, no source",
	check:  checkLoopUncooled,
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
