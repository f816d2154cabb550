package safety

import (
	"fmt"

	"daytank/planner/hydraulics"
	"daytank/planner/quantity"
)

var suction = Rule{
	ID:    "suction",
	Title: "how hard the engine's own pump has to pull",
	Source: "one maker's figure of 127 mm Hg (17 kPa) at the pump's inlet; 13.3 kPa for rotary pumps and the 60 % " +
		"are common practice, no source",
	When: []When{
		stopWhen("the pull at the expected flow is above the limit: the maker's, or that on the page of the layout"),
		cautionWhen("the pull at the high flow is above the limit, or above %v %% of it", 100*easyPart),
	},
	Why:      "A pump that pulls too hard draws vapour and air out of the fluid, and through every joint that is not quite tight. The engine hunts or stops, and the pump runs without lubrication.",
	Lifts:    "A wider or shorter hose, the container higher, or one in which the level falls less.",
	Formulas: []string{"suction-pressure", "viscosity"},
	check:    checkSuction,
}

// easyPart is the part of the limit up to which nobody need think of it.
const easyPart = 0.6

func checkSuction(s subject) []Finding {
	q := s.plan.Suction
	switch {
	case q == nil:
		return nil
	case pullsTooHard(s):
		found := stop("the pump has to pull %v at the expected flow, and %v is its limit: it will draw air, or run hungry", q.Expected, q.Limit).
			liftedBy("a wider or shorter hose, or the container higher")
		return []Finding{s.lifted(found, pullsTooHard, s.easierPull()...)}
	case q.Total > q.Limit:
		found := caution("the pump may have to pull %v (%v expected), and %v is its limit", q.Total, q.Expected, q.Limit).
			liftedBy("a wider or shorter hose, or the container higher")
		return []Finding{s.lifted(found, pullsHard, s.easierPull()...)}
	case pullsHard(s):
		found := caution("the pump may have to pull %v, more than 60 %% of its limit of %v", q.Total, q.Limit).
			liftedBy("a wider or shorter hose, or the container higher")
		return []Finding{s.lifted(found, pullsHard, s.easierPull()...)}
	}
	return nil
}

func pullsTooHard(s subject) bool {
	q := s.plan.Suction
	return q != nil && q.Expected > q.Limit
}

func pullsHard(s subject) bool {
	q := s.plan.Suction
	return q != nil && float64(q.Total) > easyPart*float64(q.Limit)
}

// easierPull are the changes that make the pump pull less, the least first: the
// next wider bores, the container level with the pump, and both.
func (s subject) easierPull() []proposal {
	all := s.widerBores("supply", s.job.Rig.SupplyHose.Bore)
	if s.job.Rig.Lift > 0 {
		all = append(all, propose(say("set the container level with the inlet of the pump"), "rig.lift=0 m"))
	}
	return append(all, s.widerContainer()...)
}

// widerBores proposes the next two wider bores of ISO 1307 for a hose.
func (s subject) widerBores(line string, bore quantity.Length) []proposal {
	var all []proposal
	for _, b := range hydraulics.Bores() {
		if b > bore && len(all) < 2 {
			all = append(all, propose(say("a "+line+" hose of %v bore", b), fmt.Sprintf("rig.%s_hose.bore=%g mm", line, b.Millimetres())))
		}
	}
	return all
}

// widerContainer proposes a wider container, in which the level falls less.
func (s subject) widerContainer() []proposal {
	d := s.job.Rig.Container.Diameter
	if d <= 0 {
		return nil
	}
	wider := quantity.Millimetres(float64(int(d.Millimetres()*1.5/10)+1) * 10)
	return []proposal{propose(say("a container of %v across", wider), fmt.Sprintf("rig.container.diameter=%g mm", wider.Millimetres()))}
}
