package safety

var returns = Rule{
	ID:     "returns",
	Title:  "whether fluid leaves the loop by another way",
	Source: "common practice, no source",
	check:  checkReturns,
}

func checkReturns(s subject) []Finding {
	if s.job.Engine.ExtraReturns == "open" {
		return []Finding{stop("fuel leaves by another way that nobody has looked after: a second return, a second tank or a heater empties the container unseen").
			liftedBy("find every return, and lead it back or close it")}
	}
	return nil
}
