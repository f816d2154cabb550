package bay

import (
	"fmt"
	"slices"
	"strings"

	"github.com/charmbracelet/lipgloss"

	"daytank/cmd/internal/prompt"
	"daytank/procedures/checklist"
	"daytank/safety"
)

// indent is where the texts of a step begin.
const indent = "         "

// text is lines that grow, of a step behind an indent.
type text struct {
	width  int
	before string
	lines  []line
}

// add adds a paragraph behind an indent, with a label in front of its first
// line. The label is painted.
func (t *text) add(before, label, body string, colour tone) {
	if body == "" {
		return
	}
	if label != "" {
		body = label + " " + body
	}
	for i, l := range folded(body, t.width-lipgloss.Width(before)-1) {
		painted := line{text: before + l, tone: plain}
		if i == 0 && label != "" {
			painted.word, painted.tone = label, colour
		}
		t.lines = append(t.lines, painted)
	}
}

// hang adds a paragraph whose first line begins with a sign, the others below
// its text.
func (t *text) hang(before, sign, body string) {
	for i, l := range folded(body, t.width-lipgloss.Width(before+sign)-1) {
		if i == 1 {
			sign = strings.Repeat(" ", lipgloss.Width(sign))
		}
		t.lines = append(t.lines, line{text: before + sign + l})
	}
}

// step gives the step now behind an indent: what to do, how, what it can do to
// somebody, and why.
func (s *Screen) step(before string) []line {
	t := &text{width: s.width, before: before}
	switch s.ask.Kind {
	case checklist.AskAcknowledge:
		t.add(t.before, "CAUTION", s.ask.Finding.Message+".", caution)
		t.add(t.before, "", lifts(s.ask.Finding.Lift), plain)
		t.mark()
	case checklist.AskBlocked:
		s.blocked(t)
	case checklist.AskRun:
		if s.ask.Run.Part == checklist.RunBaseline {
			s.say(t)
		}
		s.run(t)
	case checklist.AskRelease, checklist.AskSelfCheck:
		s.hold(t)
		s.aside(t)
	default:
		s.say(t)
	}
	return t.lines
}

// mark puts the mark of the step now before its first line.
func (t *text) mark() {
	if len(t.lines) == 0 {
		return
	}
	if rest, ok := strings.CutPrefix(t.lines[0].text, indent); ok {
		t.lines[0].text = " > now   " + rest
	}
	if t.lines[0].word == "" {
		t.lines[0].tone = strong
	}
}

func lifts(lift string) string {
	if lift == "" {
		return ""
	}
	return "what lifts it: " + lift + "."
}

func (s *Screen) say(t *text) {
	t.add(t.before, "", s.ask.Step.Say, plain)
	t.mark()
	for i := range t.lines {
		t.lines[i].tone = strong
	}
	s.aside(t)
	switch {
	case s.ask.Kind == checklist.AskWait && s.ask.LeftMS > 0:
		t.add(t.before, "", checklist.Clock(s.ask.LeftMS)+" left", strong)
	case s.ask.Kind == checklist.AskWait:
		t.add(t.before, "", "The time is over.", strong)
	}
}

// aside adds what stands beside a step.
func (s *Screen) aside(t *text) {
	step := s.ask.Step
	if s.ask.Kind == checklist.AskProof {
		t.add(t.before, "DO", step.How, must)
	} else {
		t.add(t.before, "how:", step.How, plain)
	}
	if s.ask.Called != "" {
		t.add(t.before, "CAUTION", s.ask.Called, caution)
	}
	if h, ok := safety.HazardByID(step.Hazard); ok {
		t.add(t.before, "CAUTION", h.Name+": "+h.Control, caution)
	}
	if s.Whys {
		t.add(t.before, "why:", step.Why, plain)
	}
	if was := s.Sitting.State().AnswerOf(step.ID); was != "" && s.ask.Kind != checklist.AskTest {
		t.add(t.before, "answered before:", prompt.Plain(was), plain)
	}
}

func (s *Screen) blocked(t *text) {
	t.add(t.before, "STOP", s.ask.Reason+".", stop)
	t.mark()
	for _, f := range s.ask.Stops {
		t.add(t.before, "STOP", f.Message+".", stop)
		t.add(t.before, "", lifts(f.Lift), plain)
	}
	state := s.Sitting.State()
	sitting := state.List().Sitting()
	for _, n := range s.ask.Answers {
		step := sitting[n-1]
		t.add(t.before, "", fmt.Sprintf("< %-3d %s: %s", n, step.ID, prompt.Plain(state.AnswerOf(step.ID))), plain)
	}
	t.add(t.before, "", "If something was entered wrong, go back to it with < and its number; otherwise leave it safe with p.", plain)
}

func (s *Screen) hold(t *text) {
	if s.ask.Kind == checklist.AskRelease {
		t.add(t.before, "STOP", "Hold: work stops here until a second person has looked. "+s.ask.Step.Say, stop)
		t.mark()
		return
	}
	t.add(t.before, "STOP", "Hold: nobody else is here, so look once more yourself; the record says that no second person released it.", stop)
	t.mark()
}

