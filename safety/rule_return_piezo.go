package safety

var returnPiezo = Rule{
	ID:     "return-piezo",
	Title:  "whether piezo injectors keep the pressure in their return",
	Source: "common practice, no source",
	When: []When{
		cautionWhen("the injectors are piezo"),
	},
	Why:   "Piezo injectors need some pressure in their return. Opened at the wrong place it is gone, and they do not inject. Their plugs carry a voltage that can kill while the engine runs.",
	Lifts: "Open the return behind the valve that holds its pressure, never between that and the injectors; no plug is pulled while the engine runs. The caution stays.",
	check: checkReturnPiezo,
}

func checkReturnPiezo(s subject) []Finding {
	if s.job.Engine.Injectors == "piezo" {
		return []Finding{caution("piezo injectors need the pressure in their return: without the valve that holds it they do not inject").
			liftedBy("open the return behind the pressure-holding valve, never between it and the injectors; no injector plug is pulled while the engine runs")}
	}
	return nil
}
