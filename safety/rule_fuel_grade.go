package safety

var fuelGrade = Rule{
	ID:     "fuel-grade",
	Title:  "whether the fluid is near the fuel that the system is made for",
	Source: "EN 590: at most 7 % of methyl ester by volume",
	When: []When{
		cautionWhen("the fluid has more than %v %% of methyl ester", mostEster),
	},
	Why:   "Ester swells some seals and loosens old deposits, which then lie in filter and injectors.",
	Lifts: "A fluid with less of it, or the vehicle maker's word that the system stands more.",
	check: checkFuelGrade,
}

const mostEster = 7 // % by volume

func checkFuelGrade(s subject) []Finding {
	if p := s.job.Fluid.FAMEPercent; p != nil && *p > mostEster {
		return []Finding{caution("the fluid has %v %% of methyl ester, more than the %v %% of diesel fuel: it swells seals and loosens old deposits", *p, mostEster).
			liftedBy("a fluid with less, or the vehicle maker's word that it stands more")}
	}
	return nil
}
