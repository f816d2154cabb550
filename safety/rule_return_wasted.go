package safety

var returnWasted = Rule{
	ID:     "return-wasted",
	Title:  "whether a return that is led away leaves enough",
	Source: "arithmetic of the plan",
	When: []When{
		stopWhen("the return is led away, and the container holds less than is needed for that"),
		cautionWhen("the return is led away at all"),
	},
	Why:      "An engine draws many times what it burns. What is not led back is gone within minutes, and the waste can fills as fast as the container empties.",
	Lifts:    "Lead the return back into the container once the first flush is through.",
	Formulas: []string{"fluid-needed", "waste-can"},
	check:    checkReturnWasted,
}

func checkReturnWasted(s subject) []Finding {
	switch needed, room := s.plan.Fluid.Needed, s.job.Rig.Container.Capacity; {
	case wastesMoreThanThereIsRoomFor(s):
		found := stop("with the return led away %v are needed, and the container holds %v", needed, room).
			liftedBy("lead the return back into the container")
		return []Finding{s.lifted(found, wastesMoreThanThereIsRoomFor, s.returnBack())}
	case s.job.Rig.ToWaste:
		found := caution("the return is led away: the container empties at %v, which is what burns and what comes back", s.plan.Gross).
			liftedBy("lead the return back into the container once the first flush is through")
		return []Finding{s.lifted(found, wastes, s.returnBack())}
	}
	return nil
}

func wastes(s subject) bool { return s.job.Rig.ToWaste }

func wastesMoreThanThereIsRoomFor(s subject) bool {
	return s.job.Rig.ToWaste && s.plan.Fluid.Needed > s.job.Rig.Container.Capacity
}

func (s subject) returnBack() proposal {
	return propose(say("lead the return back into the container"), "rig.return_to=container")
}
