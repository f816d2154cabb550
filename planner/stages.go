package planner

import (
	"daytank/planner/quantity"
	"daytank/planner/strict"
)

func (j *Job) readRun(v strict.Value) {
	items := v.List()
	switch {
	case v.IsList() && len(items) == 0:
		v.Problem("at least one stage is wanted")
	case len(items) > mostStages:
		v.Problem("%d stages are more than the %d that a run may have", len(items), mostStages)
		return
	}
	var total quantity.Duration
	for _, item := range items {
		s := j.readStage(item.Map())
		total += s.For
		j.Run = append(j.Run, s)
	}
	if total > longestRun {
		v.Problem("the stages take %.1f h together, more than the %.0f h that a run may have", total.Hours(), longestRun.Hours())
	}
}

// The longest a stage may be planned, a working day; and a run. Nobody cleans
// for so long: they keep a slip of the unit from planning for a week.
const (
	longestStage = quantity.Duration(12 * 3600)
	longestRun   = quantity.Duration(24 * 3600)
	mostStages   = 100
)

func (j *Job) readStage(m *strict.Mapping) Stage {
	var s Stage
	speed, soak, until := m.Optional("speed"), m.Optional("soak"), m.Optional("soak_until")
	length := m.Optional("for")
	kinds := 0
	for _, v := range []strict.Value{speed, soak, until} {
		if v.Present() {
			kinds++
		}
	}
	switch {
	case kinds > 1:
		m.Problem("a stage is one of {speed: ..., for: ...}, {soak: ...} and {soak_until: ...}, not several at once")
	case kinds == 1 && length.Present() && !speed.Present():
		length.Problem("a soak has its time or its temperature already")
	case speed.Present():
		s.Speed, s.Idle = j.readSpeed(speed)
		s.For = strict.Within(m.Required("for"), quantity.ParseDuration, quantity.Seconds(1), longestStage)
	case soak.Present():
		s.Soak = true
		s.For = strict.Within(soak, quantity.ParseDuration, quantity.Seconds(1), longestStage)
	case until.Present():
		s.Soak = true
		s.SoakUntil = strict.MaybeWithin(until, quantity.ParseTemperature, quantity.Celsius(0), quantity.Celsius(60))
	case m.Present():
		m.Problem("a stage is {speed: ..., for: ...}, {soak: ...} or {soak_until: ...}")
	}
	m.Close()
	return s
}

func (j *Job) readSpeed(v strict.Value) (quantity.Speed, bool) {
	if v.Text() == "idle" {
		return j.Engine.IdleSpeed, true
	}
	s := strict.Within(v, quantity.ParseSpeed, quantity.RPM(200), quantity.RPM(6000))
	if s > 0 && s < j.Engine.IdleSpeed {
		v.Problem("%s is below the idle speed of %.0f rpm", v.Text(), j.Engine.IdleSpeed.RPM())
	}
	return s, s == j.Engine.IdleSpeed
}
