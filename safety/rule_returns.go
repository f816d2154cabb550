package safety

var returns = Rule{
	ID:     "returns",
	Title:  "whether fluid leaves the loop by another way",
	Source: "common practice, no source",
	When: []When{
		stopWhen("there is another way out, a second return, a second tank or a heater on the line, and nobody has looked after it"),
	},
	Why:   "Fluid that leaves by a way that is not in the plan empties the container unseen, and fills the vehicle's tank with cleaner.",
	Lifts: "Find every return, and lead it back or close it.",
	check: checkReturns,
}

func checkReturns(s subject) []Finding {
	if s.job.Engine.ExtraReturns == "open" {
		return []Finding{stop("fuel leaves by another way that nobody has looked after: a second return, a second tank or a heater empties the container unseen").
			liftedBy("find every return, and lead it back or close it")}
	}
	return nil
}
