package safety

var containerSmall = Rule{
	ID:     "container-small",
	Title:  "whether the container holds the warmed charge with a tenth of room",
	Source: "arithmetic of the plan; the tenth is common practice, no source",
	When: []When{
		stopWhen("the container holds less than the charge, warmed to the peak of the high case, and a tenth more"),
	},
	Why:      "Warm fluid takes more room, the return foams, and a container that is full to the brim spills at the first knock, beside a running engine.",
	Lifts:    "A larger container, or a smaller charge with a shorter run.",
	Formulas: []string{"fluid-needed", "level-reading"},
	check:    checkContainerSmall,
}

func checkContainerSmall(s subject) []Finding {
	if !isSmall(s) {
		return nil
	}
	needed := s.job.ContainerNeeded(s.plan)
	found := stop("the charge of %v, warmed and with a tenth of room, takes %v, and the container holds %v",
		s.plan.Fluid.Charge, needed, s.job.Rig.Container.Capacity).
		liftedBy("a larger container")
	return []Finding{s.lifted(found, isSmall, containerOf(needed))}
}

// isSmall lets a container count that holds just what is needed but for the last bit
// of the arithmetic.
func isSmall(s subject) bool {
	return float64(s.job.ContainerNeeded(s.plan)) > float64(s.job.Rig.Container.Capacity)*(1+1e-9)
}
