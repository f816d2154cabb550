package safety

import "daytank/planner/engine"

var wrongRemedy = Rule{
	ID:     "wrong-remedy",
	Title:  "whether cleaning is the right answer at all",
	Source: "common practice, no source",
	When: []When{
		stopWhen("there is metal, water or petrol in the fuel"),
		stopWhen("the fuel system leaks"),
		stopWhen("an electrical fault is stored"),
		stopWhen("the oil level is high"),
		stopWhen("seals or hoses are hardened"),
		cautionWhen("a correction is beyond the limit, %v unless the maker has another", engine.CommonCorrectionLimit),
		cautionWhen("no symptom is given"),
		cautionWhen("a joint weeps"),
	},
	Why:   "Cleaner takes off deposits and mends nothing. On an engine that leaks, has dirt in its fuel or a broken injector it carries the damage on, and hides its cause.",
	Lifts: "Mend what was found, and look again. A bad injector is tested on its own first.",
	check: checkWrongRemedy,
}

// What was found that cleaning cannot mend, and what to do instead.
var wrongRemedies = []struct {
	found         func(s subject) bool
	message, lift string
}{
	{
		func(s subject) bool { return s.job.Condition.FuelSample == "metal" },
		"metal in the fuel: the high-pressure side is breaking up, and fluid would carry it on",
		"have the whole high-pressure system looked at; no cleaning",
	},
	{
		func(s subject) bool { return s.job.Condition.FuelSample == "water" },
		"water in the fuel", "drain tank, lines and filter first, then sample again",
	},
	{
		func(s subject) bool { return s.job.Condition.FuelSample == "petrol" },
		"petrol in the fuel", "drain tank, lines and filter first, then sample again",
	},
	{
		func(s subject) bool { return s.job.Condition.Leaks == "leaking" },
		"the fuel system leaks", "mend the leak first",
	},
	{
		func(s subject) bool { return s.job.Condition.StoredFaults == "electrical" },
		"an electrical fault is stored", "find the wiring or injector fault first",
	},
	{
		func(s subject) bool { return s.job.Condition.OilLevel == "high" },
		"the oil level is high: fuel may be in the oil, and a runaway can follow",
		"find the cause and change the oil first",
	},
	{
		func(s subject) bool { return s.job.Condition.Seals == "hardened" },
		"seals or hoses are hardened, and solvent would make them leak", "renew them first",
	},
}

func checkWrongRemedy(s subject) []Finding {
	var found []Finding
	for _, w := range wrongRemedies {
		if w.found(s) {
			found = append(found, stop(w.message).liftedBy(w.lift))
		}
	}
	c, limit := s.job.Condition, s.job.Engine.CorrectionLimit
	if c.WorstCorrection != nil && max(*c.WorstCorrection, -*c.WorstCorrection) > limit {
		found = append(found, caution("a correction of %v is beyond the limit of %v: test that injector before cleaning", *c.WorstCorrection, limit).
			liftedBy("test the injector on its own (return flow, compression), or have it tested"))
	}
	if c.Symptom == "none" {
		found = append(found, caution("no symptom is given: without a finding there is nothing to clean for").
			liftedBy("say what is wrong with the engine, or leave it alone"))
	}
	if c.Leaks == "weeping" {
		found = append(found, caution("a joint of the fuel system is weeping, and solvent may open it further").
			liftedBy("tighten or renew the joint first"))
	}
	return found
}
