package safety

import (
	"fmt"

	"daytank/planner/engine"
)

// Control is something that must be in the procedure of a layout: a
// confirmation with a demand, and for some a hold point.
type Control struct {
	ID   string
	Why  string
	Hold bool // work stops until a second person releases it
}

// MostConfirmations is how many typed confirmations a walk may have: what can
// hurt or wreck, nothing else. More, and hands type without looking (own
// judgement).
const MostConfirmations = 12

// Controls gives what the procedure of a layout must have, whoever wrote it.
func Controls(l engine.Layout) []Control {
	all := []Control{
		{ID: "ventilation", Why: "an idling engine fills a closed place with exhaust gas"},
		{ID: "extinguisher", Why: "fuel and heat stand side by side"},
		{ID: "engine-stop", Why: "an engine that cannot be stopped must not be started on the rig"},
		{ID: "pressure-released", Why: "fuel under pressure goes through skin"},
		{ID: "ends-capped", Why: "an open line drains, and lets dirt in"},
		{ID: "stop-level", Why: "the pump is destroyed when it draws air"},
		{ID: "return-fastened", Why: "a return that slips out empties the container in seconds"},
		{ID: "rig-tight", Why: "a joint that weeps at rest sprays when it runs", Hold: true},
		{ID: "watcher", Why: "somebody must be at the key while fluid is drawn"},
		{ID: "parts-counted", Why: "a cap left in a line stops the engine on the road", Hold: true},
		{ID: "leak-check", Why: "a leak over a hot engine burns"},
	}
	if l.HasTankPump() {
		return append(all, Control{ID: "pump-dead", Why: "a live tank pump empties the tank through the open line"})
	}
	return append(all, Control{ID: "tank-shut", Why: "a tank that stands higher, or a pump that nobody thought of, empties itself through the open line"})
}

// Controlled is a step of a procedure as far as safety has a say in it.
type Controlled struct {
	Step, Control, Hazard string
	Confirms              bool // a typed confirmation
	Demand                Demand
	Hold                  bool
}

// Weaknesses gives what a procedure for a layout lacks: controls that are
// missing or proved by nothing, hazards proved by too little, and too many
// confirmations. An empty list is a procedure that may be walked.
func Weaknesses(l engine.Layout, steps []Controlled) []string {
	var lacks []string
	confirmations := 0
	for _, s := range steps {
		if s.Confirms {
			confirmations++
		}
		lacks = append(lacks, s.weakness()...)
	}
	for _, c := range Controls(l) {
		if lack := c.lackingIn(steps); lack != "" {
			lacks = append(lacks, lack)
		}
	}
	if confirmations > MostConfirmations {
		lacks = append(lacks, fmt.Sprintf("%d typed confirmations, more than %d: keep them for what can hurt or wreck", confirmations, MostConfirmations))
	}
	return lacks
}

// lackingIn tells what is wrong with the steps that are to provide a control;
// empty where one of them does.
func (c Control) lackingIn(steps []Controlled) string {
	lack := fmt.Sprintf("control %s is missing: %s", c.ID, c.Why)
	for _, s := range steps {
		switch {
		case s.Control != c.ID:
		case !s.Confirms:
			lack = fmt.Sprintf("step %s: control %s needs a typed confirmation", s.Step, c.ID)
		case c.Hold && !s.Hold:
			lack = fmt.Sprintf("step %s: control %s needs a hold point", s.Step, c.ID)
		default:
			return ""
		}
	}
	return lack
}

// weakness tells what is wrong with the demand of a step, whose hazard must be
// a known one.
func (s Controlled) weakness() []string {
	if !s.Confirms {
		return nil
	}
	if s.Demand.Word == "" && s.Demand.Number == nil {
		return []string{fmt.Sprintf("step %s: the confirmation demands nothing", s.Step)}
	}
	var lacks []string
	if s.Demand.Word != "" && TooEasy(s.Demand.Word) {
		lacks = append(lacks, fmt.Sprintf("step %s: %q is typed without looking; take a word for what is seen", s.Step, s.Demand.Word))
	}
	if _, known := HazardByID(s.Hazard); !known && s.Hazard != "" {
		lacks = append(lacks, fmt.Sprintf("step %s: hazard %q is not known", s.Step, s.Hazard))
	}
	return lacks
}
