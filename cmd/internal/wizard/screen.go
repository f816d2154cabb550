package wizard

import (
	"context"
	"errors"
	"fmt"
	"strings"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/huh"

	"daytank/cmd/internal/prompt"
	_ "daytank/cmd/internal/quiet" // before the terminal library starts
)

// panel is what the screen shows.
type panel uint8

const (
	panelDrafts   panel = iota // which draft or job to go on with
	panelQuestion              // a question of the table
	panelPlan
	panelPages    // which page to ask in full
	panelFile     // the name of the job file
	panelOver     // whether to write over a file that is there
	panelClock    // when it has to be done
	panelOperator // who does the work
)

// Screen is the face on a full screen: a model of the terminal library around
// one small form at a time. It goes from question to question by itself; the
// form knows only the one that it asks.
type Screen struct {
	*Session
	config  Config
	ctx     context.Context
	painter painter
	width   int
	height  int

	panel   panel
	at      place
	ask     asking
	drafts  []kept
	file    string // that is there already
	walk    bool   // after saving
	helping bool
	saying  string // why an answer was not taken, or what was done
	scroll  int    // of the plan

	result Result
	ended  bool
	err    error
}

// NewScreen makes a screen of 80 columns and 24 rows; a message says when it is
// another.
func NewScreen(ctx context.Context, c Config) (*Screen, error) {
	s := &Screen{config: c, ctx: ctx, width: 80, height: 24, painter: newPainter(c.Out, c.Colour)}
	var err error
	if s.Session, err = Begin(c); err != nil {
		return nil, err
	}
	if s.drafts, err = (shelf{c.Drafts}).open(); err != nil {
		return nil, err
	}
	s.at = s.start()
	if len(s.drafts)+len(c.Open) == 0 {
		s.panel = panelQuestion
	}
	s.build()
	return s, nil
}

// RunScreen asks on a screen. The error is [ErrLeft] with the draft kept, or what
// failed.
func RunScreen(ctx context.Context, c Config) (Result, error) {
	running, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	s, err := NewScreen(running, c)
	if err != nil {
		return Result{}, err
	}
	program := tea.NewProgram(s, tea.WithInput(prompt.UntilEnd(c.In, cancel)), tea.WithOutput(c.Out),
		tea.WithAltScreen(), tea.WithoutSignalHandler())
	// Asked to quit it waits for its reader; with a context of ours it would not.
	defer context.AfterFunc(running, program.Quit)()
	_, err = program.Run()
	switch {
	case s.err != nil:
		err = s.err
	case !s.ended && errors.Is(err, tea.ErrProgramPanic):
		err = fmt.Errorf("the screen has failed: %w", err)
	case !s.ended:
		err = ErrLeft
	default:
		err = nil
	}
	return s.ending(s.result, s.at, err)
}

// Init begins with the form that is there.
func (s *Screen) Init() tea.Cmd { return s.begin() }

// begin has the form take the keys.
func (s *Screen) begin() tea.Cmd {
	if s.ask.form == nil {
		return nil
	}
	return s.ask.form.Init()
}

// Update takes a key or a size.
func (s *Screen) Update(msg tea.Msg) (tea.Model, tea.Cmd) {
	switch msg := msg.(type) {
	case tea.WindowSizeMsg:
		if msg.Width == s.width && msg.Height == s.height {
			return s, nil // the form asks for the size whenever it begins
		}
		s.width, s.height = msg.Width, msg.Height
		return s, s.rebuilt()
	case tea.KeyMsg:
		if cmd, taken := s.key(msg); taken {
			return s, s.quitting(cmd)
		}
	}
	if s.ask.form == nil || s.helping {
		return s, nil
	}
	form, cmd := s.ask.form.Update(msg)
	s.ask.form = form.(*huh.Form)
	// A form says that it is completed by messages of its own, one after another:
	// keys between them would get lost in it. An Enter that it does not refuse
	// completes it at once.
	if k, ok := msg.(tea.KeyMsg); ok && k.String() == "enter" {
		if len(s.ask.form.Errors()) == 0 {
			return s, s.quitting(s.completed(*s.ask.value))
		}
		s.ask.refused = *s.ask.value
	}
	return s, cmd
}

// quitting ends the program once everything is said.
func (s *Screen) quitting(cmd tea.Cmd) tea.Cmd {
	if s.ended || s.err != nil {
		return tea.Quit
	}
	return cmd
}

// rebuilt makes the form anew for another size, with what was typed.
func (s *Screen) rebuilt() tea.Cmd {
	typed := ""
	if s.ask.value != nil {
		typed = *s.ask.value
	}
	if said := s.refusal(); said != "" {
		s.saying = said
	}
	word, not := s.ask.typed, s.ask.refused
	s.build()
	s.typed(typed)
	if s.ask.choice {
		s.ask.typed, s.ask.refused = word, not
	}
	return s.begin()
}

// typed puts a text where it is typed.
func (s *Screen) typed(text string) {
	if s.ask.form != nil && text != "" {
		s.putInField(text)
	}
}

// putInField has the field hold a text.
func (s *Screen) putInField(text string) {
	*s.ask.value = text
	switch field := s.ask.form.GetFocusedField().(type) {
	case *huh.Input:
		field.Value(s.ask.value)
	case *huh.Select[string]:
		field.Value(s.ask.value)
	}
}

