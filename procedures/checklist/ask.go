package checklist

import (
	"fmt"
	"strings"

	"daytank/procedures"
	"daytank/procedures/record"
	"daytank/safety"
)

// AskKind is what kind of answer is wanted.
type AskKind string

// Kinds of asking.
const (
	AskAcknowledge AskKind = "acknowledge" // a caution: words
	AskBlocked     AskKind = "blocked"     // the walk must not go on: back, or leave it safe
	AskTick        AskKind = "tick"        // done
	AskProof       AskKind = "proof"       // a demand
	AskValue       AskKind = "value"       // a number in a range
	AskWords       AskKind = "words"
	AskChoice      AskKind = "choice"
	AskWait        AskKind = "wait"    // a timer that is not over, or is
	AskCool        AskKind = "cool"    // a reading that must fall below a limit
	AskRelease     AskKind = "release" // a hold point: the second person's name
	AskSelfCheck   AskKind = "self-check"
	AskTest        AskKind = "test" // one field of an idle test
	AskRun         AskKind = "run"  // see RunAsk
	AskFinished    AskKind = "finished"
)

// Ask is what is to be asked now, with all that is to be shown beside it.
type Ask struct {
	Kind     AskKind
	Step     Step
	Number   int // of the step among those of the sitting, from 1; 0 within a branch
	Of       int
	Phase    string // its title
	Prompt   string // what to type, in a few words
	Digits   string // three digits that serve as well, where they do
	Finding  Finding
	Stops    []Finding
	Answers  []int  // numbers of the steps whose answers stand in the job, when blocked by stops
	Reason   string // why blocked, or why it is asked again
	LeftMS   int64  // of a wait
	Field    Field  // of an idle test
	Run      RunAsk
	Called   string // what was called out just now
	Optional bool   // can be skipped with a reason
}

// Field is one value of an idle test.
type Field struct {
	Name, Unit string
	Min, Max   float64
}

// Ask gives what is to be asked at a moment. It changes nothing.
func (s State) Ask(at record.Stamp) Ask {
	if s.review {
		return Ask{Kind: AskFinished}
	}
	if f, pending := s.toAcknowledge(); pending && !s.rightens() {
		if s.paper {
			return Ask{Kind: AskAcknowledge, Finding: f, Prompt: "what the sheet says was done about it; - where nothing stands there"}
		}
		return Ask{
			Kind: AskAcknowledge, Finding: f, Digits: s.digits("caution " + f.Rule),
			Prompt: "in your own words, what you will do about it",
		}
	}
	step, ok := s.active()
	if !ok {
		return Ask{Kind: AskFinished}
	}
	a := Ask{Step: step, Phase: s.planned.List.PhaseTitle(step.Phase), Optional: step.Kind != procedures.Confirm && step.Kind != procedures.Run && step.Hold == nil && step.UntilMK == 0}
	a.Number, a.Of = s.position(step)
	if s.paper {
		return s.askPaper(a)
	}
	if step.Phase == runPhase && step.Kind != procedures.Run && step.ID != leftOverStep {
		a.Called = s.run.balance
	}
	switch {
	case s.halted != "":
		a.Kind, a.Reason = AskBlocked, s.halted
		return a
	case len(s.planned.List.Stops) > 0 && s.endangers(step):
		a.Kind, a.Stops = AskBlocked, s.planned.List.Stops
		a.Reason, a.Answers = "what was found at the vehicle makes a stop of the plan", s.answersOfJob()
		return a
	case step.refusesAlone() && s.planned.List.Alone:
		a.Kind, a.Reason = AskBlocked, "this step is not done alone"
		return a
	}
	return s.askStep(a, at)
}

// runPhase is the phase of the run.
const runPhase = "run"

func (s State) askStep(a Ask, at record.Stamp) Ask {
	step, p := a.Step, s.steps[a.Step.ID]
	switch step.Kind {
	case procedures.Confirm:
		if !s.proved(step) {
			a.Kind, a.Prompt = AskProof, step.Demand.Ask
			if step.Demand.Word != "" {
				a.Digits = s.digits(step.ID)
			}
			return a
		}
	case procedures.Value:
		a.Kind, a.Prompt = AskValue, valuePrompt(*step.Value)
		if step.Value.Text {
			a.Kind, a.Prompt = AskWords, "in a few words"
		}
		if !p.entered || step.Hold == nil {
			return a
		}
	case procedures.Choice:
		a.Kind, a.Prompt = AskChoice, "its number or word"
		return a
	case procedures.Timer:
		return s.askTimer(a, p, at)
	case procedures.Test:
		a.Kind, a.Field = AskTest, s.nextField(step)
		a.Prompt = fmt.Sprintf("%s in %s, or - where it is not shown", a.Field.Name, a.Field.Unit)
		return a
	case procedures.Run:
		a.Kind, a.Run = AskRun, s.run.ask(s.planned.List, at)
		return a
	default:
		if step.Hold == nil {
			a.Kind, a.Prompt = AskTick, "Enter when it is done"
			return a
		}
	}
	return s.askRelease(a)
}

