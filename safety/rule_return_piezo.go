package safety

var returnPiezo = Rule{
	ID:     "return-piezo",
	Title:  "whether piezo injectors keep the pressure in their return",
	Source: "common practice, no source",
	check:  checkReturnPiezo,
}

func checkReturnPiezo(s subject) []Finding {
	if s.job.Engine.Injectors == "piezo" {
		return []Finding{caution("piezo injectors need the pressure in their return: without the valve that holds it they do not inject").
			liftedBy("open the return behind the pressure-holding valve, never between it and the injectors; no injector plug is pulled while the engine runs")}
	}
	return nil
}
