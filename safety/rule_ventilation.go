package safety

var ventilation = Rule{
	ID:     "ventilation",
	Title:  "where the exhaust goes",
	Source: "UK Health and Safety Executive, motor vehicle repair: extraction at the tailpipe, not open doors",
	When: []When{
		stopWhen("the work is indoors without extraction"),
	},
	Why:   "Exhaust has carbon monoxide, which nobody smells, and an engine that idles for long fills a closed room with it. An open door does not carry it out.",
	Lifts: "Work outdoors, or with an extraction hose on the tailpipe.",
	check: checkVentilation,
}

func checkVentilation(s subject) []Finding {
	if !isStifling(s) {
		return nil
	}
	found := stop("the engine would idle for %v indoors without extraction", s.plan.Run)
	return []Finding{s.lifted(found, isStifling,
		propose(say("work outdoors, or with an extraction hose on the tailpipe"), "site.place=outdoors"))}
}

func isStifling(s subject) bool { return s.job.Site.Place == "indoors" }