// build makes the form of what is asked now.
func (s *Screen) build() {
	s.ask = asking{}
	switch s.panel {
	case panelDrafts:
		s.ask = s.draftForm()
	case panelQuestion:
		if q, ok := s.at.of(); ok {
			s.ask = s.question(q)
		}
	case panelPages:
		s.ask = s.pageForm()
	case panelFile:
		s.ask = s.input("What should the job file be called?", []string{"Enter: " + s.fileName()}, func(string) error { return nil })
	case panelOver:
		s.ask = s.input(s.file+" is there already. Write over it?", []string{"Type over to write over it; Enter alone leaves it."}, func(string) error { return nil })
	case panelClock:
		s.ask = s.input("When does it have to be done?", []string{"A time of day such as 17:30. Enter alone: no matter."}, checkClock)
	case panelOperator:
		s.ask = s.input("Who does the work?", []string{"Your name stands in the record."}, checkName)
	}
}

func checkClock(text string) error {
	if text = strings.TrimSpace(text); text == "" {
		return nil
	}
	_, err := readClock(text)
	return err
}

func checkName(text string) error {
	if strings.TrimSpace(prompt.Plain(text)) == "" {
		return Refusal{"a name is wanted"}
	}
	return nil
}

func (s *Screen) draftForm() asking {
	return s.choose(s.config.unfinished()+".", nil, s.config.beginnings(s.drafts), notChosen)
}

func (s *Screen) pageForm() asking {
	var entries []entry
	for _, p := range pages[:len(pages)-1] {
		entries = append(entries, entry{p.ID, fmt.Sprintf("%-10s %s", p.Title, p.About)})
	}
	return s.choose("Of which page should everything be asked?", nil, entries, notChosen)
}

// show goes to a panel.
func (s *Screen) show(p panel) tea.Cmd {
	s.panel, s.scroll = p, 0
	s.build()
	return s.begin()
}

// goTo goes to a place: a question, or the plan.
func (s *Screen) goTo(at place) tea.Cmd {
	s.at = at
	page := PlanPage
	to := panelPlan
	if q, ok := at.of(); ok {
		page, to = q.Page, panelQuestion
	}
	if err := s.Turn(page); err != nil {
		s.err = err
	}
	return s.show(to)
}

// outcome says what came of an answer or a command, and goes on where it leads.
func (s *Screen) outcome(at place, err error) tea.Cmd {
	if reason, ok := refused(err); ok {
		s.saying = reason
		s.build()
		return s.begin()
	}
	if err != nil {
		s.err = err
		return nil
	}
	s.saying = s.told()
	return s.goTo(at)
}

// completed takes what a form was completed with.
func (s *Screen) completed(value string) tea.Cmd {
	text := prompt.Plain(strings.TrimSpace(value))
	s.saying = ""
	switch s.panel {
	case panelDrafts:
		return s.chosenDraft(text)
	case panelQuestion:
		return s.answered(text)
	case panelPages:
		return s.outcome(s.inFull(Question{}, pageOf(text).Title, atPlan))
	}
	return s.finished(text)
}

func (s *Screen) chosenDraft(text string) tea.Cmd {
	draft, job := s.config.beginning(s.drafts, text)
	switch {
	case job != nil:
		s.result, s.ended = job.walked(), true
		return nil
	case draft != nil:
		s.Session = resume(s.config, *draft)
	}
	return s.goTo(s.start())
}

func (s *Screen) answered(text string) tea.Cmd {
	q, _ := s.at.of()
	c, arg := commandOf(text, q)
	switch {
	case c == help:
		s.helping = true
		s.build()
		return s.begin()
	case c == leave:
		return s.leave()
	case c != noCommand:
		return s.outcome(s.obey(c, arg, s.at))
	case text == "" || q.Kind == Choice && text == s.chosenNow(q): // what stands is kept
		return s.outcome(s.goOn(s.at, s.Skip(q)))
	}
	return s.outcome(s.goOn(s.at, s.Give(s.ctx, q, text)))
}

// finished takes what was typed for the end: file, time or name.
func (s *Screen) finished(text string) tea.Cmd {
	switch s.panel {
	case panelFile:
		if text == "" {
			text = s.fileName()
		}
		s.file = text
		return s.writeFile(false)
	case panelOver:
		if text == "over" {
			return s.writeFile(true)
		}
		s.saying = "The file was left as it is."
	case panelClock:
		err := s.DoneBy(text)
		cmd := s.outcome(atPlan, err)
		if err == nil {
			s.saying = s.startBy()
		}
		return cmd
	case panelOperator:
		return s.saveJob(text)
	}
	return s.goTo(atPlan)
}

func (s *Screen) writeFile(over bool) tea.Cmd {
	err := s.WriteFile(s.file, over)
	if errors.Is(err, errThere) {
		return s.show(panelOver)
	}
	cmd := s.outcome(atPlan, err)
	if err == nil {
		s.result.File = s.file
		s.saying = "Written: " + s.file + "."
	}
	return cmd
}

func (s *Screen) saveJob(operator string) tea.Cmd {
	name, err := s.SaveJob(s.ctx, operator)
	if err != nil {
		return s.outcome(atPlan, err)
	}
	s.result.Job, s.result.Operator, s.result.Walk = name, operator, s.walk
	s.ended = true
	return nil
}

// leave ends the wizard with the draft kept.
func (s *Screen) leave() tea.Cmd {
	s.err = ErrLeft
	return nil
}
