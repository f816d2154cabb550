package bay

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/charmbracelet/lipgloss"

	"daytank/cmd/internal/prompt"
	"daytank/procedures"
	"daytank/procedures/checklist"
	"daytank/procedures/report"
)

// View draws the screen: exactly as many lines as it has rows, none wider than
// its columns. It notes how far the text can be scrolled.
func (s *Screen) View() string {
	lines := s.lines()
	if len(lines) > s.height {
		lines = lines[:s.height]
	}
	for len(lines) < s.height {
		lines = append(lines, line{})
	}
	painted := make([]string, len(lines))
	for i, l := range lines {
		painted[i] = s.painter.paint(l, s.width)
	}
	return strings.Join(painted, "\n")
}

// The largest terminal that the glance view stands in by itself.
const (
	glanceColumns = 40
	glanceRows    = 12
)

func (s *Screen) lines() []line {
	small := s.width <= glanceColumns || s.height <= glanceRows
	switch {
	case s.over():
		return nil
	case s.panel != noPanel:
		return s.panelLines()
	case s.tooSmall():
		return s.tooSmallLines()
	case small || s.glance:
		return s.glanceLines()
	}
	return s.screenLines()
}

// The smallest terminal in which a step can be read beside its question.
const (
	leastColumns = 30
	leastRows    = 8
)

// tooSmall tells whether there is no room to read what is asked, so that nothing is taken
// for an answer. While the engine runs its levels and the stop are taken at any size.
func (s *Screen) tooSmall() bool {
	return !s.engineRuns() && (s.width < leastColumns || s.height < leastRows)
}

func (s *Screen) tooSmallLines() []line {
	lines := []line{{text: " " + clipped(emergencyKey, s.width-1), tone: strong}}
	say := fmt.Sprintf("Window too small to read the step: %d x %d at least. Nothing is taken until then.", leastColumns, leastRows)
	for _, l := range folded(say, s.width-2) {
		lines = append(lines, line{text: " " + l})
	}
	return lines
}

// screenLines is the whole screen: what was done, the step now, what comes
// next, between the head and the line that says what the keys do.
func (s *Screen) screenLines() []line {
	head, foot := s.head(), s.foot()
	head = append(head, s.rule())
	foot = append([]line{s.rule()}, foot...)
	room := s.height - len(head) - len(foot)
	step, tail := s.step(indent), s.tail()
	around := s.around()
	before, after := around.before, around.after
	if len(tail) > room*2/3 { // options that leave no room for the step scroll with it
		step, tail = append(step, tail[:len(tail)-1]...), tail[len(tail)-1:]
	}
	spare := room - len(step) - len(tail)
	before = before[len(before)-min(len(before), mostBefore, max(0, spare-1)):]
	spare -= len(before)
	after = after[:min(len(after), mostAfter, max(0, spare-1))]
	spare -= len(after)
	if gap := []line{{}}; spare >= 2 { // the step stands apart where there is room
		before, after = append(before, gap...), append(gap, after...)
	}
	step = s.window(step, room-len(before)-len(tail)-len(after))
	body := slices.Concat(before, step, tail, after)
	for len(body) < room {
		body = append(body, line{})
	}
	return append(append(head, body...), foot...)
}

// The steps that are shown around the one now.
const (
	mostBefore = 3
	mostAfter  = 4
)

// roomForMarks is how many lines a text has at least where two of them say that there is
// more of it.
const roomForMarks = 4

// window gives what is seen of a text that may be longer than its room, with
// marks where there is more and room to say so.
func (s *Screen) window(text []line, room int) []line {
	room = max(1, room)
	s.more = false
	if len(text) <= room {
		s.scroll = 0
		return text
	}
	s.scroll = min(s.scroll, len(text)-room)
	seen := append([]line(nil), text[s.scroll:s.scroll+room]...)
	if s.scroll > 0 && room >= roomForMarks {
		seen[0] = line{text: " … above (Up)", tone: faint}
	}
	if s.scroll+room < len(text) {
		s.more = true
	}
	if s.more && room >= roomForMarks {
		seen[len(seen)-1] = line{text: " … more (Down)", tone: faint}
	}
	return seen
}

func (s *Screen) rule() line {
	return line{text: " " + strings.Repeat("-", max(0, s.width-2)), tone: faint}
}

