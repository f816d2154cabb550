package safety

import (
	"fmt"
	"math"

	"daytank/planner/quantity"
)

var feedPressure = Rule{
	ID:     "feed-pressure",
	Title:  "whether the high-pressure pump gets fed",
	Source: "common practice, no source",
	When: []When{
		stopWhen("the feed pump gives less than the pressure that the engine wants"),
		stopWhen("the engine wants feed pressure, and nothing on the rig gives it"),
		stopWhen("the rig has no feed pump, the vehicle's tank pump is the one that feeds, and the high-pressure pump does not draw for itself, or nobody says that it does"),
	},
	Why:   "The pump in the tank is made dead for the work. A high-pressure pump that does not draw for itself then gets nothing: the engine does not start, or the pump is ruined while it tries.",
	Lifts: "Find out whether it draws for itself; if not, an electric feed pump between container and engine.",
	check: checkFeedPressure,
}

// The feed pump that is proposed where no figure of the engine asks for more
// (common practice, no source).
const (
	usualFeedPressure = quantity.Pressure(400e3)
	usualFeedFlow     = quantity.Flow(60e-3 / 3600)
)

func checkFeedPressure(s subject) []Finding {
	e := s.job.Engine
	wants := quantity.Pressure(0)
	if e.FeedPressureNeeded != nil {
		wants = *e.FeedPressureNeeded
	}
	var found Finding
	switch pumped := s.job.Rig.Feed == "pump"; {
	case pumped && s.job.Rig.FeedPump.Pressure < wants:
		found = stop("the feed pump gives %v, and this engine wants %v", s.job.Rig.FeedPump.Pressure, wants).
			liftedBy("a feed pump of the vehicle maker's feed pressure")
	case pumped:
		return nil
	case wants > 0:
		found = stop("this engine wants %v of feed pressure, and nothing on the rig gives it", wants).
			liftedBy("an electric feed pump between container and engine")
	case e.Layout.NeedsFeedPressure && e.OwnFeedPump == nil:
		found = stop("the vehicle's tank pump will be dead, and it is not stated that the high-pressure pump draws for itself").
			liftedBy("find out whether it draws for itself (engine.own_feed_pump: true), or use a feed pump")
	case e.Layout.NeedsFeedPressure && !*e.OwnFeedPump:
		found = stop("the vehicle's tank pump will be dead, and the high-pressure pump does not draw for itself").
			liftedBy("an electric feed pump between container and engine")
	default:
		return nil
	}
	return []Finding{s.lifted(found, starves, append([]proposal{s.feedPump(wants)}, s.coolings()...)...)}
}

func starves(s subject) bool { return len(checkFeedPressure(s)) > 0 }

// feedPump proposes a pump of the pressure that is wanted and the flow that the
// supply hose must carry, or that of the pump that is there; with it a hose that
// stands the pressure, where the present one does not.
func (s subject) feedPump(wants quantity.Pressure) proposal {
	flow := max(usualFeedFlow, s.plan.Gross)
	if s.job.Rig.Feed == "pump" {
		flow = s.job.Rig.FeedPump.Flow
	}
	kilopascals := math.Ceil(max(usualFeedPressure, wants).Kilopascals())
	litresPerHour := math.Ceil(flow.LitresPerHour()/10-1e-9) * 10
	pump := propose(say("an electric feed pump of %v and %v between container and engine, set to the vehicle maker's feed pressure",
		quantity.Kilopascals(kilopascals), quantity.LitresPerHour(litresPerHour)),
		"rig.feed=pump", fmt.Sprintf("rig.feed_pump={pressure: %.0f kPa, flow: %.0f L/h}", kilopascals, litresPerHour))
	if quantity.Kilopascals(kilopascals) <= s.workingPressure() {
		return pump
	}
	return together(pump, s.strongerHose(kilopascals))
}
