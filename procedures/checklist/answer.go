package checklist

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"daytank/procedures/record"
	"daytank/safety"
)

// Verb is what a person wants to do at an [Ask].
type Verb string

// Verbs.
const (
	Enter     Verb = "answer" // with the text typed
	Back      Verb = "back"   // to the step named, or the one before
	Skip      Verb = "skip"   // with a reason
	AddNote   Verb = "note"
	LeaveSafe Verb = "leave safe" // with a reason
	CallOut   Verb = "emergency"
	EndRun    Verb = "end run" // before its planned end, with a reason
	Correct   Verb = "correct" // an entry that was wrong: which; what is right; why
	Deviate   Verb = "deviate" // something done otherwise than the procedure says
	AddPhoto  Verb = "photo"   // Text is the name of the file, Photo its bytes
)

// Input is what was typed.
type Input struct {
	Do    Verb
	Text  string
	Photo record.Blob

	// Proved says that the person named at a hold point has shown who they are, by
	// a PIN or a key. What they typed for it is not kept.
	Proved bool
}

// Outcome is what follows from an answer: what is to be stored, all of it
// before anything is shown, and the state after it.
type Outcome struct {
	At     record.Stamp // of all of it
	Bodies []record.Body
	Blobs  []record.Blob
	State  State
}

// turn gathers the events of one answer while it applies them to a copy.
type turn struct {
	State
	at     record.Stamp
	bodies []record.Body
	blobs  []record.Blob
}

func (s State) turn(at record.Stamp) *turn { return &turn{State: s.clone(), at: at} }

// do notes an event and applies it.
func (t *turn) do(body record.Body) {
	if a, is := body.(record.Alarm); is {
		a.Mild = !switchesOff(a.Name)
		body = a
	}
	t.bodies = append(t.bodies, body)
	t.apply(t.at, body)
}

func (t *turn) outcome() Outcome { return Outcome{t.at, t.bodies, t.blobs, t.State} }

func safetyRefusal(format string, args ...any) error {
	return safety.Refusal{Reason: fmt.Sprintf(format, args...)}
}

// Answer judges what was typed at a moment. The error is a [safety.Refusal] in
// words for the person who typed it; then nothing has changed, but that something seen
// which proves nothing is to be kept: the outcome has it.
func (s State) Answer(in Input, at record.Stamp) (Outcome, error) {
	t := s.turn(at)
	a := s.Ask(at)
	text := strings.TrimSpace(in.Text)
	var err error
	switch in.Do {
	case AddNote:
		err = t.note(a, text)
	case LeaveSafe:
		t.do(record.Paused{Reason: text})
		return t.outcome(), nil
	case CallOut:
		t.do(record.Emergency{})
		t.do(record.Stopped{Reason: "emergency"})
		return t.outcome(), nil
	case Skip:
		err = t.skip(a, text)
	case Back:
		err = t.back(a, text)
	case EndRun:
		err = t.endRunEarly(a, text)
	case Correct:
		err = t.correct(text)
	case Deviate:
		err = t.deviate(a, text)
	case AddPhoto:
		err = t.photo(a, text, in.Photo)
	default:
		err = t.enter(a, text, in.Proved)
	}
	var seen notProved
	if errors.As(err, &seen) { // what was seen is kept, and refused
		return t.outcome(), safety.Refusal{Reason: seen.Error()}
	}
	if err != nil {
		return Outcome{}, err
	}
	t.settle()
	return t.outcome(), nil
}

func (t *turn) note(a Ask, text string) error {
	if text == "" {
		return safetyRefusal("a note has some words")
	}
	t.do(record.Note{Step: a.Step.ID, Text: text})
	return nil
}

