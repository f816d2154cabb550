package proof

import (
	"strings"
	"time"

	"daytank/planner/idletest"
	"daytank/planner/quantity"
	"daytank/procedures/record"
)

// Limits are when an after-test is due.
type Limits struct {
	Days     int
	Distance quantity.Distance
	Hours    quantity.Duration // of the engine
}

// Use is how far an engine has run.
type Use struct {
	Odometer    *quantity.Distance
	EngineHours *quantity.Duration
}

// Due is a job whose after-test is not in.
type Due struct {
	Job        string   `json:"job"`
	Name       string   `json:"name"`
	Asset      string   `json:"asset"`
	Ended      string   `json:"ended"` // when the clean ended
	Days       int      `json:"days"`
	Kilometres *float64 `json:"km"`           // driven since, where known
	Hours      *float64 `json:"engine_hours"` // run since, where known
	Due        bool     `json:"due"`
	Why        string   `json:"why"`
	Conditions []string `json:"conditions"` // that the test has to meet again
}

// DueOf gives what is known of a job's after-test; false where none is wanted: the
// clean was not run, or the test is in. Was is the use when the job was made, is that
// known last. The sentences are in the units of show.
func DueOf(r Record, name string, was, is Use, limits Limits, now time.Time, show quantity.Printer) (Due, bool) {
	if r.Ended == nil || r.Summary.State == record.StateRecalled {
		return Due{}, false
	}
	for _, t := range r.All() {
		if t.Phase == idletest.After {
			return Due{}, false
		}
	}
	d := Due{
		Job: r.Summary.Job.String(), Name: name, Asset: r.Summary.Asset, Ended: r.Ended.At.In(now.Location()).Format(time.RFC3339),
		Days: int(now.Sub(r.Ended.At).Hours() / 24), Conditions: conditions(r, show),
	}
	var why []string
	if d.Days >= limits.Days {
		why = append(why, show.Phrase(quantity.Say("%v days", d.Days)))
	}
	if was.Odometer != nil && is.Odometer != nil && *is.Odometer > *was.Odometer {
		driven := *is.Odometer - *was.Odometer
		km := driven.Kilometres()
		d.Kilometres = &km
		if driven >= limits.Distance {
			why = append(why, show.Distance(driven))
		}
	}
	if was.EngineHours != nil && is.EngineHours != nil && *is.EngineHours > *was.EngineHours {
		run := *is.EngineHours - *was.EngineHours
		h := run.Hours()
		d.Hours = &h
		if run >= limits.Hours {
			why = append(why, show.Duration(run))
		}
	}
	d.Due, d.Why = len(why) > 0, strings.Join(why, ", ")
	return d, true
}

// conditions gives what the tests before were taken under, one sentence each.
func conditions(r Record, show quantity.Printer) []string {
	said := []string{}
	add := func(s string) {
		for _, x := range said {
			if x == s {
				return
			}
		}
		said = append(said, s)
	}
	for _, t := range r.All() {
		if t.Phase != idletest.Before {
			continue
		}
		reduced := idletest.Reduce(t, idletest.Rules{})
		if c := reduced.Coolant; c != nil {
			at := c.Mean
			if t.State == idletest.Cold {
				at = t.Samples.Coolant.V[0]
			}
			add(show.Phrase(quantity.Say("%v: coolant at %v, within %v", string(t.State), quantity.Celsius(at), quantity.Kelvins(5))))
		} else {
			add(string(t.State) + ": as warm as before")
		}
		if t.Ambient != nil && t.State == idletest.Cold {
			add(show.Phrase(quantity.Say("cold: stood overnight; the air was at %v", *t.Ambient)))
		}
		for _, name := range sorted(t.Conditions) {
			add(name + ": " + t.Conditions[name])
		}
	}
	return said
}
