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
	alarmUnseen    = "return unseen"
	alarmBegin     = "begin"
	alarmBalance   = "balance"
)

// switchesOff tells whether the engine goes off for an alarm.
func switchesOff(alarm string) bool {
	switch alarm {
	case alarmWarm, alarmSoak, alarmOverdue, alarmUnseen, alarmBegin, alarmBalance:
		return false
	}
	return true
}

const (
	overdueMS = 90 * second // after this a reading that is due is called overdue (own judgement)
	unseenMS  = 30 * second // after this a return that was not looked at is called out (own judgement)
	bubblesMS = minute      // so long bubbles may be seen
)

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
	lowest := before
	for _, r := range readings[:len(readings)-1] {
		if plan.at15(r) < plan.at15(lowest) {
			lowest = r
		}
	}
	if soaked && t.run.backToBefore(plan) {
		return
	}
	soakUL := math.Max(soakUL, math.Max(plan.errorUL(before), plan.errorUL(now)))
	switch rise := plan.at15(now) - plan.at15(lowest); {
	case fall > drawn+2*plan.differenceUL(before, now):
		t.do(record.Alarm{Step: a.Step.ID, Name: alarmLost, Message: fmt.Sprintf(
			"the level fell by %.0f mL in %s, and %.0f mL is the most that is burned: the return is lost, or it leaks", fall/1000, Clock(now.RunMS-before.RunMS), drawn/1000)})
	case rise > 2*plan.differenceUL(lowest, now):
		t.do(record.Alarm{Step: a.Step.ID, Name: alarmRising, Message: fmt.Sprintf(
			"the level rose by %.0f mL: the tank pump is live, the return is crossed, or water comes in", rise/1000)})
	case soaked && (fall > drawn+soakUL || fall < -soakUL):
		t.do(record.Alarm{Step: a.Step.ID, Name: alarmSoak, Message: fmt.Sprintf(
			"over the soak the level changed by %.0f mL more than was burned: a leak or a siphon; find it before the engine starts again", math.Abs(fall-max(0, min(fall, drawn)))/1000)})
	}
}

// backToBefore tells whether the last reading is that which the soak began with: what
// was read between them was misread.
func (r engineRun) backToBefore(plan Run) bool {
	now := r.readings[len(r.readings)-1]
	for _, x := range r.readings[:len(r.readings)-1] {
		if x.RunMS >= r.stageMS && !x.Baseline {
			return math.Abs(plan.at15(x)-plan.at15(now)) <= math.Max(soakUL, math.Max(plan.errorUL(x), plan.errorUL(now)))
		}
	}
	return false
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
		if between < 0 || i >= len(plan.Stages) {
			continue
		}
		if plan.Stages[i].Soak {
			// The level that a soak begins with may still be read after its beginning.
			within := i == r.stage && from.RunMS >= begun
			soaked = soaked || within || i < r.stage && between > 0
		}
		most += float64(plan.Stages[i].DrawnHighULMin) * float64(between) / float64(minute)
	}
	return most, soaked
}

// returnFlows and engineDied are seen as well as asked for.
const (
	returnFlows = "the return is seen to flow"
	engineDied  = "the engine died"
)

// seen are the words for what is seen and heard during the run, with the key that
// says the same on a screen. Those with a text switch the engine off.
var seen = []struct{ key, word, what, off string }{
	{"b", "bubbles", "bubbles in the supply", ""},
	{"v", "clear", "the supply is clear again", ""},
	{"m", "smoke", "smoke", ""},
	{"y", "flows", returnFlows, ""},
	{"a", "foam", "foam in the container", "foam reaches the pick-up as air"},
	{"k", "knock", "the engine knocks", "it knocks"},
	{"h", "coolant", "the coolant is wrong", "the coolant is wrong"},
	{"o", "oil", "the oil pressure is wrong", "the oil pressure is wrong"},
	{"r", "return", "the return is not seen to flow", "the return is not seen to flow"},
	{"d", "died", engineDied, engineDied},
}

// Seen is something that can be seen or heard during the run: the key and the word
// for it, and what it says.
type Seen struct{ Key, Word, What string }

// AllSeen gives them in their order.
func AllSeen() []Seen {
	var all []Seen
	for _, s := range seen {
		all = append(all, Seen{s.key, s.word, s.what})
	}
	return all
}

// SeenHelp says what can be typed in place of a reading.
func SeenHelp() string {
	var words []string
	for _, s := range seen {
		words = append(words, s.key+" "+s.word)
	}
	return "What is seen and heard can be typed in place of a reading, by its letter or its word: " + strings.Join(words, ", ") + "."
}

// Ringing is said at the step where the alarm is tried.
const Ringing = "It rings as it will when something is wrong."

// observed takes a word for what was seen; false: it is none.
func (t *turn) observed(a Ask, text string) bool {
	for _, s := range seen {
		if !strings.EqualFold(text, s.word) && !strings.EqualFold(text, s.key) {
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
	if r.lastMS < r.stageMS {
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
	stopAt := t.run.stopAtMS(plan, elapsed)
	switch since := t.run.bubblesMS; {
	case stopAt != nil && elapsed >= *stopAt:
		t.do(record.Alarm{Step: step.ID, Name: alarmStopTime, Message: "by the clock the stop level may be reached"})
	case plan.Stages[t.run.stage].Soak:
	case since != nil && elapsed-*since >= bubblesMS:
		t.do(record.Alarm{Step: step.ID, Name: alarmSeen, Message: "bubbles for over a minute: the pump draws air"})
	case !t.run.unseen && t.run.started.Run == t.at.Run && elapsed-t.run.flowDueMS(plan) >= unseenMS:
		t.do(record.Alarm{Step: step.ID, Name: alarmUnseen, Message: "nobody has seen the return flow: look at it now"})
	case !t.run.overdue && t.run.started.Run == t.at.Run && elapsed-t.run.dueInStage(plan.WarmMK) >= overdueMS:
		t.do(record.Alarm{Step: step.ID, Name: alarmOverdue, Message: "a reading is overdue: level and temperature now"})
	}
}
