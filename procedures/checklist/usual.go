package checklist

import (
	"slices"

	"daytank/procedures"
	"daytank/procedures/record"
)

// Times is how long each step of one walk took, in milliseconds, all its goes
// together.
type Times map[string]int64

// How many walks the usual times are taken from: the last of them, once there are
// enough.
const (
	WalksCounted = 10
	walksNeeded  = 5
)

// TimesOf gives how long each step took that was done in a record. What was skipped
// says nothing, nor does a job that was entered from paper.
func TimesOf(events []record.Event) (Times, error) {
	times, done := Times{}, map[string]bool{}
	step, began := "", record.Stamp{} // under way; zero while the work rests
	count := func(at record.Stamp) {
		if step != "" {
			times[step] += elapsedMS(began, at)
		}
		began = at
	}
	for _, e := range events {
		body, err := e.Decode()
		if err != nil {
			return nil, err
		}
		at := record.Stamp{At: e.At, MonoMS: e.MonoMS, Run: e.Run, By: e.By}
		switch b := body.(type) {
		case record.Transcribed: // what entering it takes says nothing
			return Times{}, nil
		case record.StepStarted:
			step, began = b.Step, at
		case record.StepDone:
			count(at)
			step, done[b.Step] = "", true
		case record.StepReopened:
			if b.Step == step {
				count(at)
				step = ""
			}
			done[b.Step] = false
		case record.Paused, record.Emergency: // the time until it is taken up is nobody's
			count(at)
			began = record.Stamp{}
		case record.Resumed:
			began = at
		}
	}
	for step := range times {
		if !done[step] {
			delete(times, step)
		}
	}
	return times, nil
}

// median gives the median of what some steps took together in the walks that have them
// all; false with too few of these.
func median(walks []Times, steps []string) (int64, bool) {
	var sums []int64
	for _, w := range walks[:min(len(walks), WalksCounted)] {
		sum, all := int64(0), true
		for _, s := range steps {
			ms, ok := w[s]
			sum, all = sum+ms, all && ok
		}
		if all {
			sums = append(sums, sum)
		}
	}
	if len(sums) < walksNeeded {
		return 0, false
	}
	slices.Sort(sums)
	n := len(sums)
	return (sums[(n-1)/2] + sums[n/2]) / 2, true
}

// usual writes into the steps what they usually take in this shop. A group counts as
// one: its first step that is needed has the time of all. How long the run takes is
// the plan's to say.
func (l *Checklist) usual(walks []Times) {
	groups := map[string][]string{}
	for _, s := range l.Steps {
		if s.Needed && s.Group != "" {
			groups[s.Group] = append(groups[s.Group], s.ID)
		}
	}
	for i := range l.Steps {
		s := &l.Steps[i]
		steps := []string{s.ID}
		if g := groups[s.Group]; len(g) > 0 {
			steps = g
		}
		if s.Kind == procedures.Run {
			continue
		}
		if ms, ok := median(walks, steps); ok {
			s.UsualMS = ms
		}
	}
}
