package safety

import (
	"fmt"

	"daytank/planner/quantity"
)

var runSpeed = Rule{
	ID:     "run-speed",
	Title:  "how fast the engine runs without load",
	Source: "common practice, no source",
	When: []When{
		stopWhen("a stage runs faster than %v", mostSpeed),
		cautionWhen("a stage runs faster than %v", briskSpeed),
		cautionWhen("the last running stage is not at idle"),
	},
	Why:      "Without load nothing holds the engine. Burn, return and heat grow with the speed, the level falls faster than anybody reads it, and a turbocharger that is switched off at speed runs on without oil.",
	Lifts:    "A lower speed, and idle at the end.",
	Formulas: []string{"idle-burn"},
	check:    checkRunSpeed,
}

// Speeds without load: above the first the return and its heat run away, above
// the second nobody goes.
const (
	briskSpeed = quantity.Speed(2000.0 / 60)
	mostSpeed  = quantity.Speed(2500.0 / 60)
)

func checkRunSpeed(s subject) []Finding {
	switch fastest := s.fastest(); {
	case fastest > mostSpeed:
		found := stop("%v without load is over %v: return, heat and wear grow with it", fastest, mostSpeed).liftedBy("a lower speed")
		return []Finding{s.lifted(found, runsTooFast, s.slower())}
	case fastest > briskSpeed:
		found := caution("%v without load is over %v: return, heat and wear grow with it", fastest, briskSpeed).liftedBy("a lower speed")
		return []Finding{s.lifted(found, runsFast, s.slower())}
	case endsFast(s):
		found := caution("the last stage is not at idle: turbocharger and fluid do not settle before the engine is switched off").
			liftedBy("end at idle")
		return []Finding{s.lifted(found, endsFast, s.endAtIdle()...)}
	}
	return nil
}

func (s subject) fastest() quantity.Speed {
	var fastest quantity.Speed
	for _, stage := range s.job.Run {
		if !stage.Soak {
			fastest = max(fastest, stage.Speed)
		}
	}
	return fastest
}

func runsTooFast(s subject) bool { return s.fastest() > mostSpeed }

func runsFast(s subject) bool { return s.fastest() > briskSpeed }

// lastRunning gives the position of the last running stage; -1 where none runs.
func (s subject) lastRunning() int {
	last := -1
	for i, stage := range s.job.Run {
		if !stage.Soak {
			last = i
		}
	}
	return last
}

func endsFast(s subject) bool {
	last := s.lastRunning()
	return last >= 0 && !s.job.Run[last].Idle
}

func (s subject) slower() proposal {
	p := proposal{say: say("run at %v at most", briskSpeed)}
	for i, stage := range s.job.Run {
		if !stage.Soak && stage.Speed > briskSpeed {
			p.set = append(p.set, fmt.Sprintf("run.%d.speed=%.0f rpm", i, briskSpeed.RPM()))
		}
	}
	return p
}

// endAtIdle proposes a last stage at idle; its other figures stay.
func (s subject) endAtIdle() []proposal {
	last := s.lastRunning()
	if last < 0 {
		return nil
	}
	return []proposal{propose(say("end at idle"), fmt.Sprintf("run.%d.speed=idle", last))}
}
