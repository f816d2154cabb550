package safety

var alone = Rule{
	ID:     "alone",
	Title:  "whether somebody else is there",
	Source: "common practice, no source",
	When: []When{
		stopWhen("one person works, and rule fluid-temperature has a caution"),
		cautionWhen("one person works"),
	},
	Why:      "The key and the container are not in the same place. Whoever looks at the hoses cannot switch off, and with nobody else there nobody calls for help.",
	Lifts:    "A second person at the key. Where that is not to be had, keep the fluid cool, and the stop becomes a caution.",
	Formulas: []string{"warm-and-hot", "container-heat"},
	check:    checkAlone,
}

func checkAlone(s subject) []Finding {
	if !s.job.Site.Alone() {
		return nil
	}
	if warmAndAlone(s) {
		h := s.plan.Heat
		found := stop("one person works, and the fluid may reach %v (expected %v); from %v on it counts as warm", h.Peak.High, h.Peak.Expected, h.Warm).
			liftedBy("have a second person at the key")
		return []Finding{s.lifted(found, warmAndAlone, append([]proposal{s.second()}, s.coolings()...)...)}
	}
	return []Finding{s.lifted(caution("one person works: nobody is at the key while the other looks, and nobody calls for help"),
		func(s subject) bool { return s.job.Site.Alone() }, s.second())}
}

func warmAndAlone(s subject) bool {
	s.trying = true
	for _, f := range checkFluidTemperature(s) {
		if f.Severity == Caution && s.job.Site.Alone() {
			return true
		}
	}
	return false
}
