package bay

import (
	"cmp"
	"context"
	"errors"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"daytank/planner"
	"daytank/procedures/checklist"
	"daytank/procedures/store"
)

// panel is what covers the question.
type panel uint8

const (
	noPanel      panel = iota
	panelOpening       // before the first question of a new walk
	panelHelp
	panelLeave  // the list for leaving the work safe
	panelAlarm  // switch off: until it is acknowledged
	panelKeyOff // emergency: what to do first
	panelCards  // emergency: the cards
)

// Screen is the checklist screen: a model of the screen library that can be
// driven without a terminal, by messages. It is made by [New].
type Screen struct {
	Config
	ctx     context.Context
	painter painter
	width   int
	height  int

	ask     checklist.Ask
	hands   hands
	input   []rune // of the line
	level   string // of a reading, typed and waiting for its temperature
	warmth  bool   // the line is a temperature
	before  string // a temperature that was typed before its level
	entry   entry
	namedBy string // at a hold point, whose PIN is wanted
	saying  string // below the step: why an answer was not taken, or that it was
	scroll  int
	more    bool // text below what is seen
	panel   panel
	glance  bool // by key
	kept    keptEvents
	plan    *planner.Plan // where the state has none
	alarm   alarm

	tick    int // the tick that counts; older ones do not
	waiting time.Duration
	bells   int // to be rung

	result Result
	err    error
	word   word
	said   string // last, and since when it stands
	saidAt time.Duration
}

// word is what was typed as a word where a letter acts alone: the letter that acted, and
// those that came right behind it.
type word struct {
	text []rune
	at   time.Duration // of the last one
}

// entry is a line of words that a key has opened.
type entry struct {
	do       checklist.Verb // empty: none
	question string
}

// New makes a screen of 80 columns and 24 rows; a message says when it is
// another. A new walk opens with what comes first; one that was left goes on at
// once.
func New(ctx context.Context, c Config) *Screen {
	s := &Screen{Config: c, ctx: ctx, width: 80, height: 24, painter: newPainter(c.Out, c.Colour), panel: panelOpening}
	s.hands.asked(c.Hands())
	if c.Again {
		s.panel = noPanel
		s.look()
		s.saying = cmp.Or(c.Taken, "Taken up where it was left; everything entered is kept.")
	}
	return s
}

// tickMsg says that time has passed.
type tickMsg struct{ of int }

// backMsg says that the program was suspended and is back, or could not be.
type backMsg struct{ err error }

// Init begins to look at the clock.
func (s *Screen) Init() tea.Cmd { return s.next() }

// Update takes a key, a size or the passing of time.
func (s *Screen) Update(msg tea.Msg) (tea.Model, tea.Cmd) {
	switch msg := msg.(type) {
	case tea.WindowSizeMsg:
		was := s.tooSmall()
		s.width, s.height = msg.Width, msg.Height
		if was { // what is asked can be read from now on
			s.hands.asked(s.Hands())
		}
	case tea.KeyMsg:
		if msg.Type == tea.KeyCtrlZ {
			return s, s.suspend()
		}
		s.key(msg)
	case tickMsg:
		if msg.of != s.tick {
			return s, nil
		}
		s.waiting = 0
		s.forget()
		s.look()
		s.callOut()
	case backMsg:
		s.look()
		s.hands.asked(s.Hands())
		s.saying = "Back."
		if msg.err != nil {
			s.saying = "Not suspended: " + msg.err.Error() + "."
		}
	}
	if s.over() {
		return s, tea.Quit
	}
	return s, tea.Batch(s.ring(), s.next())
}

// remembered is how long something that was said stands.
const remembered = 20 * time.Second

// forget takes away what was said long enough ago: beside what counts on, it would be old.
func (s *Screen) forget() {
	switch now := s.Hands(); {
	case s.saying != s.said:
		s.said, s.saidAt = s.saying, now
	case s.saying != "" && now-s.saidAt >= remembered:
		s.saying = ""
	}
}

func (s *Screen) over() bool { return s.result.Ending != "" || s.err != nil }

// How often the clock is looked at: where something counts on the screen, and
// otherwise, because a proof can lapse.
const (
	counting = time.Second
	quiet    = 30 * time.Second
)