// head says which job and where in it: on one line where that leaves room for
// the title.
func (s *Screen) head() []line {
	name := " " + report.Name(s.Sitting.Summary)
	title := prompt.Plain(s.Sitting.State().List().Title)
	if s.Demo {
		title = "DEMONSTRATION, nobody does this work"
	}
	where, far := s.where()
	const leastTitle = 12
	gap := s.width - lipgloss.Width(name) - lipgloss.Width(where+far) - 4
	if gap >= leastTitle {
		return []line{{text: name + "  " + padded(clipped(title, gap), gap) + " " + where + far}}
	}
	return []line{
		{text: name + "  " + clipped(title, s.width-lipgloss.Width(name)-3)},
		{text: " " + where + far},
	}
}

func padded(text string, width int) string {
	return text + strings.Repeat(" ", max(0, width-lipgloss.Width(text)))
}

// where gives the phase, and how far the walk is in steps and in time.
func (s *Screen) where() (phase, far string) {
	if s.ask.Phase != "" {
		phase = s.ask.Phase + " · "
	}
	if s.ask.Number > 0 {
		far = fmt.Sprintf("%d of %d · ", s.ask.Number, s.ask.Of)
	}
	state := s.Sitting.State()
	return phase, far + fmt.Sprintf("%s of about %s h", hours(s.elapsedMS()), hours(state.List().PlannedMS()))
}

// elapsedMS gives the working time so far: of the steps that have ended, and of
// the one under way.
func (s *Screen) elapsedMS() int64 {
	state := s.Sitting.State()
	var total int64
	for _, step := range state.List().Everything() {
		total += state.TakenMS(step.ID)
	}
	return total + max(0, s.sinceMS())
}

// sinceMS gives how long the step under way has been so.
func (s *Screen) sinceMS() int64 {
	if s.kept.since.IsZero() || s.kept.step != s.ask.Step.ID {
		return 0
	}
	return s.Now().Sub(s.kept.since).Milliseconds()
}

// hours gives a time as hours and minutes, in whole minutes.
func hours(ms int64) string {
	minutes := ms / time.Minute.Milliseconds()
	return fmt.Sprintf("%d:%02d", minutes/60, minutes%60)
}

// surroundings are the steps before and after the one now.
type surroundings struct{ before, after []line }

func (s *Screen) around() surroundings {
	state := s.Sitting.State()
	steps, at := s.series()
	var a surroundings
	if s.engineRuns() {
		return a
	}
	for _, step := range steps[:at] {
		status := state.StatusOf(step)
		took := ""
		if taken := state.TakenMS(step.ID); taken > 0 {
			took = checklist.Clock(taken)
		}
		a.before = append(a.before, s.row(string(status), step.Say, took))
	}
	for i := at; i < len(steps); i++ {
		step := steps[i]
		if step.ID == s.ask.Step.ID || !step.Needed {
			continue
		}
		planned := "about " + minutes(state.List().StepPlannedMS(step))
		a.after = append(a.after, s.row(string(state.StatusOf(step)), step.Say, planned))
	}
	return a
}

// minutes gives a planned time in the minutes it was planned in.
func minutes(ms int64) string {
	if ms < time.Minute.Milliseconds() {
		return fmt.Sprintf("%d s", ms/1000)
	}
	return fmt.Sprintf("%d min", (ms+time.Minute.Milliseconds()/2)/time.Minute.Milliseconds())
}

// row is one line for a step that is not the one now: its mark, what it says,
// and a time at the right.
func (s *Screen) row(mark, say, time string) line {
	if mark == string(checklist.NotNeeded) {
		mark = "not needed"
	}
	begin := fmt.Sprintf("   %-6s", mark)
	if len(mark) > 6 {
		begin = "   " + mark + "  "
	}
	room := s.width - len(begin) - lipgloss.Width(time) - 3
	text := begin + padded(clipped(say, room), room)
	return line{text: strings.TrimRight(text+"  "+time, " "), tone: faint}
}

// series gives the steps that the one now is among, and its place: those of the
// sitting, or of the branch that mends something. Before a first step is asked
// the place is that of the first that is not finished.
func (s *Screen) series() ([]checklist.Step, int) {
	state := s.Sitting.State()
	list := state.List()
	for _, b := range list.Branches {
		for i, step := range b.Steps {
			if step.ID == s.ask.Step.ID {
				return b.Steps, i
			}
		}
	}
	var sitting []checklist.Step
	at := -1
	for _, step := range list.Steps {
		if step.Phase == procedures.FollowUp {
			continue
		}
		status := state.StatusOf(step)
		open := status == checklist.Open || status == checklist.Now
		if at < 0 && (step.ID == s.ask.Step.ID || s.ask.Step.ID == "" && open) {
			at = len(sitting)
		}
		sitting = append(sitting, step)
	}
	if at < 0 {
		at = len(sitting)
	}
	return sitting, at
}
