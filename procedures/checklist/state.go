package checklist

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/google/uuid"

	"daytank/planner"
	"daytank/procedures"
	"daytank/procedures/record"
	"daytank/safety"
)

// Status is how far a step is.
type Status string

// Statuses, in the words that are shown.
const (
	Open      Status = "open"
	Now       Status = "now"
	Done      Status = "done"
	Skipped   Status = "skipped"
	NotNeeded Status = "not needed"
)

// progress is what has happened to one step.
type progress struct {
	status   Status
	started  record.Stamp // since it last became the active one
	takenMS  int64        // of all its goes that have ended
	answer   string       // the last one, as it is shown
	proof    *given       // of a demand
	value    string       // of a value step
	entry    entry        // where that stands
	entered  bool         // since the step was last opened
	released bool         // hold point
	timer    *record.Stamp
	fields   []record.TestReading
	choice   string
}

// given is a raw answer to a demand, which is judged again whenever it counts.
type given struct{ text, shown string }

// State is how far a walk is. It is made by [Replay] and changed only by
// events; a copy is taken before each change.
type State struct {
	planned Planned
	job     uuid.UUID
	seq     int64
	last    record.Stamp // of the last event

	steps        map[string]progress
	acknowledged map[string]string // by key, with the words typed
	mending      string            // branch under way
	mendingFor   string            // the choice that led into it
	mended       map[string]int
	halted       string          // why the walk must not go on
	logged       map[string]bool // phase and state of idle tests that were added with their samples
	run          engineRun
	ran          Ran // by the runs that have ended

	walking, emergency, paused, review bool
	paper                              bool // what follows was done on paper
	papered                            bool // something was
	sentBack                           bool // from the review, and nothing was reopened since
}

// Replay gives the state that the events of a job have led to, with the plan
// that is valid now. Nothing but the events counts: two processes that replay
// the same record are in the same state.
func Replay(planned Planned, job uuid.UUID, events []record.Event) (State, error) {
	s := State{
		planned: planned, job: job,
		steps: map[string]progress{}, acknowledged: map[string]string{}, mended: map[string]int{}, logged: map[string]bool{},
	}
	for _, e := range events {
		body, err := e.Decode()
		if err != nil {
			return s, err
		}
		s.apply(record.Stamp{At: e.At, MonoMS: e.MonoMS, Run: e.Run, By: e.By}, body)
	}
	return s, nil
}

// clone gives a copy that can be changed without the original.
func (s State) clone() State {
	s.steps = maps.Clone(s.steps)
	s.acknowledged = maps.Clone(s.acknowledged)
	s.mended = maps.Clone(s.mended)
	s.logged = maps.Clone(s.logged)
	s.run.readings, s.run.seqs, s.run.starts = slices.Clone(s.run.readings), slices.Clone(s.run.seqs), slices.Clone(s.run.starts)
	return s
}

// List gives the checklist that is walked.
func (s State) List() Checklist { return s.planned.List }

// Job gives the job as the answers so far have made it.
func (s State) Job() planner.Job { return s.planned.Basis.Job }

// Readings gives the readings of the run, corrected ones as they are right.
func (s State) Readings() []record.Reading { return slices.Clone(s.run.readings) }

// SentBack tells whether the review sent the job back and no step was opened for it: it
// is to be explained, corrected or reopened.
func (s State) SentBack() bool { return s.sentBack }

// Finished tells whether the sitting is done and the job to be reviewed.
func (s State) Finished() bool { return s.review }

// StatusOf gives how far a step is.
func (s State) StatusOf(step Step) Status {
	if !step.Needed {
		return NotNeeded
	}
	p := s.steps[step.ID]
	if p.status == "" {
		return Open
	}
	return p.status
}

// AnswerOf gives the last answer to a step as it is shown, empty without one.
func (s State) AnswerOf(step string) string { return s.steps[step].answer }

// TakenMS gives how long a step has taken so far, in milliseconds.
func (s State) TakenMS(step string) int64 { return s.steps[step].takenMS }

