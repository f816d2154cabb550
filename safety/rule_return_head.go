package safety

import "daytank/planner/quantity"

var returnHead = Rule{
	ID:     "return-head",
	Title:  "against how much the return is pushed",
	Source: "common practice, no source",
	When: []When{
		stopWhen("the return is pushed against more than the fuel system takes: the limit stands on the page of its layout"),
		cautionWhen("it is pushed against more than %v", cautionHead),
		cautionWhen("there is a filter in the return of a rotary pump"),
	},
	Why:      "Injectors and pump give off their leakage against what stands in the return. Too much of it lifts the pressure in their cases: injection goes wrong, seals leak, and a rotary pump stops.",
	Lifts:    "A wider or shorter return hose, its end no higher than the engine's return, no filter in it.",
	Formulas: []string{"return-pressure"},
	check:    checkReturnHead,
}

// cautionHead is where a return begins to be pushed back.
const cautionHead = quantity.Pressure(10e3)

func checkReturnHead(s subject) []Finding {
	head, limit := s.plan.ReturnHead, s.job.Engine.Layout.ReturnHeadLimit
	switch {
	case head > limit:
		found := stop("the return is pushed against %v, and %v is the most that this fuel system takes", head, limit).
			liftedBy("a wider or shorter return hose, and its end no higher than the engine's return")
		return []Finding{s.lifted(found, pushesTooHard, s.easierReturn()...)}
	case head > cautionHead:
		found := caution("the return is pushed against %v, more than %v", head, cautionHead).
			liftedBy("a wider or shorter return hose, and its end no higher than the engine's return")
		return []Finding{s.lifted(found, pushesHard, s.easierReturn()...)}
	case filteredRotary(s):
		found := caution("a filter in the return of a rotary pump: once it clogs, the pressure in the pump's case rises and injection stops").
			liftedBy("no filter in the return")
		return []Finding{s.lifted(found, filteredRotary, propose(say("no filter in the return"), "rig.return_filter_drop=0 kPa"))}
	}
	return nil
}

func pushesTooHard(s subject) bool { return s.plan.ReturnHead > s.job.Engine.Layout.ReturnHeadLimit }

func pushesHard(s subject) bool { return pushesTooHard(s) || s.plan.ReturnHead > cautionHead }

func filteredRotary(s subject) bool {
	return s.job.Engine.Layout.ID == "rotary" && s.job.Rig.ReturnDrop > 0
}

// easierReturn are the changes that let the return flow easier, the least first.
func (s subject) easierReturn() []proposal {
	all := s.widerBores("return", s.job.Rig.ReturnHose.Bore)
	if s.job.Rig.ReturnLift > 0 {
		all = append(all, propose(say("let the return end no higher than it leaves the engine"), "rig.return_lift=0 m"))
	}
	if s.job.Rig.ReturnDrop > 0 {
		all = append(all, propose(say("no filter in the return"), "rig.return_filter_drop=0 kPa"))
	}
	return all
}