// tail gives what stands below the step and does not scroll: the options, what
// became of the last answer, and the line for the next.
func (s *Screen) tail() []line {
	t := &text{width: s.width, before: indent}
	s.options(t)
	t.add(t.before, "", s.saying, plain)
	t.lines = append(t.lines, s.inputLines()...)
	return t.lines
}

func (s *Screen) options(t *text) {
	if s.ask.Kind != checklist.AskChoice {
		return
	}
	for i, o := range s.ask.Step.Options {
		sign, say := fmt.Sprintf("%d  ", i+1), o.Key
		switch {
		case o.Say != o.Key && s.width > 50:
			sign, say = fmt.Sprintf("%d  %-14s ", i+1, o.Key), o.Say
		case o.Say != o.Key:
			say = o.Key + ": " + o.Say
		}
		t.hang(t.before, sign, say)
	}
}

// roomToType is the least room for the answer on the line of its question.
const roomToType = 16

// inputLines gives the question in a few words with the line that is typed.
func (s *Screen) inputLines() []line {
	question, input := s.question(), string(s.input)
	if s.namedBy != "" {
		input = strings.Repeat("*", len(s.input))
	}
	room := s.width - len(indent) - 1
	if lipgloss.Width(question)+3+roomToType <= room {
		typed := clippedLeft(input+"_", room-lipgloss.Width(question)-3)
		return []line{{text: indent + strings.ReplaceAll(question, together, " ") + " > " + typed}}
	}
	t := &text{width: s.width}
	t.add(indent, "", question, plain)
	return append(t.lines, line{text: indent + "> " + clippedLeft(input+"_", room-2)})
}

// question says what to type.
func (s *Screen) question() string {
	switch {
	case s.entry.do != "":
		return s.entry.question
	case s.namedBy != "":
		return "PIN of " + prompt.Plain(s.namedBy) + ", or Enter: the record says named, not proved"
	case s.ask.Kind == checklist.AskBlocked:
		return "< or p"
	case s.ask.Kind == checklist.AskRun:
		return s.runQuestion()
	}
	question := s.ask.Prompt
	if s.ask.Digits != "" {
		question += " (or" + together + strings.Join(strings.Split(s.ask.Digits, ""), together) + ")"
	}
	return question
}

// foot says in words what the keys do now, the emergency always.
func (s *Screen) foot() []line {
	keys := s.keysNow()
	if s.height < 20 || s.width >= 80 {
		return []line{s.keyLine(keys, emergencyKey)}
	}
	first := len(s.fitting(keys))
	return []line{s.keyLine(keys[:first]), s.keyLine(keys[first:], emergencyKey)}
}

const emergencyKey = "F1 emergency"

// fitting gives the first keys that fit on a line, before the last ones.
func (s *Screen) fitting(keys []string, last ...string) []string {
	fits := len(keys)
	for fits > 0 && lipgloss.Width(strings.Join(slices.Concat(keys[:fits], last), " · "))+2 > s.width {
		fits--
	}
	return keys[:fits]
}

// keyLine is as many keys as fit on a line, and the last ones in any case.
func (s *Screen) keyLine(keys []string, last ...string) line {
	return line{text: " " + strings.Join(slices.Concat(s.fitting(keys, last...), last), " · ")}
}

// keysNow gives the keys that do something now, the most wanted first.
func (s *Screen) keysNow() []string {
	switch {
	case s.namedBy != "":
		return []string{"Enter releases", "Esc leaves it"}
	case s.entry.do == checklist.AddNote:
		return []string{"Enter keeps the note", "Esc without one"}
	case s.entry.do == checklist.AddPhoto:
		return []string{"Enter keeps the photo", "Esc without one"}
	case s.entry.do == checklist.Correct:
		return []string{"Enter corrects it", "Esc leaves it"}
	case s.entry.do == checklist.Deviate:
		return []string{"Enter keeps it", "Esc without"}
	case s.entry.do != "":
		return []string{"Enter gives the reason", "Esc without one"}
	case s.ask.Kind == checklist.AskRun:
		return s.runKeys()
	}
	var keys []string
	switch s.ask.Kind {
	case checklist.AskTick:
		keys = []string{"Enter or PgDn done"}
	case checklist.AskBlocked:
		return []string{"< and a number back", "p leave it safe", "? help"}
	case checklist.AskWait:
		keys = []string{"Enter when over"}
	default:
		keys = []string{"Enter answer"}
	}
	and := ""
	if s.wordy() {
		and = "+Enter"
	}
	keys = append(keys, "< back", "?"+and+" help", "p"+and+" leave it safe") // help names all the others
	if s.ask.Optional {
		keys = append(keys, "s"+and+" skip")
	}
	return append(keys, "n"+and+" note", "f"+and+" photo", "c"+and+" correct", "w"+and+" why", "g"+and+" glance")
}
