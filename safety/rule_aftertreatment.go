package safety

import (
	"fmt"
	"math"

	"daytank/planner/quantity"
)

var aftertreatment = Rule{
	ID:     "aftertreatment",
	Title:  "whether the particulate filter stands the idling",
	Source: "common practice, no source",
	When: []When{
		stopWhen("the lamp of the particulate filter is lit"),
		stopWhen("the filter is burning itself clean"),
		cautionWhen("there is a particulate filter, and the run idles for more than %v in all", longIdle),
	},
	Why:   "An idling engine is too cold to burn soot away, and the filter goes on filling. One that is full chokes the engine; one that burns itself clean blows exhaust hot enough to light dry grass, or a rag with fluid on it.",
	Lifts: "Have the filter regenerated on the road first; idle for a shorter time, and drive under load afterwards.",
	check: checkAftertreatment,
}

// longIdle is how much idling a particulate filter takes in one go.
const longIdle = quantity.Duration(15 * 60)

func checkAftertreatment(s subject) []Finding {
	switch lamp := s.job.Condition.SootLamp; {
	case lamp == "on":
		return []Finding{stop("the lamp of the particulate filter is lit: long idling on fluid fills it further, and it will burn itself clean hot").
			liftedBy("have the filter regenerated first, on the road, and the reason found")}
	case lamp == "regenerating":
		return []Finding{stop("the particulate filter is burning itself clean: its exhaust is hot enough to set fire").
			liftedBy("let it finish on the road, and cool down")}
	case idlesTooLong(s):
		found := caution("%v of idling with a particulate filter, more than %v: it fills with soot", s.idling(), longIdle).
			liftedBy("shorter idling, and a drive under load afterwards")
		return []Finding{s.lifted(found, idlesTooLong, s.lessIdling()...)}
	}
	return nil
}

// idling is how long the engine idles in the run.
func (s subject) idling() quantity.Duration {
	var d quantity.Duration
	for _, stage := range s.job.Run {
		if !stage.Soak && stage.Idle {
			d += stage.For
		}
	}
	return d
}

func idlesTooLong(s subject) bool {
	return s.job.Engine.Aftertreatment == "particulate-filter" && s.idling() > longIdle
}

// lessIdling proposes idle stages that are shorter in proportion, in half minutes.
func (s subject) lessIdling() []proposal {
	part := float64(longIdle / s.idling())
	p := proposal{say: say("idle for %v in all", longIdle)}
	for i, stage := range s.job.Run {
		if !stage.Soak && stage.Idle {
			halves := math.Floor(stage.For.Minutes() * 2 * part)
			if halves < 1 {
				return nil
			}
			p.set = append(p.set, fmt.Sprintf("run.%d.for=%g min", i, halves/2))
		}
	}
	return []proposal{p}
}