// apply changes the state by one event.
func (s *State) apply(at record.Stamp, body record.Body) {
	s.seq++
	switch b := body.(type) {
	case record.StepStarted:
		s.walking = true
		s.update(b.Step, func(p *progress) { p.status, p.started = Now, at })
	case record.StepDone:
		s.finish(b.Step, Done, at)
	case record.StepSkipped:
		s.finish(b.Step, Skipped, at)
		s.update(b.Step, func(p *progress) { p.answer = b.Reason })
	case record.StepReopened:
		s.sentBack = false
		s.reopen(b.Step, at)
	case record.Acknowledged:
		s.acknowledged[b.Key] = b.Words
	case record.Cleared:
		s.update(b.Step, func(p *progress) {
			p.proof, p.answer = &given{b.Answer, s.shownAt(b.Step, b.Shown)}, b.Answer
			if b.Shown != "" && strings.ReplaceAll(b.Answer, " ", "") == b.Shown {
				p.answer = "the digits " + b.Answer // which are no reading
			}
		})
	case record.HoldReleased:
		s.update(b.Step, func(p *progress) { p.released = true })
	case record.Value:
		s.applyValue(b)
	case record.Corrected:
		s.applyCorrected(b)
	case record.Choice:
		s.applyChoice(b)
	case record.Timer:
		s.applyTimer(b, at)
	case record.TestAdded:
		if !b.Samples.IsZero() {
			s.logged[b.Phase+" "+b.State] = true
		}
	case record.Emergency:
		s.emergency = true
		s.rest(at)
		s.run.cutBy(at)
	case record.Paused:
		s.paused = true
		s.rest(at)
	case record.Resumed:
		s.resume(at)
	case record.Clock:
		s.run.resumed, s.run.unlooked = true, true
	case record.Transcribed:
		s.paper, s.papered = true, true
	case record.ReadyForReview:
		s.review, s.sentBack, s.paper = true, false, false // what the review opens again is done anew
	case record.SentBack:
		s.review, s.sentBack = false, true
	default:
		s.applyRun(at, body)
	}
	s.last = at
}

// applyRun changes the run by one event. A stage on paper began by the plan, not when it was
// entered.
func (s *State) applyRun(at record.Stamp, body record.Body) {
	s.run.apply(at, s.seq, body)
	if ended, is := body.(record.RunEnded); is {
		s.ranUntil(ended, at.At)
	}
	if _, is := body.(record.Stage); is && s.paper {
		s.run.stageMS = s.planned.List.Run.startMS(s.run.stage)
		s.run.starts[len(s.run.starts)-1] = s.run.stageMS
	}
}

// resume ends a break or an emergency. A mending under way when an emergency
// was called is given up.
func (s *State) resume(at record.Stamp) {
	if s.emergency {
		s.mending, s.mendingFor = "", ""
	}
	s.paused, s.emergency, s.run.resumed, s.run.unlooked = false, false, true, true
	for id, p := range s.steps {
		if p.status == Now {
			p.started = at
			s.steps[id] = p
		}
	}
}

// rest counts what the step under way has taken until the work rests: a break is
// nobody's time.
func (s *State) rest(at record.Stamp) {
	for id, p := range s.steps {
		if p.status == Now {
			if !s.paper {
				p.takenMS += elapsedMS(p.started, at)
			}
			p.started = record.Stamp{}
			s.steps[id] = p
		}
	}
}

// shownAt gives the digits if they are those that were due at this place of the
// record; others prove nothing.
func (s *State) shownAt(step, shown string) string {
	if shown == safety.Digits(s.job.String(), step, s.seq-1) {
		return shown
	}
	return ""
}

func (s *State) update(step string, change func(*progress)) {
	p := s.steps[step]
	change(&p)
	s.steps[step] = p
}

func (s *State) finish(step string, as Status, at record.Stamp) {
	s.update(step, func(p *progress) {
		if !s.paper { // what entering it takes is not what doing it took
			p.takenMS += elapsedMS(p.started, at)
		}
		p.status = as
	})
	if b, mending := s.planned.List.branch(s.mending); mending && b.last() == step {
		s.reopen(s.mendingFor, at)
		s.mending, s.mendingFor = "", ""
	}
}

