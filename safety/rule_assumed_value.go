package safety

import "daytank/planner"

var assumedValue = Rule{
	ID:     "assumed-value",
	Title:  "figures taken from the layout because nobody measured them",
	Source: "planning assumptions, common practice, no source",
	When: []When{
		noteWhen("a figure is the default of the layout, or the idle burn is estimated, because the job does not give it"),
	},
	Why:      "A default has a wide band, and the unsafe end of it decides: more fluid is poured in and a shorter run is planned than this engine may need.",
	Lifts:    "Measure it: a jug and a watch for the return flow, the control unit or a scale for the burn, the data sheet for the fluid.",
	Formulas: []string{"idle-burn"},
	check:    checkAssumedValue,
}

func checkAssumedValue(s subject) []Finding {
	assumed := s.job.Assumed
	if s.plan.BurnSource == "estimated" {
		assumed = append([]string{"engine.idle_burn"}, assumed...)
	}
	if len(assumed) == 0 {
		return nil
	}
	return []Finding{note("assumed, with a wide band: %v", planner.AllInWords(assumed)).
		liftedBy("measure them: a jug and a watch for the return flow, the data sheet for the fluid")}
}
