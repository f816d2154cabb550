package wizard

import (
	"cmp"
	"fmt"
	"strings"
	"unicode"

	"daytank/cmd/internal/prompt"
	"daytank/procedures/report"
)

// The plan forms beside the question where the screen is this wide, in so many
// columns; below it where it is not.
const (
	wideScreen  = 100
	besideWidth = 34
)

func (s *Screen) wide() bool { return s.width >= wideScreen }

// formWidth is how wide a question may be.
func (s *Screen) formWidth() int {
	width := s.width - 3
	if s.wide() {
		width -= besideWidth + 2
	}
	return max(16, width)
}

// formRows is how many rows a question may take: the head, the line of keys and
// the plan below it keep theirs.
func (s *Screen) formRows() int {
	rows := s.height - 6
	if !s.wide() {
		rows -= s.belowRows()
	}
	return max(4, rows)
}

// belowRows is how much of the plan is seen below a question.
func (s *Screen) belowRows() int {
	switch {
	case s.height < 22:
		return 2
	default:
		return 5
	}
}

// View draws the screen: exactly as many lines as it has rows, none wider than
// its columns.
func (s *Screen) View() string {
	if s.ended || s.err != nil {
		return ""
	}
	head := []string{s.headLine(), s.rule()}
	foot := append([]string{s.rule()}, s.keyLines()...)
	room := max(1, s.height-len(head)-len(foot))
	body := s.body(room)
	for len(body) < room {
		body = append(body, "")
	}
	lines := append(append(head, body[:room]...), foot...)
	for i := range lines {
		lines[i] = clipped(lines[i], s.width)
	}
	return strings.Join(lines[:min(len(lines), s.height)], "\n")
}

func (s *Screen) body(room int) []string {
	switch {
	case s.helping:
		return s.helpLines(room)
	case s.panel == panelPlan:
		return s.planBody(room)
	case s.panel == panelQuestion:
		return s.questionBody(room)
	}
	return s.formLines(room)
}

func (s *Screen) rule() string {
	return s.painter.faint.Render(" " + strings.Repeat("-", max(0, s.width-2)))
}

// headLine says which vehicle and where one is.
func (s *Screen) headLine() string {
	left := " new job"
	if asset := s.Asset(); asset != "" {
		left = " " + prompt.Plain(asset)
	}
	right := ""
	switch q, ok := s.at.of(); {
	case s.panel == panelDrafts:
	case ok:
		right = s.pageLine(q)
	default:
		right = fmt.Sprintf("%s, page %d of %d", pageOf(PlanPage).Title, len(pages), len(pages))
	}
	gap := s.width - len([]rune(left)) - len([]rune(right)) - 1
	if gap < 2 {
		return left + "  " + right
	}
	return s.painter.strong.Render(left) + strings.Repeat(" ", gap) + right
}

// keyLines says in words what the keys do now.
func (s *Screen) keyLines() []string {
	text := "Enter takes it · Esc back to the plan"
	switch {
	case s.helping:
		text = "any key goes back"
	case s.panel == panelDrafts:
		text = "Arrows, number, word, then Enter · Esc leaves"
	case s.panel == panelPlan:
		text = s.planKeys()
	case s.panel == panelPages:
		text = "Arrows, number, word, then Enter · Esc back to the plan"
	case s.ask.choice:
		text = "Arrows, number, word, Enter · < back · > open · + more · ? help · Esc leaves"
	case s.panel == panelQuestion:
		text = "Enter takes it · < back · > open ones · + more · ? help · Esc leaves"
	}
	return folded(text, " ", s.width-1)
}

func (s *Screen) planKeys() string {
	var parts []string
	for _, a := range s.actions() {
		switch {
		case a.lift != nil:
			parts = append(parts, a.key+" lifts "+a.lift.Rule)
		case a.key == keyBack:
			parts = append(parts, "z takes back")
		case a.key == keySave:
			parts = append(parts, "s save")
		case a.key == keyWalk:
			parts = append(parts, "w walk")
		case a.key == keyFile:
			parts = append(parts, "f file")
		case a.key == keyClock:
			parts = append(parts, "t time")
		}
	}
	return strings.Join(append(parts, "Up, Down", "< back", "+ more", "? help", "Esc leaves"), " · ")
}

// withoutMarks takes out of a painted line what has no look of its own: marks that turn the
// direction of reading, which a paste may bring into a field. The colours stay.
func withoutMarks(painted string) string {
	return strings.Map(func(r rune) rune {
		if r > unicode.MaxASCII && report.Unseen(r) {
			return -1
		}
		return r
	}, painted)
}

// formLines gives the form as lines, and below it what is to be said of it.
func (s *Screen) formLines(room int) []string {
	var lines []string
	if s.ask.form != nil {
		for l := range strings.SplitSeq(strings.TrimRight(s.ask.form.View(), "\n "), "\n") {
			lines = append(lines, " "+strings.TrimRight(withoutMarks(l), " "))
		}
	}
	for len(lines) > 1 && strings.TrimSpace(lines[len(lines)-1]) == "" {
		lines = lines[:len(lines)-1]
	}
	if s.ask.longer {
		lines = append(lines, s.painter.faint.Render(fmt.Sprintf("   … %d in all: Up and Down show them", len(s.ask.entries))))
	}
	said := s.saidLines()
	if over := len(lines) + len(said) - room; over > 0 && len(said) > 0 {
		said = said[:max(1, len(said)-over)]
	}
	return append(lines, said...)
}

// saidLines says why an answer was not taken, or what was done.
func (s *Screen) saidLines() []string {
	text := cmp.Or(s.refusal(), s.saying)
	if text == "" {
		return nil
	}
	return folded(text, " ", s.formWidth()+1)
}

