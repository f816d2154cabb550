package checklist

import (
	"fmt"
	"math"
	"strings"
	"unicode"

	"daytank/procedures"
	"daytank/procedures/record"
	"daytank/safety"
)

// Kinds of asking for what stands on a sheet of paper. Values, choices and idle tests are
// asked for as in a walk.
const (
	AskPaper    AskKind = "paper"     // what stands at a step
	AskPaperRun AskKind = "paper run" // a line of the run's table
)

// nothingThere is typed where nothing stands on the sheet.
const nothingThere = "-"

// FromPaper gives the outcome of entering, from here on, what was done on paper: who did
// it, when by the sheet, why paper, and photos of the sheet. What is entered after it proves
// nothing: it makes no clearances, no times and no medians, nothing blocks it, and the
// review shows it first. The error is a [safety.Refusal].
func (s State) FromPaper(paper record.Transcribed, sheets []record.Photo, pictures []record.Blob, at record.Stamp) (Outcome, error) {
	t := s.turn(at)
	switch {
	case s.review || s.sentBack:
		return Outcome{}, safetyRefusal("the sitting of this job is done already")
	case s.run.running:
		return Outcome{}, safetyRefusal("the engine is in its run by this record: end the run first, in the walk")
	case len(sheets) == 0 || len(sheets) != len(pictures):
		return Outcome{}, safetyRefusal("a photo of the sheet is wanted: what is entered rests on it")
	case safety.TooEasy(paper.Who):
		return Outcome{}, safetyRefusal("the name of whoever did the work is wanted")
	case paper.Done == "":
		return Outcome{}, safetyRefusal("the day is wanted that stands on the sheet")
	}
	if s.emergency || s.paused {
		t.do(record.Resumed{})
	}
	t.do(paper)
	for i, sheet := range sheets {
		if err := t.keep(sheet, pictures[i]); err != nil {
			return Outcome{}, err
		}
	}
	t.settle()
	return t.outcome(), nil
}

// Paper tells whether what is asked for now stands on paper.
func (s State) Paper() bool { return s.paper }

// WasPaper tells whether some of the record was entered from paper: then it says nothing of
// how long things took.
func (s State) WasPaper() bool { return s.papered }

// askPaper asks for what stands on the sheet at a step.
func (s State) askPaper(a Ask) Ask {
	step, p := a.Step, s.steps[a.Step.ID]
	a.Optional = true
	if (p.entered || p.choice != "") && step.Hold != nil {
		a.Kind, a.Prompt = AskRelease, "who released it, by the sheet; - where nobody stands there"
		return a
	}
	switch step.Kind {
	case procedures.Value:
		a.Kind, a.Prompt = AskValue, valuePrompt(*step.Value)+", as it stands there; s where nothing does"
		if step.Value.Text {
			a.Kind, a.Prompt = AskWords, "as it stands there; s where nothing does"
		}
	case procedures.Choice:
		a.Kind, a.Prompt = AskChoice, "its number or word, as it stands there; s where nothing does"
	case procedures.Test:
		a.Kind, a.Field = AskTest, s.nextField(step)
		a.Prompt = fmt.Sprintf("%s in %s, - where it does not stand there", a.Field.Name, a.Field.Unit)
	case procedures.Run:
		a.Kind, a.Prompt = AskPaperRun, "a line of the table as  minute level temperature:  2.5 1300 28  or  end 31  for when it was switched off"
		if n := len(s.run.readings); n > 0 {
			a.Run = RunAsk{Part: RunReading, Stage: s.run.stage + 1, Stages: len(s.planned.List.Run.Stages), ElapsedMS: s.run.readings[n-1].RunMS, Unit: Unit(s.run.readings)}
		}
		if !s.run.baseline {
			a.Run.Part = RunBaseline
			a.Prompt = "the level before the start, and its temperature:  1340 20"
		}
	default:
		a.Kind, a.Prompt = AskPaper, "Enter where it is ticked, or what is written there; s with the reason where it is not"
	}
	return a
}

// paperAnswer takes what stands on the sheet.
func (t *turn) paperAnswer(a Ask, text string) error {
	switch a.Kind {
	case AskAcknowledge:
		if text == "" {
			return safetyRefusal("what the sheet says was done about it, or - where nothing stands there")
		}
		if text == nothingThere {
			text = "nothing stands on the sheet"
		}
		t.do(record.Acknowledged{Rule: a.Finding.Rule, Key: a.Finding.Key, Message: a.Finding.Message, Words: text})
		return nil
	case AskPaper:
		return t.ticked(a, text)
	case AskPaperRun:
		return t.paperRun(a, text)
	case AskChoice:
		return t.paperChoice(a, text)
	case AskRelease:
		return t.paperRelease(a, text)
	case AskValue, AskWords:
		return t.value(a, text)
	case AskTest:
		return t.testValue(a, text)
	}
	return safetyRefusal("there is nothing left to enter")
}

// ticked takes a step that is ticked, with what is written beside it.
func (t *turn) ticked(a Ask, text string) error {
	t.stopsOfPlan(a)
	if text == "" || ticked(text) {
		text = "ticked"
	}
	switch {
	case a.Step.UntilMK > 0 && text != "ticked" && isNumber(text, "°C"):
		number, err := numberWithin(text, "°C", -40, 150)
		if err != nil {
			return err
		}
		t.do(record.Value{Step: a.Step.ID, Text: number, Unit: "degC"})
	case text != "ticked" || a.Step.Hold != nil:
		t.do(record.Value{Step: a.Step.ID, Text: text})
	}
	if earlier := t.earlier(a.Step); earlier != "" && earlier != text && isNumber(text, "") {
		t.do(record.Deviation{Step: a.Step.ID, Text: fmt.Sprintf("by the sheet it is %q here, and %s was counted before", text, earlier)})
	}
	if a.Step.Kind == procedures.Confirm && a.Step.Sets != "" {
		if err := t.replan(a.Step, "true", false); err != nil {
			return err
		}
	}
	t.finishOrHold(a.Step)
	return nil
}

