package safety

import (
	"daytank/planner/quantity"
)

var cleanInterval = Rule{
	ID:     "clean-interval",
	Title:  "how long ago the last clean was",
	Source: "common practice, no source: 10,000 km, 250 h or 6 months",
	When: []When{
		noteWhen("the last clean was less than %v, %v of running or 6 months ago, whichever is known", quantity.Kilometres(leastKilometres), quantity.Hours(leastHours)),
	},
	Why:   "What was cleaned so lately is hardly dirty again. If the symptom has come back, look for its cause before it is washed away once more.",
	Lifts: "Nothing has to be changed: it is for whoever decides.",
	check: checkCleanInterval,
}

const (
	leastKilometres = 10000
	leastHours      = 250
	leastDays       = 182
)

func checkCleanInterval(s subject) []Finding {
	last := s.job.LastClean
	if last == nil {
		return nil
	}
	days := s.job.Date.DaysSince(last.On)
	if s.job.Odometer != nil && last.Odometer != nil {
		if driven := *s.job.Odometer - *last.Odometer; driven < quantity.Kilometres(leastKilometres) {
			return []Finding{note("the last clean was %v ago, under %v", driven, quantity.Kilometres(leastKilometres))}
		}
	}
	if s.job.EngineHours != nil && last.EngineHours != nil {
		if run := *s.job.EngineHours - *last.EngineHours; run < quantity.Hours(leastHours) {
			return []Finding{note("the last clean was %v of running ago, under %v", run, quantity.Hours(leastHours))}
		}
	}
	if days < leastDays {
		return []Finding{note("the last clean was %v days ago, under 6 months", days)}
	}
	return nil
}
