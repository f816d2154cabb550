package safety

import "slices"

var person = Rule{
	ID:     "person",
	Title:  "whether this person may work with this fluid",
	Source: "hazard statements of Regulation (EC) No 1272/2008 (CLP), annex III; who may do the work is for local law and the data sheet",
	When: []When{
		stopWhen("somebody who is pregnant or under 18 is to work with a fluid that has one of %v", notForEverybody),
		cautionWhen("somebody has asthma"),
		cautionWhen("the fluid has H304: swallowed or breathed in as a liquid it can kill"),
		cautionWhen("the fluid has H336: its vapour makes drowsy or dizzy"),
	},
	Why:   "Some harm shows years later, or in somebody who is not born yet. The rest is quick: a mouthful in the lungs, a breath that does not come.",
	Lifts: "Another person, or a fluid without these statements. What is a caution stays one: moving air, gloves, and no mouth near a hose.",
	check: checkPerson,
}

// notForEverybody are the statements of harm to genes, of cancer, and of harm to an
// unborn or nursed child, certain or suspected.
var notForEverybody = []string{"H340", "H350", "H351", "H360", "H361", "H362"}

// mattersToAll are statements that matter to everybody at this work.
var mattersToAll = []struct{ code, message, lift string }{
	{
		"H304", "swallowed or breathed in as a liquid the fluid can kill (H304)",
		"never siphon by mouth; swallowed: no vomiting, and call for help at once",
	},
	{
		"H336", "its vapour makes drowsy or dizzy (H336), beside an engine that runs",
		"in moving air only, and stop at the first headache",
	},
}

func checkPerson(s subject) []Finding {
	at := s.job.Site.AtRisk
	if (slices.Contains(at, "pregnant") || slices.Contains(at, "under-18")) && s.job.Fluid.Has(notForEverybody...) {
		return []Finding{stop("somebody who is pregnant or under 18 does not work with a fluid that can harm genes or a child, or cause cancer").
			liftedBy("another person, or a fluid without these statements")}
	}
	var found []Finding
	if slices.Contains(at, "asthma") {
		found = append(found, caution("vapour and mist can bring on an attack of asthma").
			liftedBy("another person at the engine, or moving air and the inhaler at hand"))
	}
	for _, m := range mattersToAll {
		if s.job.Fluid.Has(m.code) {
			found = append(found, caution("%v", m.message).liftedBy("%v", m.lift))
		}
	}
	return found
}
