package checklist

import (
	"fmt"
	"math"
	"strings"

	"daytank/procedures/record"
)

// Names of the alarms of the run.
const (
	alarmStopLevel = "stop level"
	alarmHot       = "hot"
	alarmWarm      = "warm"
	alarmStopTime  = "stop time"
	alarmLost      = "return lost"
	alarmRising    = "rising"
	alarmSoak      = "soak"
	alarmSeen      = "seen"
	alarmOverdue   = "overdue"
)

// switchesOff tells whether the engine goes off for an alarm.
func switchesOff(alarm string) bool {
	return alarm != alarmWarm && alarm != alarmSoak && alarm != alarmOverdue
}

// readingErrorUL is how far off a level read in mL may be, in µL; two of them, at two
// standard errors, are what a difference may show by chance. soakUL is what a level
// may differ by over a soak. All are common practice, no source.
const (
	readingErrorUL = 20000
	soakUL         = 20000
	overdueMS      = 90 * second // after this a reading that is due is called overdue (own judgement)
	bubblesMS      = minute      // so long bubbles may be seen
)

// chanceUL is what two readings may differ by where nothing has changed.
func chanceUL() float64 { return 2 * math.Sqrt2 * readingErrorUL }

// differences calls out what a reading says beside those before it: levels are
// compared as if all were read at 15 °C, since warm fluid stands higher.
func (t *turn) differences(a Ask) {
	readings, plan := t.run.readings, t.planned.List.Run
	if plan.ExpansionPPM == 0 || len(readings) < 2 { // a checklist of before this was known
		return
	}
	now, before := readings[len(readings)-1], readings[len(readings)-2]
	fall := plan.at15(before) - plan.at15(now)
	drawn, soaked := t.run.drawnUL(plan, before, now)
	lowest := math.Inf(1)
	for _, r := range readings[:len(readings)-1] {
		lowest = min(lowest, plan.at15(r))
	}
	switch rise := plan.at15(now) - lowest; {
	case fall > drawn+chanceUL():
		t.do(record.Alarm{Step: a.Step.ID, Name: alarmLost, Message: fmt.Sprintf(
			"the level fell by %.0f mL in %s, and %.0f mL is the most that is burned: the return is lost, or it leaks", fall/1000, Clock(now.RunMS-before.RunMS), drawn/1000)})
	case rise > chanceUL():
		t.do(record.Alarm{Step: a.Step.ID, Name: alarmRising, Message: fmt.Sprintf(
			"the level rose by %.0f mL: the tank pump is live, the return is crossed, or water comes in", rise/1000)})
	case soaked && (fall > drawn+soakUL || fall < -soakUL):
		t.do(record.Alarm{Step: a.Step.ID, Name: alarmSoak, Message: fmt.Sprintf(
			"over the soak the level changed by %.0f mL more than was burned: a leak or a siphon; find it before the engine starts again", math.Abs(fall-max(0, min(fall, drawn)))/1000)})
	}
}

// at15 gives a level as it would be read at 15 °C, in µL. A temperature that was not
// read is taken as the plan expects it.
func (r Run) at15(reading record.Reading) float64 {
	mk := int64(0)
	if reading.TemperatureMK != nil {
		mk = *reading.TemperatureMK
	} else if mk = r.ExpectedMK(reading.RunMS); mk == 0 {
		mk = 288150
	}
	return float64(*reading.LevelUL) / (1 + float64(r.ExpansionPPM)/1e6*float64(mk-288150)/1000)
}

// drawnUL gives the most that may have left the container between two readings, and
// whether a soak lay between.
func (r engineRun) drawnUL(plan Run, from, to record.Reading) (most float64, soaked bool) {
	for i, begun := range r.starts {
		ended := to.RunMS
		if i+1 < len(r.starts) {
			ended = min(ended, r.starts[i+1])
		}
		between := ended - max(begun, from.RunMS)
		if between <= 0 || i >= len(plan.Stages) {
			continue
		}
		soaked = soaked || plan.Stages[i].Soak
		most += float64(plan.Stages[i].DrawnHighULMin) * float64(between) / float64(minute)
	}
	return most, soaked
}

// seen are the words for what is seen and heard during the run. Those with a text
// switch the engine off.
var seen = []struct{ word, what, off string }{
	{"bubbles", "bubbles in the supply", ""},
	{"clear", "the supply is clear again", ""},
	{"smoke", "smoke", ""},
	{"flows", "the return is seen to flow", ""},
	{"foam", "foam in the container", "foam reaches the pick-up as air"},
	{"knock", "the engine knocks", "it knocks"},
	{"coolant", "the coolant is wrong", "the coolant is wrong"},
	{"oil", "the oil pressure is wrong", "the oil pressure is wrong"},
	{"return", "the return is not seen to flow", "the return is not seen to flow"},
}

// SeenHelp says what can be typed in place of a reading.
func SeenHelp() string {
	var words []string
	for _, s := range seen {
		words = append(words, s.word)
	}
	return "What is seen and heard can be typed in place of a reading: " + strings.Join(words, ", ") + "."
}

// Ringing is said at the step where the alarm is tried.
const Ringing = "It rings as it will when something is wrong."

// observed takes a word for what was seen; false: it is none.
func (t *turn) observed(a Ask, text string) bool {
	for _, s := range seen {
		if !strings.EqualFold(text, s.word) {
			continue
		}
		t.do(record.Observation{Step: a.Step.ID, What: s.what})
		if s.off != "" {
			t.do(record.Alarm{Step: a.Step.ID, Name: alarmSeen, Message: s.off})
		}
		return true
	}
	return false
}

// dueInStage gives when the next reading is due, not before this stage has settled:
// during a soak none is.
func (r engineRun) dueInStage(warmMK int64) int64 {
	due := r.due(warmMK)
	if r.stage > 0 && r.lastMS < r.stageMS {
		due = max(due, r.stageMS+30*second)
	}
	return due
}

// byTheClock calls out what time alone has brought during the run.
func (t *turn) byTheClock() {
	if !t.run.running || t.run.off != "" {
		return
	}
	step, ok := t.active()
	if !ok {
		return
	}
	elapsed, plan := t.run.elapsed(t.at), t.planned.List.Run
	stopAt := t.run.stopAtMS(plan)
	switch since := t.run.bubblesMS; {
	case stopAt != nil && elapsed >= *stopAt:
		t.do(record.Alarm{Step: step.ID, Name: alarmStopTime, Message: "by the clock the stop level may be reached"})
	case since != nil && elapsed-*since >= bubblesMS:
		t.do(record.Alarm{Step: step.ID, Name: alarmSeen, Message: "bubbles for over a minute: the pump draws air"})
	case !t.run.overdue && !plan.Stages[t.run.stage].Soak && t.run.started.Run == t.at.Run && elapsed-t.run.dueInStage(plan.WarmMK) >= overdueMS:
		t.do(record.Alarm{Step: step.ID, Name: alarmOverdue, Message: "a reading is overdue: level and temperature now"})
	}
}