// reopen makes a step open again. What it took so far stays counted.
func (s *State) reopen(step string, at record.Stamp) {
	if s.steps[step].status == Now && !s.paper {
		s.update(step, func(p *progress) { p.takenMS += elapsedMS(p.started, at) })
	}
	if s.steps[step].choice != "" {
		s.halted = ""
	}
	s.update(step, func(p *progress) {
		*p = progress{status: Open, takenMS: p.takenMS, answer: p.answer, value: p.value, entry: p.entry}
	})
	if def, ok := s.planned.List.Step(step); ok && def.Kind == procedures.Run {
		s.run = engineRun{}
	}
}

func (s *State) applyValue(b record.Value) {
	s.update(b.Step, func(p *progress) {
		p.answer = strings.TrimSpace(b.Text + " " + b.Unit)
		p.value, p.entry, p.entered = b.Text, entry{s.seq, b.Unit}, true
		if b.Field != "" {
			p.fields = append(slices.Clone(p.fields), record.TestReading{Channel: b.Field, Text: b.Text, Unit: b.Unit})
		}
	})
}

func (s *State) applyChoice(b record.Choice) {
	s.update(b.Step, func(p *progress) { p.choice, p.answer = b.Option, b.Option })
	branch, mends := strings.CutPrefix(b.Goes, "mend:")
	switch {
	case mends:
		s.mend(branch, b.Step)
	case b.Goes == "stop":
		def, _ := s.planned.List.Step(b.Step)
		s.halted = fmt.Sprintf("%s: %s", strings.TrimRight(def.Say, "."), s.optionText(def, b.Option))
	}
}

// mend leads into a branch, its steps open again; once its limit is reached the
// walk halts instead.
func (s *State) mend(branch, from string) {
	def, _ := s.planned.List.branch(branch)
	if s.mended[branch] >= def.Limit {
		s.halted = fmt.Sprintf("%s has been tried %d times", def.Title, def.Limit)
		return
	}
	s.mended[branch]++
	s.mending, s.mendingFor = branch, from
	s.update(from, func(p *progress) { p.status = Open })
	for _, step := range def.Steps {
		s.update(step.ID, func(p *progress) { *p = progress{takenMS: p.takenMS} })
	}
}

func (s *State) optionText(step Step, key string) string {
	for _, o := range step.Options {
		if o.Key == key {
			return o.Say
		}
	}
	return key
}

func (s *State) applyTimer(b record.Timer, at record.Stamp) {
	s.update(b.Step, func(p *progress) {
		if b.Mark == record.MarkStarted {
			p.timer = &at
		}
	})
}

// elapsedMS gives the time between two moments: the larger of wall and
// monotonic clock where one process saw both, and never below zero.
func elapsedMS(from, to record.Stamp) int64 {
	if from.At.IsZero() {
		return 0
	}
	wall := to.At.Sub(from.At).Milliseconds()
	if from.Run == to.Run && from.Run != (uuid.UUID{}) {
		return max(0, wall, to.MonoMS-from.MonoMS)
	}
	return max(0, wall)
}

// waitedMS gives the time that has surely passed: the smaller of the two
// clocks, so that a clock set forward ends no wait.
func waitedMS(from, to record.Stamp) int64 {
	if from.At.IsZero() {
		return 0
	}
	wall := to.At.Sub(from.At).Milliseconds()
	if from.Run == to.Run && from.Run != (uuid.UUID{}) {
		wall = min(wall, to.MonoMS-from.MonoMS)
	}
	return max(0, wall)
}

// active gives the step that is to be done now.
func (s State) active() (Step, bool) {
	steps := s.planned.List.Sitting()
	if s.run.running {
		for _, step := range steps {
			if step.Kind == procedures.Run {
				return step, true
			}
		}
	}
	if s.mending != "" {
		b, _ := s.planned.List.branch(s.mending)
		steps = b.Steps
	}
	for _, step := range steps {
		if !step.Needed {
			continue
		}
		if status := s.StatusOf(step); status != Done && status != Skipped {
			return step, true
		}
	}
	return Step{}, false
}

// Planned gives the plan that is valid now, with its checklist.
func (s State) Planned() Planned { return s.planned }