// askRelease asks for a hold point: what comes after the step itself.
func (s State) askRelease(a Ask) Ask {
	if s.planned.List.Alone {
		a.Kind, a.Prompt = AskSelfCheck, a.Step.Hold.Ask
		a.Digits = s.digits(a.Step.ID + " hold")
		return a
	}
	a.Kind, a.Prompt = AskRelease, "the name of the second person who has looked"
	return a
}

func (s State) askTimer(a Ask, p progress, at record.Stamp) Ask {
	if a.Step.UntilMK > 0 {
		a.Kind, a.Prompt = AskCool, fmt.Sprintf("the temperature in °C; it must be below %s", Celsius(a.Step.UntilMK))
		if p.timer != nil {
			a.LeftMS = max(0, a.Step.WaitMS-waitedMS(*p.timer, at))
		}
		if a.LeftMS > 0 {
			a.Prompt += fmt.Sprintf(", %s from now", Clock(a.LeftMS))
		}
		return a
	}
	a.Kind, a.Prompt = AskWait, "Enter when the time is over"
	if p.timer != nil {
		a.LeftMS = max(0, a.Step.WaitMS-waitedMS(*p.timer, at))
	}
	return a
}

func (s State) digits(of string) string { return safety.Digits(s.job.String(), of, s.seq) }

func valuePrompt(v procedures.ValueSpec) string {
	unit := v.Unit
	if unit == "none" || unit == "count" {
		unit = ""
	}
	return strings.TrimSpace(fmt.Sprintf("a number from %g to %g %s", v.Min, v.Max, unit))
}

// position gives which of the sitting's steps this is.
func (s State) position(step Step) (number, of int) {
	sitting := s.planned.List.Sitting()
	for i, x := range sitting {
		if x.ID == step.ID {
			number = i + 1
		}
	}
	return number, len(sitting)
}

// answersOfJob gives the numbers of the steps that have written into the job.
func (s State) answersOfJob() []int {
	var numbers []int
	for i, step := range s.planned.List.Sitting() {
		if step.Sets != "" && s.StatusOf(step) == Done {
			numbers = append(numbers, i+1)
		}
	}
	return numbers
}

// toAcknowledge gives the first caution that nobody has answered for yet.
func (s State) toAcknowledge() (Finding, bool) {
	for _, f := range s.planned.List.ToAccept {
		if _, answered := s.acknowledged[f.Key]; !answered {
			return f, true
		}
	}
	return Finding{}, false
}

// rightens tells whether the active step is one that somebody went back to, to put
// right what it wrote into the job: the cautions of the wrong answer can wait.
func (s State) rightens() bool {
	step, ok := s.active()
	return ok && step.Sets != "" && (step.Kind == procedures.Value || step.Kind == procedures.Choice) && s.steps[step.ID].answer != ""
}

// endangers tells whether a step is not to be done while the plan has a stop. An answer that
// was given is put right all the same, even where giving it was dangerous.
func (s State) endangers(step Step) bool {
	return step.hazardous() || step.Hazard != "" && s.AnswerOf(step.ID) == ""
}

// hazardous tells whether a step is more than a look whose answer stands in the job.
func (s Step) hazardous() bool {
	if s.Sets != "" && (s.Kind == procedures.Value || s.Kind == procedures.Choice) {
		return false
	}
	return s.Kind == procedures.Confirm || s.Kind == procedures.Run || s.Hazard != ""
}

func (s Step) refusesAlone() bool { return s.Hold != nil && s.Hold.Alone == "refuse" }

// testFields gives what an idle test notes by hand.
func (s State) testFields() []Field {
	fields := []Field{{Name: "coolant", Unit: "degC", Min: -40, Max: 150}, {Name: "idle speed", Unit: "rpm", Min: 200, Max: 3000}}
	for i := range s.planned.List.Cylinders {
		fields = append(fields, Field{Name: fmt.Sprintf("correction %d", i+1), Unit: "mm3/stroke", Min: -50, Max: 50})
	}
	return fields
}

// nextField gives the field of the test that is to be read now.
func (s State) nextField(step Step) Field {
	fields := s.testFields()
	i := min(len(s.steps[step.ID].fields), len(fields)-1)
	return fields[i]
}

// Celsius gives a temperature in mK as it is shown: 35 °C.
func Celsius(mk int64) string { return fmt.Sprintf("%g °C", float64(mk-273150)/1000) }
