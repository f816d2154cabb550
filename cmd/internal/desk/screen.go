package desk

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/lipgloss"

	"daytank/cmd/internal/prompt"
	_ "daytank/cmd/internal/quiet" // before the terminal library starts
	"daytank/procedures/record"
	"daytank/procedures/report"
)

// ScreenConfig is the terminal that the desk is shown on.
type ScreenConfig struct {
	In     io.Reader
	Out    io.Writer
	Colour bool
}

// RunScreen holds the conversation of a desk on a full screen. The error is that of
// [Desk.Run], or [prompt.ErrEnd] where the person left in the middle.
func RunScreen(ctx context.Context, c Config, first *record.Summary, on ScreenConfig) error {
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	s := &screen{columns: 80, width: 80, height: 24, colour: on.Colour, closed: make(chan struct{})}
	program := tea.NewProgram(s, tea.WithInput(prompt.UntilEnd(on.In, cancel)), tea.WithOutput(on.Out), tea.WithAltScreen(), tea.WithoutSignalHandler())
	defer context.AfterFunc(ctx, program.Quit)()
	ended := make(chan error, 1)
	go func() {
		ended <- New(c, &window{program: program, screen: s}).Run(ctx, first)
		program.Send(overMsg{})
	}()
	_, err := program.Run()
	close(s.closed)
	if failed := <-ended; failed != nil || err == nil {
		return failed
	}
	return fmt.Errorf("the screen has failed: %w", err)
}

// window is the face that the conversation, which runs beside the screen, talks to.
type window struct {
	program *tea.Program
	screen  *screen
}

type (
	pageMsg string
	sayMsg  string
	overMsg struct{}
	askMsg  struct {
		question string
		secret   bool
		answer   chan<- string
	}
)

func (w *window) Page(text string) { w.program.Send(pageMsg(text)) }
func (w *window) Say(text string)  { w.program.Send(sayMsg(text)) }

// Columns is how wide a page is made; a narrower window folds it.
func (w *window) Columns() int { return w.screen.columns - 1 }

func (w *window) Ask(ctx context.Context, question string) (string, error) {
	return w.ask(ctx, question, false)
}

func (w *window) Secret(ctx context.Context, question string) (string, error) {
	return w.ask(ctx, question, true)
}

func (w *window) ask(ctx context.Context, question string, secret bool) (string, error) {
	answer := make(chan string, 1)
	w.program.Send(askMsg{question, secret, answer})
	select {
	case text, open := <-answer:
		if !open {
			return "", prompt.ErrEnd
		}
		return text, nil
	case <-w.screen.closed:
	case <-ctx.Done():
	}
	return "", errors.Join(prompt.ErrEnd, context.Cause(ctx))
}

// screen shows a page that can be scrolled, what was said, and the question.
type screen struct {
	columns       int
	width, height int
	colour        bool
	page          []string
	scroll        int
	said          []string
	asked         *askMsg
	input         []rune
	closed        chan struct{}
}

func (s *screen) Init() tea.Cmd { return nil }

// longestInput is how many characters a line takes; the rest of it is dropped.
const longestInput = 2000

func (s *screen) Update(msg tea.Msg) (tea.Model, tea.Cmd) {
	switch m := msg.(type) {
	case tea.WindowSizeMsg:
		s.width, s.height = max(m.Width, 10), max(m.Height, 4)
	case pageMsg:
		s.page, s.scroll = strings.Split(strings.TrimRight(string(m), "\n"), "\n"), 0
	case sayMsg:
		s.said = append(s.said, string(m))
	case askMsg:
		s.asked, s.input = &m, nil
	case overMsg:
		return s, tea.Quit
	case tea.KeyMsg:
		return s, s.key(m)
	}
	return s, nil
}

