package checklist

import (
	"slices"
	"time"

	"daytank/procedures"
	"daytank/safety"
)

// proved tells whether a step's demand is met, by what was typed for it.
func (s State) proved(step Step) bool {
	p := s.steps[step.ID].proof
	if p == nil || step.Demand == nil {
		return false
	}
	c, err := safety.Clear(*step.Demand, s.job.String(), step.ID, safety.Answer{
		Text: p.text, Digits: p.shown, Earlier: s.earlier(step),
	})
	return err == nil && c.Covers(s.job.String(), step.ID)
}

func (s State) earlier(step Step) string {
	if step.Demand == nil || step.Demand.Number == nil {
		return ""
	}
	return s.steps[step.Demand.Number.Equals].value
}

// reliedOn gives the steps whose proofs still carry the work: done, with an end
// of the reliance that is not done yet.
func (s State) reliedOn() []Step {
	if s.paper {
		return nil
	}
	var all []Step
	for _, step := range s.planned.List.Sitting() {
		if step.Kind != procedures.Confirm || s.StatusOf(step) != Done || step.Until == "" {
			continue
		}
		end, ok := s.planned.List.Step(step.Until)
		if status := s.StatusOf(end); ok && status != Done && status != Skipped {
			all = append(all, step)
		}
	}
	return all
}

// longestBreak is how long the work may rest, outside planned waits, before
// what was proved must be proved again.
const longestBreak = 30 * time.Minute

// plannedWaitMS gives how much of a planned wait was left when the last event
// was written: a timer, or a soak of the run.
func (s State) plannedWaitMS() int64 {
	step, ok := s.active()
	if !ok {
		return 0
	}
	p := s.steps[step.ID]
	switch {
	case step.Kind == procedures.Timer && p.timer != nil:
		return max(0, max(step.WaitMS, step.AtMostMS)-elapsedMS(*p.timer, s.last))
	case step.Kind == procedures.Run:
		return s.run.soakLeftMS(s.planned.List.Run, s.last)
	}
	return 0
}

// Proved tells whether the demand of a step is met, by what was typed for it.
func (s State) Proved(step Step) bool { return s.proved(step) }

// ReliesOn tells whether the work still relies on the proof of a step.
func (s State) ReliesOn(step Step) bool {
	return slices.ContainsFunc(s.reliedOn(), func(x Step) bool { return x.ID == step.ID })
}