func (t *turn) skip(a Ask, reason string) error {
	switch {
	case a.Step.ID == "" || a.Kind == AskBlocked:
		return safetyRefusal("there is nothing here that can be skipped")
	case t.run.running:
		return safetyRefusal("the run is under way: end it first")
	case !a.Optional:
		return safetyRefusal("this step cannot be skipped: go back, or leave it safe")
	case safety.TooEasy(reason):
		return safetyRefusal("skipping needs a reason in words")
	}
	t.do(record.StepSkipped{Step: a.Step.ID, Reason: reason})
	return nil
}

// back reopens a step that was done: the one before the active one, or the one
// named by its number or its id. The active one waits; what was done between
// stays done.
func (t *turn) back(a Ask, to string) error {
	if t.run.running {
		return safetyRefusal("the engine is in its run: end the run first")
	}
	if t.mending != "" {
		return safetyRefusal("finish the mending first, or leave it safe")
	}
	if a.Kind == AskBlocked && t.halted != "" && to == "" {
		t.do(record.StepReopened{Step: a.Step.ID, Reason: "went back"})
		return nil
	}
	step, err := t.stepBack(a, to)
	if err != nil {
		return err
	}
	if t.steps[a.Step.ID].status == Now {
		t.do(record.StepReopened{Step: a.Step.ID, Reason: "went back"})
	}
	t.do(record.StepReopened{Step: step, Reason: "went back"})
	return nil
}

// stepBack finds the step to go back to.
func (t *turn) stepBack(a Ask, to string) (string, error) {
	before := ""
	for i, step := range t.planned.List.Sitting() {
		finished := t.StatusOf(step) == Done || t.StatusOf(step) == Skipped
		if to != "" && (to == step.ID || to == strconv.Itoa(i+1)) {
			if !finished {
				return "", safetyRefusal("step %d is not done yet", i+1)
			}
			return step.ID, nil
		}
		if step.ID == a.Step.ID {
			break
		}
		if finished {
			before = step.ID
		}
	}
	switch {
	case to != "":
		return "", safetyRefusal("%q is no step before this one", to)
	case before == "":
		return "", safetyRefusal("this is the first step")
	}
	return before, nil
}

func (t *turn) enter(a Ask, text string, proved bool) error {
	if t.paper {
		return t.paperAnswer(a, text)
	}
	switch a.Kind {
	case AskAcknowledge:
		return t.acknowledge(a, text)
	case AskBlocked:
		return safetyRefusal("it does not go on from here: %s", a.Reason)
	case AskTick:
		return t.tick(a, text)
	case AskProof:
		return t.prove(a, text)
	case AskValue, AskWords:
		return t.value(a, text)
	case AskChoice:
		return t.choose(a, text)
	case AskWait:
		return t.waited(a)
	case AskCool:
		return t.cooled(a, text)
	case AskRelease, AskSelfCheck:
		return t.release(a, text, proved)
	case AskTest:
		return t.testValue(a, text)
	case AskRun:
		return t.runAnswer(a, text)
	}
	return safetyRefusal("there is nothing left to answer")
}

func (t *turn) acknowledge(a Ask, text string) error {
	digits := strings.ReplaceAll(text, " ", "") == a.Digits
	if !digits && !saysSomething(text) {
		return safetyRefusal("say in a few words of your own what you will do about it, or type the three digits that stand there, %s", spaced(a.Digits))
	}
	for _, said := range t.acknowledged {
		if !digits && strings.EqualFold(said, text) {
			return safetyRefusal("that was said of another caution: say what you will do about this one")
		}
	}
	if digits {
		text = "digits " + a.Digits
	}
	t.do(record.Acknowledged{Rule: a.Finding.Rule, Key: a.Finding.Key, Message: a.Finding.Message, Words: text})
	return nil
}

// How much an acknowledgement says at least: so many different words of so many letters.
const (
	leastWords   = 2
	leastLetters = 3
)

func saysSomething(text string) bool {
	words := map[string]bool{}
	for _, w := range strings.Fields(strings.ToLower(text)) {
		if utf8.RuneCountInString(w) >= leastLetters {
			words[w] = true
		}
	}
	return len(words) >= leastWords
}