func (s *screen) key(k tea.KeyMsg) tea.Cmd {
	switch k.Type {
	case tea.KeyCtrlC:
		s.end()
	case tea.KeyCtrlD:
		if len(s.input) == 0 {
			s.end()
		}
	case tea.KeyDown:
		s.move(1)
	case tea.KeyUp:
		s.move(-1)
	case tea.KeyPgDown:
		s.move(max(1, s.room()-1))
	case tea.KeyPgUp:
		s.move(-max(1, s.room()-1))
	case tea.KeyHome:
		s.scroll = 0
	case tea.KeyEnd:
		s.move(len(s.page) * 3)
	case tea.KeyEnter:
		s.give()
	case tea.KeyEsc, tea.KeyCtrlU:
		s.input = nil
	case tea.KeyBackspace, tea.KeyCtrlH:
		s.input = s.input[:max(0, len(s.input)-1)]
	case tea.KeyRunes, tea.KeySpace:
		if !k.Alt {
			s.input = append(s.input, []rune(report.Plain(string(k.Runes)))...)
			s.input = s.input[:min(len(s.input), longestInput)]
		}
	}
	return nil
}

// end leaves in the middle: what was answered until then is kept.
func (s *screen) end() {
	if s.asked != nil {
		close(s.asked.answer)
		s.asked = nil
	}
}

func (s *screen) give() {
	if s.asked == nil {
		return
	}
	text := strings.TrimSpace(string(s.input))
	if s.asked.secret {
		text = string(s.input)
	}
	s.asked.answer <- text
	s.asked, s.input, s.said = nil, nil, nil
}

func (s *screen) move(lines int) {
	s.scroll = max(0, min(s.scroll+lines, len(s.folded())-s.room()))
}

// foot is what stands below the page: what was said, and the question.
func (s *screen) foot() []string {
	var lines []string
	for _, text := range s.said {
		lines = append(lines, strings.Split(report.Wrap(text, " ", s.width-1), "\n")...)
	}
	if s.asked == nil {
		return append(lines, " ...")
	}
	typed := string(s.input)
	if s.asked.secret {
		typed = strings.Repeat("*", len(s.input))
	}
	question := strings.Split(report.Wrap(s.asked.question, " ", s.width-1), "\n")
	last := question[len(question)-1] + " " + typed + "_"
	if lipgloss.Width(last) > s.width-1 {
		room := max(1, s.width-5)
		cut := s.input[max(0, len(s.input)-room):]
		if s.asked.secret {
			typed = strings.Repeat("*", len(cut))
		} else {
			typed = string(cut)
		}
		lines = append(append(lines, question...), " > "+typed+"_")
	} else {
		lines = append(append(lines, question[:len(question)-1]...), last)
	}
	return lines[max(0, len(lines)-s.height+2):]
}

func (s *screen) room() int { return max(1, s.height-len(s.foot())-1) }

// folded gives the page in lines that fit the window.
func (s *screen) folded() []string {
	var lines []string
	for _, l := range s.page {
		for lipgloss.Width(l) > s.width-1 {
			runes := []rune(l)
			n := min(len(runes), s.width-1)
			lines = append(lines, string(runes[:n]))
			l = string(runes[n:])
		}
		lines = append(lines, l)
	}
	return lines
}

// alarming are the words of a page that stand out.
var alarming = []string{"NOT TO BE TRUSTED", "RECORD DAMAGED", "VOID", "STOP", "EMERGENCY"}

func (s *screen) View() string {
	page, room := s.folded(), s.room()
	s.scroll = max(0, min(s.scroll, len(page)-room))
	seen := page[s.scroll:min(len(page), s.scroll+room)]
	var b strings.Builder
	for i := range room {
		line := ""
		if i < len(seen) {
			line = seen[i]
		}
		b.WriteString(s.painted(line) + "\n")
	}
	rule := strings.Repeat("-", s.width-1)
	if hidden := len(page) - s.scroll - room; hidden > 0 {
		more := fmt.Sprintf(" %d more lines: Down, PgDn ", hidden)
		rule = rule[:max(0, len(rule)-len(more))] + more
	}
	b.WriteString(rule[:min(len(rule), s.width-1)] + "\n")
	b.WriteString(strings.Join(s.foot(), "\n"))
	return b.String()
}

// painted makes a line stand out that says what must not be overlooked.
func (s *screen) painted(line string) string {
	if !s.colour {
		return line
	}
	for _, word := range alarming {
		if strings.Contains(line, word) {
			return lipgloss.NewStyle().Bold(true).Render(line)
		}
	}
	return line
}
