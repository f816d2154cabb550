package checklist

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"daytank/procedures"
	"daytank/procedures/record"
)

// runAnswer takes what was typed during the live run.
func (t *turn) runAnswer(a Ask, text string) error {
	switch a.Run.Part {
	case RunBaseline:
		return t.baseline(a, text)
	case RunStart:
		return t.startRun(a, text)
	case RunFlow:
		return t.flow(a, text)
	case RunStage:
		return t.nextStage(a, text)
	case RunOff:
		return t.switchedOff(a, text)
	}
	return t.reading(a, text)
}

func (t *turn) baseline(a Ask, text string) error {
	if !t.planned.List.Fastened {
		return safetyRefusal("the return hose is not known to be fastened in the container: go back to that step")
	}
	plan := t.planned.List.Run
	r, err := plan.ParseReading(text, Unit(t.run.readings))
	if err != nil {
		return err
	}
	if err := plan.aboveStop(r); err != nil {
		return err
	}
	r.Step, r.Baseline = a.Step.ID, true
	t.do(r)
	if off := plan.at15(r) - float64(plan.FullUL); plan.FullUL > 0 && math.Abs(off) > strangeShare*float64(plan.FullUL) {
		word := "below"
		if off > 0 {
			word = "above"
		}
		t.do(record.Alarm{Step: a.Step.ID, Name: alarmBegin, Message: fmt.Sprintf(
			"the level to begin with is %.0f mL %s what the plan expects, %d mL: read it again (<), and find where it went or came from", math.Abs(off)/1000, word, plan.FullUL/1000)})
	}
	return nil
}

// strangeShare is how far a level may be from the plan's, as a part of it, without being
// called out (own judgement).
const strangeShare = 0.15

// aboveStop refuses a level to begin with that is at the stop level or below it.
func (r Run) aboveStop(reading record.Reading) error {
	if *reading.LevelUL > r.StopUL {
		return nil
	}
	return safetyRefusal("%s %s is not above the stop level of %s: pour in more, or read again", reading.Level, reading.LevelUnit, r.InUnit(r.StopUL, reading.LevelUnit))
}

func (t *turn) startRun(a Ask, text string) error {
	if !ticked(text) {
		return safetyRefusal("Enter once the engine runs on the fluid")
	}
	t.do(record.RunStarted{Step: a.Step.ID})
	t.do(record.Stage{Step: a.Step.ID, Stage: 1, What: a.Run.Next})
	return nil
}

func ticked(text string) bool {
	switch strings.ToLower(text) {
	case "", "1", "d", "done":
		return true
	}
	return false
}

func (t *turn) nextStage(a Ask, text string) error {
	if !ticked(text) {
		return t.reading(a, text)
	}
	t.do(record.Stage{Step: a.Step.ID, Stage: int64(a.Run.Stage + 1), What: a.Run.Next})
	return nil
}

// flow takes whether the return is seen to flow; a reading is taken as well.
func (t *turn) flow(a Ask, text string) error {
	switch strings.ToLower(text) {
	case "1", "yes":
		text = "flows"
	case "2", "no":
		text = "return"
	case "":
		return safetyRefusal("look at the return: y (or 1) when it is seen to flow, r (or 2) when it is not")
	}
	return t.reading(a, text)
}

func (t *turn) reading(a Ask, text string) error {
	if text == "" {
		return safetyRefusal("level and temperature, such as  1320 28")
	}
	if t.observed(a, text) {
		return nil
	}
	if text == "1" || text == "2" { // pressed once more after the return was looked at
		return safetyRefusal("%s alone is no level: type it with its unit, such as  %s mL, if it is", text, text)
	}
	r, err := t.planned.List.Run.ParseReading(text, a.Run.Unit)
	if err != nil {
		return err
	}
	r.Step, r.Stage, r.RunMS = a.Step.ID, int64(a.Run.Stage), a.Run.ElapsedMS
	t.do(r)
	t.alarms(a, r)
	return nil
}

// alarms calls out what a reading says.
func (t *turn) alarms(a Ask, r record.Reading) {
	t.differences(a)
	plan := t.planned.List.Run
	if *r.LevelUL <= plan.StopUL {
		t.do(record.Alarm{Step: a.Step.ID, Name: alarmStopLevel, Message: fmt.Sprintf("the stop level of %s is reached", plan.InUnit(plan.StopUL, r.LevelUnit))})
	}
	switch mk := r.TemperatureMK; {
	case mk == nil:
	case *mk >= plan.HotMK:
		t.do(record.Alarm{Step: a.Step.ID, Name: alarmHot, Message: fmt.Sprintf("the fluid is hot, at %s °C", r.Temperature)})
	case *mk >= plan.WarmMK:
		t.do(record.Alarm{Step: a.Step.ID, Name: alarmWarm, Message: fmt.Sprintf("the fluid is warm, at %s °C: more water on the coil, a shorter run or a soak; a reading every 2 min", r.Temperature)})
	}
}

func (t *turn) switchedOff(a Ask, text string) error {
	if !ticked(text) {
		return t.reading(a, text)
	}
	t.endRun(a, a.Run.Reason)
	return nil
}

func (t *turn) endRun(a Ask, reason string) {
	t.do(record.RunEnded{Step: a.Step.ID, Reason: reason, RunMS: a.Run.ElapsedMS})
	t.do(record.StepDone{Step: a.Step.ID})
}

// endRunEarly ends the run before its planned end; the engine is off.
func (t *turn) endRunEarly(a Ask, reason string) error {
	if a.Kind != AskRun || !t.run.running || t.paper {
		return safetyRefusal("there is no run to end")
	}
	if !saysSomething(reason) {
		return safetyRefusal("ending early needs a reason in a few words")
	}
	t.do(record.Deviation{Step: a.Step.ID, Text: fmt.Sprintf("run ended %s before its planned end: %s", Clock(max(0, a.Run.EndsInMS)), reason)})
	t.endRun(a, "ended early: "+reason)
	return nil
}

