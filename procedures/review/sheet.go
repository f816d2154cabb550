package review

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"daytank/procedures/checklist"
	"daytank/procedures/record"
)

// Remark is what a reviewer sent a job back for, with what was explained since.
type Remark struct {
	Step, Text string
	By         string // who sent it back
	Explained  []string
}

// Remarks gives those of each time that a job was sent back, in their order. An
// explanation of a step goes to the remarks on that step, one of the whole job to those on
// the whole.
func Remarks(events []record.Event) ([]Remark, error) {
	var all []Remark
	for _, e := range events {
		switch e.Kind {
		case record.KindSentBack:
			b, err := record.As[record.SentBack](e)
			if err != nil {
				return nil, err
			}
			for _, r := range b.Remarks {
				all = append(all, Remark{Step: r.Step, Text: r.Text, By: e.By})
			}
		case record.KindExplained:
			b, err := record.As[record.Explained](e)
			if err != nil {
				return nil, err
			}
			for i := range all {
				if all[i].Step == b.Step {
					all[i].Explained = append(all[i].Explained, e.By+": "+b.Text)
				}
			}
		}
	}
	return all, nil
}

// Due tells which sign-off a job waits for: of the work, of the result, or none. The
// result is signed once the work is and an after-test is in.
func Due(state record.State, standings []Standing) string {
	if state != record.StateToReview {
		return ""
	}
	for _, s := range standings {
		if s.SignOff.Which == record.SignOffWork && s.Valid() {
			return record.SignOffResult
		}
	}
	return record.SignOffWork
}

// Refusal gives why somebody may not sign a job now; empty: they may.
func Refusal(principal string, events []record.Event, state checklist.State, due string) string {
	switch {
	case due == "":
		return "it does not wait for a sign-off"
	case Worked(Workers(events), principal):
		return principal + " did work of this job: the signature is another's"
	case len(state.List().Stops) > 0:
		return "the plan as it stands has a stop: " + state.List().Stops[0].Message
	}
	return ""
}

// mostDifferent is how far a number may be from that of the last job, as a part of it,
// without being said.
const mostDifferent = 0.25

// Differences says in what a job differs from another one of the same asset: procedure,
// run, charge, answers and numbers.
func Differences(now, before checklist.State) []string {
	var all []string
	note := func(what, is, was string) {
		if is != was {
			all = append(all, fmt.Sprintf("%s: %s, then %s", what, orNothing(is), orNothing(was)))
		}
	}
	a, b := now.List(), before.List()
	note("procedure", a.Procedure, b.Procedure)
	note("run", runWords(a.Run), runWords(b.Run))
	for _, s := range a.Sitting() {
		other, ok := b.Step(s.ID)
		if !ok || !other.Needed {
			all = append(all, "step that was not in it then: "+short(s.Say))
			continue
		}
		if is, was := now.StatusOf(s), before.StatusOf(other); is != was && (is == checklist.Skipped || was == checklist.Skipped) {
			note(short(s.Say), string(is), string(was))
			continue
		}
		is, was := now.AnswerOf(s.ID), before.AnswerOf(s.ID)
		switch {
		case s.Value != nil && !s.Value.Text:
			if far(is, was) {
				note(short(s.Say), is, was)
			}
		case len(s.Options) > 0:
			note(short(s.Say), is, was)
		}
	}
	for _, s := range b.Sitting() {
		if other, ok := a.Step(s.ID); !ok || !other.Needed {
			all = append(all, "step of then that is not in it: "+short(s.Say))
		}
	}
	return all
}

func orNothing(text string) string {
	if text == "" {
		return "nothing"
	}
	return text
}

// far tells whether two numbers with units are far apart.
func far(a, b string) bool {
	x, okX := leading(a)
	y, okY := leading(b)
	if !okX || !okY {
		return a != b
	}
	return math.Abs(x-y) > mostDifferent*math.Max(math.Abs(x), math.Abs(y))
}

func leading(text string) (float64, bool) {
	first, _, _ := strings.Cut(text, " ")
	x, err := strconv.ParseFloat(first, 64)
	return x, err == nil
}

func runWords(r checklist.Run) string {
	var parts []string
	for _, s := range r.Stages {
		parts = append(parts, checklist.Clock(s.LengthMS)+" "+s.What)
	}
	return strings.Join(parts, ", ")
}

// LastSigned gives the newest job of those given that is signed, other than the one
// named; they are in the order of lists, the newest first.
func LastSigned(jobs []record.Summary, than record.Summary) (record.Summary, bool) {
	i := slices.IndexFunc(jobs, func(s record.Summary) bool {
		return s.Job != than.Job && s.State == record.StateSigned && s.Created.Before(than.Created)
	})
	if i < 0 {
		return record.Summary{}, false
	}
	return jobs[i], true
}
