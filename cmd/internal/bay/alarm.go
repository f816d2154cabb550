package bay

import (
	"fmt"
	"strings"
	"time"

	"daytank/procedures/checklist"
)

// alarm is something that is called out until a key says that it was heard.
type alarm struct {
	about string // what it is; empty: none
	word  string // of the glance view; empty where nothing is wrong
	text  string
	grave bool // switch off
	heard bool
	rung  time.Duration // last
}

// loud tells whether it still wants to be heard.
func (a alarm) loud() bool { return a.about != "" && !a.heard }

// How often the bell rings.
const (
	graveBell = 2 * time.Second
	mildBell  = 10 * time.Second
)

// heed takes up what is to be called out now.
func (s *Screen) heed() {
	a := s.calls()
	if a.about == s.alarm.about {
		return
	}
	s.alarm = a
	if a.about == "" {
		if s.panel == panelAlarm {
			s.panel = noPanel
		}
		return
	}
	s.bells++
	s.alarm.rung = s.Hands()
	if a.grave {
		s.panel = panelAlarm
	}
}

// callOut rings again for what was not heard.
func (s *Screen) callOut() {
	every := mildBell
	if s.alarm.grave {
		every = graveBell
	}
	if now := s.Hands(); s.alarm.loud() && now-s.alarm.rung >= every {
		s.bells++
		s.alarm.rung = now
	}
}

// calls gives what is to be called out at the question that stands there.
func (s *Screen) calls() alarm {
	switch s.ask.Kind {
	case checklist.AskWait:
		if s.ask.LeftMS <= 0 {
			return alarm{about: "over " + s.ask.Step.ID, text: "The time is over."}
		}
	case checklist.AskRun:
		return s.callsOfRun(s.ask.Run)
	}
	if s.ask.Step.Rings {
		return alarm{about: "try " + s.ask.Step.ID, text: checklist.Ringing}
	}
	return alarm{}
}

func (s *Screen) callsOfRun(r checklist.RunAsk) alarm {
	last := s.kept.lastAlarm
	mild := alarm{about: fmt.Sprintf("%s %d", last.Name, s.kept.alarms), word: mildWords[last.Name], text: last.Message}
	switch {
	case r.Part == checklist.RunOff:
		word := "STOP"
		if last.Name == "hot" {
			word = "HOT"
		}
		return alarm{about: "off " + r.Reason, word: word, text: r.Reason, grave: true}
	case r.Part == checklist.RunStage:
		return alarm{about: fmt.Sprintf("stage %d %d", r.Stage, s.kept.alarms), word: orderWord(r), text: order(r)}
	case r.Part == checklist.RunReading && last.Name == "soak":
		return mild
	case r.Part == checklist.RunFlow && last.Name == "return unseen":
		return mild
	case r.Part == checklist.RunFlow:
		return alarm{about: fmt.Sprintf("flow %d %d", r.Stage, s.kept.looks), word: "LOOK", text: "is the return seen to flow?"}
	case r.Part != checklist.RunReading || r.Soak && r.DueInMS > 0:
		return alarm{}
	case r.DueInMS <= 0 && last.Name != "overdue":
		text := "reading due NOW: level, temperature"
		if r.Mark != "" {
			text += "; " + r.Mark
		}
		return alarm{about: fmt.Sprintf("read %d", len(s.Sitting.State().Readings())), word: "READ", text: text}
	case mild.word != "":
		return mild
	}
	return alarm{}
}

// mildWords are what stands large for an alarm that does not switch off.
var mildWords = map[string]string{"warm": "WARM", "soak": "LEAK?", "overdue": "READ", "return unseen": "LOOK", "begin": "READ", "balance": "READ"}

// orderWord is what stands large of it.
func orderWord(r checklist.RunAsk) string {
	switch {
	case r.NextSoak:
		return "KEY OFF"
	case r.WasSoak:
		return "START"
	}
	return strings.ToUpper(r.Next)
}

// order says what is to be done at a change of stage.
func order(r checklist.RunAsk) string {
	switch {
	case r.NextSoak:
		return "KEY OFF: the soak begins"
	case r.WasSoak:
		return "start the engine again: " + r.Next
	}
	return "go to " + r.Next
}