// next waits for the next look at the clock, unless one is waited for already
// that comes soon enough.
func (s *Screen) next() tea.Cmd {
	if s.Sleep == nil || s.panel == panelKeyOff || s.panel == panelCards {
		return nil
	}
	every := quiet
	if s.alarm.loud() || s.ask.Kind == checklist.AskRun || s.ask.Kind == checklist.AskWait && s.ask.LeftMS > 0 {
		every = counting
	}
	if s.waiting > 0 && s.waiting <= every {
		return nil
	}
	s.tick++
	s.waiting = every
	of := s.tick
	return func() tea.Msg {
		s.Sleep(s.ctx, every)
		return tickMsg{of}
	}
}

// ring rings the bell as often as it was called.
func (s *Screen) ring() tea.Cmd {
	if s.bells == 0 {
		return nil
	}
	s.bells = 0
	return func() tea.Msg {
		if s.Out != nil {
			_, _ = s.Out.Write([]byte{'\a'}) // a terminal that takes nothing hears nothing
		}
		if s.Alarm != nil {
			s.Alarm()
		}
		return nil
	}
}

// look asks the sitting what is to be asked now. What time alone has brought is
// stored with it.
func (s *Screen) look() {
	if s.panel == panelKeyOff || s.panel == panelCards || s.over() {
		return
	}
	ask, err := s.Sitting.Ask(s.ctx)
	if err != nil {
		s.failed(err)
		return
	}
	if !same(ask, s.ask) {
		s.fresh(ask)
	}
	s.ask = ask
	if ask.Kind == checklist.AskFinished {
		s.result = Result{Ending: Finished}
		return
	}
	if err := s.kept.read(s.ctx, s.Events, s.Sitting.Summary.Events); err != nil {
		s.failed(err)
	}
	s.heed()
}

// fresh makes ready for a new question. A reading that is being typed is kept
// where the new question takes one as well, and so is an entry.
func (s *Screen) fresh(ask checklist.Ask) {
	running := s.ask.Kind == checklist.AskRun && ask.Kind == checklist.AskRun &&
		s.ask.Run.Part != checklist.RunBaseline && ask.Run.Part != checklist.RunStart
	s.scroll, s.more = 0, false
	if !running {
		s.level, s.warmth, s.before = "", false, ""
		s.entry, s.namedBy = entry{}, ""
		s.input = nil
		s.hands.asked(s.Hands())
		return
	}
	s.hands.changed(s.Hands())
}

// same tells whether two asks are the same question.
func same(a, b checklist.Ask) bool {
	return a.Kind == b.Kind && a.Step.ID == b.Step.ID && a.Finding.Key == b.Finding.Key && a.Field.Name == b.Field.Name &&
		a.Run.Part == b.Run.Part && a.Run.Stage == b.Run.Stage && a.Reason == b.Reason && (a.LeftMS > 0) == (b.LeftMS > 0)
}

// failed says what could not be stored. The screen stays, because an engine may
// be running; it goes where another terminal has taken the job over.
func (s *Screen) failed(err error) {
	if errors.Is(err, store.ErrMoved) {
		s.err = err
		return
	}
	s.saying = "Not kept: " + err.Error() + ". Nothing was taken; try again."
}

// guarded tells whether nothing but a typed line may answer a question.
func guarded(kind checklist.AskKind) bool {
	switch kind {
	case checklist.AskProof, checklist.AskAcknowledge, checklist.AskRelease, checklist.AskSelfCheck:
		return true
	}
	return false
}

// wordy tells whether an answer may begin with any letter, so that a letter by
// itself is no command yet.
func (s *Screen) wordy() bool {
	switch s.ask.Kind {
	case checklist.AskTick, checklist.AskValue, checklist.AskWait, checklist.AskCool, checklist.AskRun, checklist.AskBlocked:
		return false
	}
	return true
}

// engineRuns tells whether the engine is in its run, soaks included.
func (s *Screen) engineRuns() bool {
	return s.ask.Kind == checklist.AskRun && s.ask.Run.Part != checklist.RunBaseline && s.ask.Run.Part != checklist.RunStart
}
