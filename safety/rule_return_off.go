package safety

import "daytank/planner/quantity"

var returnOff = Rule{
	ID:     "return-off",
	Title:  "how soon the container is empty if the return hose slips out",
	Source: "arithmetic of the plan; the limits of 10 s and 60 s are common practice, no source",
	When: []When{
		stopWhen("the container would be empty in less than %v at the planned end, unless the return hose is fastened and two people are there", tooSoon),
		stopWhen("one person works, the return hose is not fastened, and it would be empty then in less than twice the time that it takes to switch off"),
		cautionWhen("the container would be empty in less than %v at the planned end", soon),
	},
	Why:      "With the return hose out of the container everything that is drawn lands on the floor, and the level falls many times as fast as by burning alone. The engine is on air before anybody has seen why.",
	Lifts:    "Fasten the return hose, have a second person at the key, pour in more fluid.",
	Formulas: []string{"return-slip"},
	check:    checkReturnOff,
}

const (
	tooSoon = quantity.Duration(10)
	soon    = quantity.Duration(60)
)

func checkReturnOff(s subject) []Finding {
	d := s.plan.RunDry
	switch {
	case slipsTooSoon(s):
		found := stop("if the return hose slips out near the planned end, the container is empty in %v, sooner than anyone can switch off", d.AtEnd).
			liftedBy("fasten the return hose in the container, and have a second person at the key")
		return []Finding{s.lifted(found, slipsTooSoon, s.fastened(), s.second())}
	case slipsAlone(s):
		found := stop("if the return hose slips out near the planned end, the container is empty in %v; alone that is under twice the %v it takes to switch off",
			d.AtEnd, s.job.Rig.WatchTime).
			liftedBy("fasten the return hose in the container")
		return []Finding{s.lifted(found, slipsAlone, s.fastened(), s.second())}
	case d.AtEnd < soon:
		found := caution("if the return hose slips out near the planned end, the container is empty in %v", d.AtEnd).
			liftedBy("keep a hand near the key and an eye on the return; more fluid gives more time")
		return []Finding{s.lifted(found, slipsSoon, s.pouring(s.longEnough()))}
	}
	return nil
}

func slipsTooSoon(s subject) bool {
	guarded := s.job.Rig.Fastened() && !s.job.Site.Alone()
	return s.plan.RunDry.AtEnd < tooSoon && !guarded
}

func slipsAlone(s subject) bool {
	return s.job.Site.Alone() && !s.job.Rig.Fastened() && s.plan.RunDry.AtEnd < 2*s.job.Rig.WatchTime
}

func slipsSoon(s subject) bool { return len(checkReturnOff(s)) > 0 }

// longEnough gives the charge that leaves, at the planned end, enough above the
// unusable rest: what is needed has the whole reserve there.
func (s subject) longEnough() quantity.Volume {
	f := s.plan.Fluid
	return f.Needed - f.Reserve + f.Unusable + s.plan.Gross.Over(soon) + roundingOfCharge
}

func (s subject) fastened() proposal {
	return propose(say("fasten the return hose in the container"), "rig.return_fastened=true")
}

func (s subject) second() proposal {
	return propose(say("have a second person at the key"), "site.people=2")
}
