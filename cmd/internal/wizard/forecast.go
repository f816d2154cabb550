package wizard

import (
	"fmt"
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

// Lift makes the changes that lift a finding, and stores them.
func (s *Session) Lift(f safety.Finding) error {
	if len(f.Set) == 0 {
		return Refusal{"nothing in the answers lifts this one: " + s.Printer.Phrase(f.Lift)}
	}
	next := s.kept.Draft.copied()
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
	return s.store(next)
}
