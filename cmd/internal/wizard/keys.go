package wizard

import (
	"fmt"
	"strings"

	tea "github.com/charmbracelet/bubbletea"

	"daytank/cmd/internal/prompt"
)

// key takes the keys that are not for the form, and tells whether it did.
func (s *Screen) key(msg tea.KeyMsg) (tea.Cmd, bool) {
	switch {
	case msg.Type == tea.KeyCtrlC, msg.Type == tea.KeyCtrlD && (s.panel == panelPlan || s.empty()):
		return s.leave(), true
	case s.helping:
		s.helping = false
		return nil, true
	case msg.Type == tea.KeyEsc:
		return s.escape(), true
	case msg.Paste:
		return nil, s.ask.choice || s.panel == panelPlan
	case s.panel == panelPlan:
		return s.planKey(msg), true
	case s.panel == panelQuestion:
		return s.questionKey(msg)
	case s.ask.choice:
		return s.pick(msg)
	}
	return nil, false
}

// escape leaves; where something was opened at the plan, it closes that.
func (s *Screen) escape() tea.Cmd {
	switch s.panel {
	case panelPages, panelFile, panelOver, panelClock, panelOperator:
		return s.goTo(atPlan)
	}
	if s.untouched() { // it is the text that is to go
		s.clear()
		return nil
	}
	return s.leave()
}

// empty tells whether nothing is typed, so that a key can be a command.
func (s *Screen) empty() bool { return s.ask.choice || s.ask.value != nil && *s.ask.value == "" }

// untouched tells whether what was refused stands there as it was typed.
func (s *Screen) untouched() bool {
	if s.ask.choice {
		return s.ask.refused != "" && s.ask.typed == s.ask.refused
	}
	return s.ask.refused != "" && s.ask.value != nil && *s.ask.value == s.ask.refused
}

// clear takes what is typed away.
func (s *Screen) clear() {
	if s.ask.choice {
		s.ask.typed, s.ask.refused, s.saying = "", "", ""
		return
	}
	s.putInField("")
}

func (s *Screen) questionKey(msg tea.KeyMsg) (tea.Cmd, bool) {
	q, _ := s.at.of()
	switch msg.Type {
	case tea.KeyShiftTab:
		return s.outcome(s.obey(back, "", s.at)), true
	case tea.KeyTab:
		return s.outcome(s.goOn(s.at, s.Skip(q))), true
	case tea.KeyPgUp:
		return s.turnPage(-1), true
	case tea.KeyPgDown:
		return s.turnPage(+1), true
	case tea.KeyUp:
		if text, ok := s.Standing(q); ok && s.empty() && !s.ask.choice {
			s.build()
			s.typed(prompt.Plain(text))
			return s.begin(), true
		}
	}
	if msg.Type == tea.KeyRunes && s.untouched() { // what is typed now takes its place
		s.clear()
	}
	if len(msg.Runes) == 1 && s.empty() {
		switch c, _ := commandOf(string(msg.Runes), q); c {
		case help:
			s.helping = true
			return nil, true
		case back, onward, more:
			return s.outcome(s.obey(c, "", s.at)), true
		case notKnown, atVehicle:
			if s.ask.choice && s.ask.typed == "" {
				return s.outcome(s.obey(c, "", s.at)), true
			}
		}
	}
	if s.ask.choice {
		return s.pick(msg)
	}
	return nil, false
}

// turnPage goes to the first question of the page before or after.
func (s *Screen) turnPage(by int) tea.Cmd {
	q, _ := s.at.of()
	for i := pageIndex(q.Page) + by; i >= 0 && i < len(pages); i += by {
		if pages[i].ID == PlanPage {
			return s.outcome(atPlan, nil)
		}
		if len(s.Asked(pages[i].ID)) > 0 {
			return s.outcome(s.firstOf(pages[i].ID), nil)
		}
	}
	return nil
}

func (s *Screen) planKey(msg tea.KeyMsg) tea.Cmd {
	switch msg.Type {
	case tea.KeyShiftTab:
		return s.outcome(s.before(atPlan), nil)
	case tea.KeyUp:
		s.scroll--
	case tea.KeyDown, tea.KeyEnter:
		s.scroll++
	case tea.KeyPgUp:
		s.scroll -= s.planRoom()
	case tea.KeyPgDown, tea.KeySpace:
		s.scroll += s.planRoom()
	case tea.KeyHome:
		s.scroll = 0
	case tea.KeyRunes:
		return s.planRune(strings.ToLower(string(msg.Runes)))
	}
	return nil
}

// planRune does what a letter or a number at the plan stands for.
func (s *Screen) planRune(text string) tea.Cmd {
	switch text {
	case "?":
		s.helping = true
		return nil
	case "<":
		return s.outcome(s.before(atPlan), nil)
	case ">":
		return s.outcome(s.onward(), nil)
	case "+":
		return s.show(panelPages)
	case "p":
		return s.leave()
	}
	for _, a := range s.actions() {
		if a.key == text {
			return s.do(a)
		}
	}
	if text == keyBack {
		_, err := s.takenBack()
		return s.outcome(atPlan, err)
	}
	return s.outcome(atPlan, Refusal{fmt.Sprintf("%s does nothing at this plan", prompt.Plain(text))})
}

func (s *Screen) do(a action) tea.Cmd {
	s.saying = ""
	switch {
	case a.lift != nil:
		err := s.Lift(*a.lift)
		cmd := s.outcome(atPlan, err)
		if err == nil {
			s.saying = "Done: " + s.Printer.Phrase(a.lift.Lift) + ". Planned again."
		}
		return cmd
	case a.key == keyBack:
		said, err := s.takenBack()
		cmd := s.outcome(atPlan, err)
		if err == nil {
			s.saying = said
		}
		return cmd
	case a.key == keyFile:
		return s.show(panelFile)
	case a.key == keyClock:
		return s.show(panelClock)
	}
	s.walk = a.key == keyWalk
	if s.Operator == "" {
		return s.show(panelOperator)
	}
	return s.saveJob(s.Operator)
}