// isNumber tells whether a text is a number, with or without a unit.
func isNumber(text, unit string) bool {
	_, err := plainDecimal(strings.TrimSpace(strings.TrimSuffix(text, unit)))
	return err == nil
}

// stopsOfPlan notes that a step was done although the plan says stop.
func (t *turn) stopsOfPlan(a Ask) {
	if !a.Step.hazardous() {
		return
	}
	for _, stop := range t.planned.List.Stops {
		t.do(record.Deviation{Step: a.Step.ID, Text: "done by the sheet although the plan says stop: " + stop.Message})
	}
}

// paperChoice takes an answer of several. What led into a mending in a walk is noted: how
// it was mended stands on the sheet alone.
func (t *turn) paperChoice(a Ask, text string) error {
	option, ok := pick(a.Step.Options, text)
	if !ok {
		return safetyRefusal("%q is none of the answers: type its number or its word", text)
	}
	t.do(record.Choice{Step: a.Step.ID, Option: option.Key, Goes: "on"})
	if option.Goes != "on" {
		t.do(record.Deviation{Step: a.Step.ID, Text: fmt.Sprintf("%s, by the sheet: what was done about it is not entered", option.Say)})
	}
	if a.Step.Sets != "" && option.Value != "" {
		if err := t.replan(a.Step, option.Value, true); err != nil {
			return err
		}
	}
	t.finishOrHold(a.Step)
	return nil
}

// paperRelease takes the name at a hold point.
func (t *turn) paperRelease(a Ask, text string) error {
	switch {
	case text == "":
		return safetyRefusal("the name that stands there, or - where nobody does")
	case text == nothingThere:
		t.do(record.Deviation{Step: a.Step.ID, Text: "hold point: nobody stands on the sheet as having released it"})
	case !strings.ContainsFunc(text, unicode.IsLetter):
		return safetyRefusal("%q is no name", text)
	default:
		t.do(record.HoldReleased{Step: a.Step.ID, By: text})
	}
	t.do(record.StepDone{Step: a.Step.ID})
	return nil
}

// paperRun takes a line of the run's table: the level before the start, then minute, level
// and temperature, then when the engine was switched off.
func (t *turn) paperRun(a Ask, text string) error {
	plan := t.planned.List.Run
	if !t.run.baseline {
		r, err := plan.ParseReading(text, Unit(t.run.readings))
		if err != nil {
			return err
		}
		t.stopsOfPlan(a)
		r.Step, r.Baseline = a.Step.ID, true
		t.do(r)
		if *r.LevelUL <= plan.StopUL {
			t.do(record.Deviation{Step: a.Step.ID, Text: "by the sheet the run began at or below the stop level of " + plan.InUnit(plan.StopUL, r.LevelUnit)})
		}
		t.do(record.RunStarted{Step: a.Step.ID})
		t.do(record.Stage{Step: a.Step.ID, Stage: 1, What: plan.Stages[0].What})
		return nil
	}
	minutes, rest, _ := strings.Cut(text, " ")
	end := strings.EqualFold(minutes, "end")
	if end {
		minutes, rest = strings.TrimSpace(rest), ""
	}
	ms, err := t.runMinute(minutes)
	if err != nil {
		return err
	}
	for t.run.stage+1 < len(plan.Stages) && plan.startMS(t.run.stage+1) <= ms {
		next := t.run.stage + 1
		t.do(record.Stage{Step: a.Step.ID, Stage: int64(next + 1), What: plan.Stages[next].What})
	}
	if end {
		t.do(record.RunEnded{Step: a.Step.ID, Reason: "as it stands on the sheet", RunMS: ms})
		t.do(record.StepDone{Step: a.Step.ID})
		return nil
	}
	r, err := plan.ParseReading(rest, Unit(t.run.readings))
	if err != nil {
		return err
	}
	r.Step, r.Stage, r.RunMS = a.Step.ID, int64(t.run.stage+1), ms
	t.do(r)
	t.saidByReadings(a, r)
	return nil
}

// longestPaperRun is how long a run on paper may be: a day.
const longestPaperRun = 24 * 60

// runMinute reads a minute of the run that is not before the last one entered.
func (t *turn) runMinute(text string) (int64, error) {
	x, err := plainDecimal(text)
	if err != nil || text == "" || x < 0 || x > longestPaperRun {
		return 0, safetyRefusal("%q is no minute of the run: a line is minute, level and temperature, such as  2.5 1300 28", text)
	}
	ms := int64(math.Round(x * float64(minute)))
	if last := t.run.readings[len(t.run.readings)-1].RunMS; ms < last {
		return 0, safetyRefusal("minute %s lies before the last one entered, %s: lines are entered in their order, and c corrects the last", text, Clock(last))
	}
	return ms, nil
}

// saidByReadings notes what would have been called out beside the engine.
func (t *turn) saidByReadings(a Ask, r record.Reading) {
	live := t.State.turn(t.at)
	live.alarms(a, r)
	for _, body := range live.bodies {
		if alarm, is := body.(record.Alarm); is {
			t.do(record.Deviation{Step: a.Step.ID, Text: fmt.Sprintf("by the sheet, at minute %s of the run, if its stages went as planned: %s", Clock(r.RunMS), alarm.Message)})
		}
	}
}

// startMS gives when a stage begins by the plan, from 0 for the first.
func (r Run) startMS(stage int) int64 {
	var ms int64
	for _, s := range r.Stages[:stage] {
		ms += s.LengthMS
	}
	return ms
}
