package safety

var stopDevice = Rule{
	ID:     "stop-device",
	Title:  "whether the engine surely stops",
	Source: "common practice, no source",
	When: []When{
		stopWhen("the injectors are mechanical, and nobody has tried how the engine is stopped"),
	},
	Why:   "A mechanical engine runs as long as it gets fuel, whatever the key says. With oil in its intake it may run faster and faster.",
	Lifts: "Try the stop first, on the engine's own fuel: lever, solenoid or a plate on the intake, until it stops within seconds.",
	check: checkStopDevice,
}

func checkStopDevice(s subject) []Finding {
	if s.job.Engine.Injectors == "mechanical" && s.job.Engine.StopDevice == "unproved" {
		return []Finding{stop("nobody has tried how this engine is stopped, and a mechanical one may run on with the key off").
			liftedBy("try it first, on its own fuel: lever, solenoid or a plate on the intake, until it stops within seconds")}
	}
	return nil
}