// Look gives the events that time alone has brought at a moment: proofs that
// lapsed, clocks that disagree, alarms, and the start of the step that is
// shown next. It is called before every asking; often there are none.
func (s State) Look(at record.Stamp) Outcome {
	t := s.turn(at)
	if s.seq > 1 && !s.review && !s.paper {
		t.lapse("")
		t.compareClocks()
		t.byTheClock()
	}
	t.settle()
	return t.outcome()
}

// mostClockDifference is how far the two clocks may drift apart between two
// events, in milliseconds.
const mostClockDifference = 2000

func (t *turn) compareClocks() {
	if t.last.Run != t.at.Run {
		return
	}
	difference := t.at.At.Sub(t.last.At).Milliseconds() - (t.at.MonoMS - t.last.MonoMS)
	if difference > mostClockDifference || difference < -mostClockDifference {
		t.do(record.Clock{DifferenceMS: difference})
	}
}

// lapse reopens what was proved and is still relied on, if the work has rested
// too long since the last event, or for the reason given.
func (t *turn) lapse(reason string) {
	if reason == "" {
		rested := t.restedMS()
		if rested >= 0 && rested <= longestBreak.Milliseconds()+t.plannedWaitMS() {
			return
		}
		reason = fmt.Sprintf("a break of %s", Clock(max(0, rested)))
		if rested < 0 {
			reason = "the clock went back, so the length of the break is not known"
		}
	}
	relied := t.reliedOn()
	if len(relied) == 0 {
		return
	}
	if t.run.running && t.run.off == "" {
		step, _ := t.active()
		t.do(record.Alarm{Step: step.ID, Name: "break", Message: reason})
	} else {
		t.setAside()
	}
	for _, step := range relied {
		t.do(record.StepReopened{Step: step.ID, Reason: record.ProvedAgain + ": " + reason})
	}
}

// restedMS gives how long the work has rested since the last event; below zero
// where the clock went back and no process saw it.
func (t *turn) restedMS() int64 {
	if t.last.Run == t.at.Run {
		return elapsedMS(t.last, t.at)
	}
	return t.at.At.Sub(t.last.At).Milliseconds()
}

// setAside makes the active step wait, so that an earlier one can be the active
// one. A run is not set aside: it is ended.
func (t *turn) setAside() {
	if step, ok := t.active(); ok && t.steps[step.ID].status == Now && !t.run.running {
		t.do(record.StepReopened{Step: step.ID, Reason: "waits for earlier steps"})
	}
}

// Resume takes a walk up again that another process, another person or a break
// has left.
func (s State) Resume(at record.Stamp) Outcome {
	t := s.turn(at)
	if s.seq <= 1 || s.review {
		t.settle()
		return t.outcome()
	}
	if s.last.By != at.By {
		t.do(record.HandedOver{From: s.last.By, To: at.By})
		t.lapse("handed over to " + at.By)
	}
	if s.emergency && !s.paper {
		t.afterEmergency()
	} else {
		t.lapse("")
	}
	t.do(record.Resumed{})
	t.settle()
	return t.outcome()
}

// afterEmergency reopens the work from isolate on; once the vehicle is
// restored, from the leak check on.
func (t *turn) afterEmergency() {
	if t.run.running {
		step, _ := t.active()
		t.do(record.RunEnded{Step: step.ID, Reason: "emergency", RunMS: t.run.cut.ms})
	}
	from := "isolate"
	if t.phaseDone("restore") {
		from = "leak-check"
	}
	reached, relied := false, t.reliedOn()
	for _, step := range t.planned.List.Sitting() {
		reached = reached || phaseIndex(step.Phase) >= phaseIndex(from)
		status := t.StatusOf(step)
		carries := slices.ContainsFunc(relied, func(x Step) bool { return x.ID == step.ID })
		if (reached && status != Open) || carries || status == Now {
			t.do(record.StepReopened{Step: step.ID, Reason: "after the emergency"})
		}
	}
}

func phaseIndex(id string) int {
	for i, p := range procedures.Phases {
		if p == id {
			return i
		}
	}
	return -1
}

// phaseDone tells whether every needed step of a phase is done or skipped.
func (t *turn) phaseDone(phase string) bool {
	for _, step := range t.planned.List.Sitting() {
		if status := t.StatusOf(step); step.Phase == phase && status != Done && status != Skipped {
			return false
		}
	}
	return true
}

// settle brings the walk to where the next thing can be asked: proofs that no
// longer hold are reopened, the next step is started, and a sitting that is
// done is ready for review.
func (t *turn) settle() {
	if t.review || t.emergency || t.paused {
		return
	}
	for _, step := range t.reliedOn() {
		if !t.proved(step) {
			t.setAside()
			t.do(record.StepReopened{Step: step.ID, Reason: record.ProvedAgain + ": what it rests on has changed"})
		}
	}
	if _, pending := t.toAcknowledge(); pending && !t.rightens() {
		return
	}
	step, ok := t.active()
	if !ok && t.sentBack { // handed in again by whoever explains it
		return
	}
	if !ok {
		t.do(record.ReadyForReview{})
		return
	}
	if t.steps[step.ID].status == Now {
		return
	}
	t.do(record.StepStarted{Step: step.ID})
	if step.Kind == procedures.Timer && !t.paper {
		t.do(record.Timer{Step: step.ID, Mark: record.MarkStarted, PlannedMS: max(step.WaitMS, step.AtMostMS)})
	}
}
