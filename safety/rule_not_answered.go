package safety

var notAnswered = Rule{
	ID:     "not-answered",
	Title:  "questions that nobody has answered yet",
	Source: "common practice, no source",
	check:  checkNotAnswered,
}

func checkNotAnswered(s subject) []Finding {
	if len(s.job.Unanswered) == 0 {
		return nil
	}
	return []Finding{caution("not answered yet: %v", s.job.Unanswered).
		liftedBy("answer them in the job file, or at the vehicle where the checklist asks")}
}
