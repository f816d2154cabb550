package bay

import (
	"fmt"
	"strings"

	"github.com/charmbracelet/lipgloss"

	"daytank/procedures/checklist"
)

// glanceLines is the screen as it is read from three metres: numbers as blocks
// where something counts, one word across where something is wrong, else the
// step alone.
func (s *Screen) glanceLines() []line {
	tail := s.glanceTail()
	room := max(1, s.height-len(tail))
	var lines []line
	switch {
	case s.ask.Kind == checklist.AskRun && s.alarm.word != "":
		lines = s.wrong(room)
	case s.engineRuns():
		lines = s.numbers(room)
	case s.ask.Kind == checklist.AskWait && s.ask.LeftMS > 0 && room > glyphRows+1:
		lines = s.timeLeft(room)
	default:
		lines = s.glanceStep(room)
	}
	for len(lines) < room {
		lines = append(lines, line{})
	}
	return append(lines[:room], tail...)
}

// glanceTail is the line that is typed and the keys.
func (s *Screen) glanceTail() []line {
	question := s.question()
	room := s.width - 2
	left := max(2, s.height-2-roomForMarks) // beside the line typed, the keys, and lines of the step
	var lines []line
	if s.saying != "" {
		for _, l := range first(folded(s.saying, room), min(2, left-1)) {
			left--
			lines = append(lines, line{text: " " + l})
		}
	}
	question = strings.ReplaceAll(question, together, " ")
	typed := " > " + clippedLeft(string(s.input)+"_", min(roomToType, s.width-4))
	if lipgloss.Width(question+typed) <= room {
		lines = append(lines, line{text: " " + question + typed})
	} else {
		for _, l := range first(folded(question, room), min(3, left)) {
			lines = append(lines, line{text: " " + l})
		}
		lines = append(lines, line{text: typed})
	}
	return append(lines, s.glanceFoot())
}

// first gives the first lines of a text; what is left out is marked.
func first(lines []string, most int) []string {
	if len(lines) <= most {
		return lines
	}
	cut := append([]string(nil), lines[:most]...)
	cut[most-1] += "…"
	return cut
}

func (s *Screen) glanceFoot() line {
	keys := s.foot()
	return keys[len(keys)-1]
}

// wrong is the word of state across the screen, with what it is about.
func (s *Screen) wrong(room int) []line {
	about := first(folded(s.alarm.text, s.width-2), 2)
	if in := s.ask.Run.StopInMS; in != nil && !s.alarm.grave && room > glyphRows+len(about) {
		about = append(about, "to the stop level "+checklist.Clock(max(0, *in)))
	}
	var lines []line
	colour := stop
	switch {
	case s.ask.Run.Part == checklist.RunStage:
		colour = must
	case !s.alarm.grave:
		colour = caution
	}
	if called := s.ask.Run.Called; called != "" && !s.alarm.grave && called != s.alarm.text && room > glyphRows+len(about)+2 {
		about = append(about, first(folded(called, s.width-2), 2)...)
	}
	for _, l := range filling(s.width-2, room-len(about), strings.Fields(s.alarm.word)...) {
		lines = append(lines, line{text: " " + l, tone: colour})
	}
	for _, l := range about {
		lines = append(lines, line{text: " " + l, tone: strong})
	}
	return lines
}

// numbers are the three of the live run: time to the stop level, the next
// reading, and the seconds left if the return slips out.
func (s *Screen) numbers(room int) []line {
	r := s.ask.Run
	least, _ := s.emptySeconds()
	untilStop := "--:--"
	if r.StopInMS != nil {
		untilStop = checklist.Clock(max(0, *r.StopInMS))
	}
	next, seconds := checklist.Clock(max(0, r.DueInMS)), fmt.Sprint(least)
	small := (glyphRows + 1) / 2
	if room < glyphRows+small+2 {
		return []line{
			{text: " to the stop level " + untilStop, tone: strong},
			{text: " next reading " + next},
			{text: " return slips: empty in " + seconds + " s"},
		}
	}
	lines := []line{{text: fmt.Sprintf(" to the stop level      %s", s.stageShort())}}
	for _, l := range enlarged(untilStop, s.width-2, room-small-2) {
		lines = append(lines, line{text: " " + l})
	}
	half := s.width / 2
	lines = append(lines, line{text: padded(" next reading", half) + "slips: empty in, s"})
	left, right := halved(next), halved(seconds)
	for i := range left {
		lines = append(lines, line{text: " " + padded(left[i], half-1) + right[i]})
	}
	return lines
}

func (s *Screen) stageShort() string {
	r := s.ask.Run
	return clipped(fmt.Sprintf("%d/%d %s", r.Stage, r.Stages, r.What), max(0, s.width-25))
}

// timeLeft is a wait.
func (s *Screen) timeLeft(room int) []line {
	lines := []line{{text: " " + clipped(s.ask.Step.Say, s.width-2)}}
	for _, l := range enlarged(checklist.Clock(s.ask.LeftMS), s.width-2, room-1) {
		lines = append(lines, line{text: " " + l})
	}
	return lines
}

// glanceStep is the step in short: where, and what to do.
func (s *Screen) glanceStep(room int) []line {
	where := s.ask.Phase
	if s.ask.Number > 0 {
		where = fmt.Sprintf("%d of %d  %s", s.ask.Number, s.ask.Of, where)
	}
	t := &text{width: s.width, before: " ", lines: s.step(" ")}
	s.options(t)
	if room <= roomForMarks {
		return s.window(t.lines, room)
	}
	return append([]line{{text: " " + where, tone: faint}}, s.window(t.lines, room-1)...)
}
