package safety

var assumedValue = Rule{
	ID:     "assumed-value",
	Title:  "figures taken from the layout because nobody measured them",
	Source: "planning assumptions, common practice, no source",
	check:  checkAssumedValue,
}

func checkAssumedValue(s subject) []Finding {
	assumed := s.job.Assumed
	if s.plan.BurnSource == "estimated" {
		assumed = append([]string{"engine.idle_burn"}, assumed...)
	}
	if len(assumed) == 0 {
		return nil
	}
	return []Finding{note("assumed, with a wide band: %v", assumed).
		liftedBy("measure them: a jug and a watch for the return flow, the data sheet for the fluid")}
}
