package safety

import "daytank/planner"

var notAnswered = Rule{
	ID:     "not-answered",
	Title:  "questions that nobody has answered yet",
	Source: "common practice, no source",
	When: []When{
		cautionWhen("a question about the engine, the site or what was found is open"),
	},
	Why:   "What nobody has looked at may be the very thing that makes the work unsafe, or useless.",
	Lifts: "Answer it in the job file, or at the vehicle where the checklist asks.",
	check: checkNotAnswered,
}

func checkNotAnswered(s subject) []Finding {
	if len(s.job.Unanswered) == 0 {
		return nil
	}
	return []Finding{caution("not answered yet: %v", planner.AllInWords(s.job.Unanswered)).
		liftedBy("answer them in the job file, or at the vehicle where the checklist asks")}
}