func spaced(digits string) string { return strings.Join(strings.Split(digits, ""), " ") }

func (t *turn) tick(a Ask, text string) error {
	switch strings.ToLower(text) {
	case "", "1", "d", "done":
		t.finishOrHold(a.Step)
		return nil
	}
	return safetyRefusal("Enter when it is done; n for a note, s to skip it with a reason")
}

// finishOrHold ends a step, unless a hold point has still to be released.
func (t *turn) finishOrHold(step Step) {
	if step.Hold == nil || t.steps[step.ID].released {
		t.do(record.StepDone{Step: step.ID})
	}
}

func (t *turn) prove(a Ask, text string) error {
	_, err := safety.Clear(*a.Step.Demand, t.job.String(), a.Step.ID, safety.Answer{
		Text: text, Digits: a.Digits, Earlier: t.earlier(a.Step),
	})
	if err != nil {
		if safety.TooEasy(text) {
			return err
		}
		t.do(record.Observation{Step: a.Step.ID, What: record.NoProof + text})
		return notProved{err}
	}
	t.do(record.Cleared{Step: a.Step.ID, Answer: text, Shown: a.Digits, Until: a.Step.Until})
	if a.Step.Sets != "" {
		if err := t.replan(a.Step, "true", false); err != nil {
			return err
		}
	}
	t.finishOrHold(a.Step)
	return nil
}

// notProved is a refusal of what was seen: it proves nothing, and stays in the record.
type notProved struct{ error }

// Unwrap gives the refusal.
func (n notProved) Unwrap() error { return n.error }

// Error adds what a person does who saw just that.
func (n notProved) Error() string {
	return n.error.Error() + "; if that is what was seen, do not go on: leave it safe (p)"
}

func (t *turn) release(a Ask, text string, proved bool) error {
	h := record.HoldReleased{Step: a.Step.ID, By: text, Proved: proved && a.Kind == AskRelease}
	if a.Kind == AskSelfCheck {
		if !strings.EqualFold(text, a.Step.Hold.Word) && strings.ReplaceAll(text, " ", "") != a.Digits {
			return safetyRefusal("%q is not it: %s", text, a.Step.Hold.Ask)
		}
		h.By, h.Answer = t.at.By, text
	} else if safety.TooEasy(text) || !strings.ContainsFunc(text, unicode.IsLetter) || strings.EqualFold(text, t.at.By) {
		return safetyRefusal("the name of a second person is wanted, not of the one who did the work")
	}
	t.do(h)
	t.do(record.StepDone{Step: a.Step.ID})
	return nil
}

// replan writes an answer into the job, plans again, and takes the new
// checklist. An answer that changes nothing is not written.
func (t *turn) replan(step Step, value string, text bool) error {
	basis, err := t.planned.Basis.With(step.Sets, value, text)
	if err != nil {
		return safetyRefusal("this cannot be written into the job: %v", err)
	}
	if basis.Job.Same(t.planned.Basis.Job) {
		return nil
	}
	planned, err := basis.Make()
	if err != nil {
		return safetyRefusal("with this there is no checklist: %v", err)
	}
	for _, blob := range planned.Blobs() {
		t.blobs = append(t.blobs, blob)
	}
	t.planned = planned
	t.do(planned.replanned(step.ID, step.Sets, value))
	return nil
}

// Clock gives a time in ms as minutes and seconds, with hours where there are
// any, rounded up to the second; below zero with its sign.
func Clock(ms int64) string {
	if ms < 0 {
		return "-" + Clock(-ms)
	}
	s := (ms + 999) / 1000
	if s >= 3600 {
		return fmt.Sprintf("%d:%02d:%02d", s/3600, s/60%60, s%60)
	}
	return fmt.Sprintf("%d:%02d", s/60, s%60)
}
