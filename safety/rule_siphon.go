package safety

import "daytank/planner/quantity"

var siphon = Rule{
	ID:     "siphon",
	Title:  "whether the container can empty itself while the engine stands",
	Source: "common practice, no source",
	When: []When{
		stopWhen("the container stands above a joint without taps in the hoses, and a soak lasts more than %v", longSoak),
		cautionWhen("the container stands above a joint"),
		cautionWhen("the container stands more than %v below the pump, there is a soak, and no valve keeps the supply from falling back", highLift),
	},
	Why:   "While the engine stands, a container above it runs out through any joint that drips. One below it draws the supply hose empty, and the engine restarts on air.",
	Lifts: "The container level with the pump; taps that are closed whenever the engine stands; a non-return valve in the supply; shorter soaks.",
	check: checkSiphon,
}

// Judgements of a soak.
const (
	longSoak = quantity.Duration(30 * 60)
	highLift = quantity.Length(0.3)
)

func checkSiphon(s subject) []Finding {
	switch {
	case drains(s):
		found := stop("the container stands above a joint for a soak of over %v, without taps: what drips, drips until it is empty", longSoak).
			liftedBy("a tap in each hose, or a shorter soak")
		return []Finding{s.lifted(found, drains, s.taps())}
	case standsAbove(s):
		found := caution("the container stands above a joint: a loose one floods the engine bay while nobody looks").
			liftedBy("set the container level with the inlet of the pump or below; taps closed whenever the engine stands")
		return []Finding{s.lifted(found, standsAbove, propose(say("set the container level with the inlet of the pump"), "rig.lift=0 m"))}
	case fallsBack(s):
		found := caution("in the soak the supply hose, which rises %v, can empty itself back into the container, and the engine restarts on air", s.job.Rig.Lift).
			liftedBy("a non-return valve in the supply")
		return []Finding{s.lifted(found, fallsBack, propose(say("a non-return valve in the supply"), "rig.non_return_valve=true"))}
	}
	return nil
}

func standsAbove(s subject) bool { return s.job.Rig.Lift < 0 }

func (s subject) longestSoak() quantity.Duration {
	var longest quantity.Duration
	for _, stage := range s.plan.Stages {
		if stage.Soak {
			longest = max(longest, stage.For)
		}
	}
	return longest
}

func drains(s subject) bool {
	return standsAbove(s) && !s.job.Rig.Taps && s.longestSoak() > longSoak
}

func fallsBack(s subject) bool {
	return s.job.Rig.Lift > highLift && s.longestSoak() > 0 && !s.job.Rig.NonReturn
}

func (s subject) taps() proposal { return propose(say("a tap in each hose"), "rig.taps=true") }