// refusal says why the form has not taken what was typed; empty where it has.
func (s *Screen) refusal() string {
	text := ""
	if s.ask.form != nil {
		for _, err := range s.ask.form.Errors() {
			if reason, ok := refused(err); ok {
				text = reason
			} else {
				text = "Not taken: " + err.Error() + "."
			}
		}
	}
	return text
}

// questionBody is a question with what was answered on its page before it, what
// comes next, and the plan as far as it has come.
func (s *Screen) questionBody(room int) []string {
	q, _ := s.at.of()
	beside := s.besideLines()
	if !s.wide() {
		room -= len(beside)
	}
	form := s.formLines(room)
	before, after := s.around(q)
	spare := room - len(form) - 1
	before = before[len(before)-min(len(before), max(0, spare)):]
	spare -= len(before)
	after = after[:min(len(after), max(0, spare-1))]
	var body []string
	body = append(body, before...)
	if len(before) > 0 && spare > 0 {
		body = append(body, "")
	}
	body = append(body, form...)
	if len(after) > 0 && room-len(body)-len(after) > 0 {
		body = append(append(body, ""), after...)
	}
	if s.wide() {
		return s.sideBySide(body, beside, room)
	}
	for len(body) < room {
		body = append(body, "")
	}
	return append(body, beside...)
}

// around gives the questions of the page before and after one, with their
// answers.
func (s *Screen) around(q Question) (before, after []string) {
	for _, other := range s.Asked(q.Page) {
		answer := prompt.Plain(s.Answered(other))
		switch i := indexOf(other.Path); {
		case i < indexOf(q.Path) && answer == "":
			before = append(before, s.row("open", other.Name, ""))
		case i < indexOf(q.Path):
			before = append(before, s.row("done", other.Name, answer))
		case i > indexOf(q.Path) && answer == "":
			after = append(after, s.row("open", other.Name, ""))
		case i > indexOf(q.Path):
			after = append(after, s.row("done", other.Name, answer))
		}
	}
	return before, after
}

func (s *Screen) row(mark, name, answer string) string {
	text := fmt.Sprintf(" %-5s %-24s %s", mark, name, answer)
	return s.painter.faint.Render(clipped(strings.TrimRight(text, " "), s.formWidth()+1))
}

// besideLines is the plan so far, as wide as its place.
func (s *Screen) besideLines() []string {
	width, most := s.width-2, s.belowRows()
	if s.wide() {
		width, most = besideWidth, s.height-5
	}
	var lines []string
	for _, l := range s.Forecast().briefly(s.Session) {
		lines = append(lines, folded(l, "", width)...)
	}
	if !s.wide() && most < 5 {
		lines = folded(strings.Join(s.Forecast().briefly(s.Session), "; "), "", width)
	}
	if most = max(0, most); len(lines) > most {
		lines = lines[:most]
		if most > 0 {
			lines[most-1] += " …"
		}
	}
	for i := range lines {
		lines[i] = " " + s.painter.line(strings.Join(strings.Fields(lines[i]), " "))
	}
	return lines
}

func (s *Screen) sideBySide(body, beside []string, room int) []string {
	beside = append([]string{s.painter.strong.Render(" the plan so far")}, beside...)
	var lines []string
	for i := range room {
		left, right := "", ""
		if i < len(body) {
			left = body[i]
		}
		if i < len(beside) {
			right = beside[i]
		}
		lines = append(lines, filledTo(clipped(left, s.formWidth()+2), s.formWidth()+3)+right)
	}
	return lines
}

// planRoom is how many rows of the plan are seen at once.
func (s *Screen) planRoom() int {
	return max(1, s.height-3-len(s.keyLines())-len(s.saidLines())-1)
}

// planBody is the plan, as far as it is scrolled.
func (s *Screen) planBody(room int) []string {
	said := s.saidLines()
	var top []string
	if f := s.Forecast(); f.Made {
		top = []string{" " + s.painter.line(s.shortly())}
	}
	for _, a := range s.actions() {
		if a.lift != nil && len(top) < room/2 {
			top = append(top, folded(a.key+"  "+a.say, "   ", s.width-2)...)
		}
	}
	text := s.planLines(s.width - 3)
	seen := max(1, room-len(said)-len(top))
	s.scroll = max(0, min(s.scroll, len(text)-seen))
	window := append([]string(nil), text[s.scroll:min(len(text), s.scroll+seen)]...)
	if s.scroll+seen < len(text) {
		window[len(window)-1] = s.painter.faint.Render("… more (Down, or Space for a page)")
	}
	lines := append(top, said...)
	for _, l := range window {
		lines = append(lines, " "+s.painter.line(l))
	}
	return lines
}

// helpLines says what the words and keys do, and what the question is for.
func (s *Screen) helpLines(room int) []string {
	var lines []string
	q, ok := s.at.of()
	if ok && s.panel == panelQuestion {
		lines = append(lines, folded(q.Ask+" "+q.Help, " ", s.width-1)...)
		for _, fact := range q.Facts(s.Look(), s.Printer) {
			lines = append(lines, folded(fact, " ", s.width-1)...)
		}
		lines = append(lines, folded("in the job file: "+strings.Join(q.Paths(), ", "), " ", s.width-1)...)
	} else {
		for _, a := range s.actions() {
			lines = append(lines, folded(a.key+"  "+a.say, " ", s.width-1)...)
		}
	}
	for _, m := range q.means() {
		lines = append(lines, " "+m)
	}
	lines = append(lines, " Tab, Shift-Tab: on and back; PgUp, PgDn: a page back and on", " Ctrl-C or Esc: leave; the draft is kept")
	return lines[:min(len(lines), room)]
}
