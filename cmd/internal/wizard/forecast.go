package wizard

import (
	"fmt"
	"slices"
	"strings"

	"daytank/planner"
	"daytank/planner/quantity"
	"daytank/procedures/checklist"
	"daytank/procedures/report"
	"daytank/safety"
)

// Forecast is the plan as far as it can be made.
type Forecast struct {
	Open     []Question // without which there is no plan
	Problems []string   // of the answers together
	Job      planner.Job
	Planned  checklist.Planned
	Known    bool // there is a procedure to walk
	Made     bool
}

// Forecast plans what the draft says.
func (s *Session) Forecast() Forecast {
	if s.forecast == nil {
		f := s.plan()
		s.forecast = &f
	}
	return *s.forecast
}

func (s *Session) plan() Forecast {
	var f Forecast
	for _, q := range questions() {
		if _, stands := s.Standing(q); q.Required() && !stands && q.arises(s.view) {
			f.Open = append(f.Open, q)
		}
	}
	job, err := s.read(s.kept.job)
	if err != nil {
		for _, p := range s.problems(s.kept.job) {
			if p.Message != missing || len(f.Open) == 0 {
				f.Problems = append(f.Problems, (Question{}).about(p)+p.Message)
			}
		}
		return f
	}
	f.Job, f.Made = job, true
	f.Planned, f.Known, err = s.Prepare(job)
	if err != nil {
		f.Problems = append(f.Problems, err.Error())
	}
	return f
}

// Ready tells whether the plan has no stop.
func (f Forecast) Ready() bool { return f.Made && f.Planned.Assessment.Ready }

// Stops gives the stops of the plan.
func (f Forecast) Stops() []safety.Finding { return f.Planned.Assessment.Of(safety.Stop) }

// Write writes the plan for a person.
func (f Forecast) Write(b *strings.Builder, columns int, show quantity.Printer) {
	var list *checklist.Checklist
	if f.Known {
		list = &f.Planned.List
	}
	report.PlanTextIn(b, columns, f.Job, f.Planned.Plan, f.Planned.Assessment, list, show)
}

// lifted is what a draft was before something in it was lifted, and how that is said.
type lifted struct {
	before Draft
	lift   quantity.Phrase
}

// Unlift takes the last lift back, and gives how it was said. There is none once anything
// else was answered.
func (s *Session) Unlift() (quantity.Phrase, error) {
	if len(s.lifted) == 0 {
		return quantity.Phrase{}, Refusal{"nothing was lifted since the last answer"}
	}
	rest, last := s.lifted[:len(s.lifted)-1], s.lifted[len(s.lifted)-1]
	// What is no answer stays as it is now.
	before, now := last.before.copied(), s.kept.Draft
	before.Page, before.More, before.DoneBy = now.Page, slices.Clone(now.More), now.DoneBy
	if err := s.store(before); err != nil {
		return quantity.Phrase{}, err
	}
	s.lifted = rest
	return last.lift, nil
}

// Lift makes the changes that lift a finding, and stores them.
func (s *Session) Lift(f safety.Finding) error {
	if len(f.Set) == 0 {
		return Refusal{"nothing in the answers lifts this one: " + s.Printer.Phrase(f.Lift)}
	}
	before, next := s.kept.Draft.copied(), s.kept.Draft.copied()
	for _, set := range f.Set {
		path, value, _ := strings.Cut(set, "=")
		e := Edit{Path: path, Text: value, Fragment: true, Away: strings.TrimSpace(value) == ""}
		if err := change(next.job, e); err != nil {
			return fmt.Errorf("lift %s: %w", f.Rule, err)
		}
	}
	next.settled(Question{}, s)
	if found := s.problems(next.job); len(found) > 0 {
		return fmt.Errorf("lift %s: %w", f.Rule, found)
	}
	if err := s.store(next); err != nil {
		return err
	}
	s.lifted = append(s.lifted, lifted{before, f.Lift})
	return nil
}
