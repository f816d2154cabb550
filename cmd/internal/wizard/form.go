package wizard

import (
	"fmt"
	"strings"

	"github.com/charmbracelet/huh"

	"daytank/cmd/internal/prompt"
)

// notChosen is what a choice begins with; it is no answer.
const notChosen = ""

// asking is one small form on the screen: one question, and what was typed.
type asking struct {
	form    *huh.Form
	value   *string
	choice  bool
	refused string // what was typed last and not taken
	entries []entry
	typed   string // in a list, to move to an entry
	longer  bool   // there are more entries than are seen
}

// input makes a form for a line of text.
func (s *Screen) input(title string, about []string, check func(string) error) asking {
	a := asking{value: new(string)}
	about = s.fitting(title, about, 2)
	field := huh.NewInput().Title(title).Prompt("> ").Value(a.value).Validate(check)
	if len(about) > 0 {
		field.Description(strings.Join(about, "\n"))
	}
	return s.made(a, field)
}

// choose makes a form for one of several answers. It begins with "not chosen
// yet", which is refused.
func (s *Screen) choose(title string, about []string, entries []entry, standing string) asking {
	a := asking{value: &standing, choice: true, entries: entries}
	all := []huh.Option[string]{huh.NewOption("not chosen yet", notChosen)}
	for i, e := range entries {
		all = append(all, huh.NewOption(clipped(fmt.Sprintf("%d  %s", i+1, e.text), s.formWidth()-2), e.value))
	}
	about = s.fitting(title, about, len(all))
	// The options come before the value: a list begins where its value is when it
	// gets its options.
	field := huh.NewSelect[string]().Title(title).Options(all...).Value(a.value).Validate(func(word string) error {
		if word == notChosen {
			return Refusal{"not chosen yet: move with the arrows, or type its number or a word of it"}
		}
		return nil
	})
	if len(about) > 0 {
		field.Description(strings.Join(about, "\n"))
	}
	header := len(folded(title, "", s.formWidth()))
	for _, l := range about {
		header += len(folded(l, "", s.formWidth()))
	}
	// A list of a height of its own begins at what is chosen: only where it has to.
	if rows := s.formRows(); header+len(all) > rows {
		a.longer = true
		field.Height(max(header+1, rows-1))
	}
	return s.made(a, field)
}

// made puts a field into a form of its own, in our own look.
func (s *Screen) made(a asking, field huh.Field) asking {
	a.form = huh.NewForm(huh.NewGroup(field)).WithTheme(s.painter.theme()).WithKeyMap(keymap()).
		WithShowHelp(false).WithShowErrors(false).WithWidth(s.formWidth()).WithHeight(s.formRows())
	return a
}

// fitting gives as much of what there is to say as leaves so many rows below it:
// what comes last gives way first.
func (s *Screen) fitting(title string, about []string, below int) []string {
	room := s.formRows() - below - len(folded(title, "", s.formWidth()))
	var kept []string
	for _, l := range about {
		if l == "" {
			continue
		}
		room -= len(folded(l, "", s.formWidth()))
		if room < 0 {
			break
		}
		kept = append(kept, l)
	}
	return kept
}

// question makes the form of a question.
func (s *Screen) question(q Question) asking {
	about := append([]string{q.Help}, s.stands(q))
	about = append(about, q.Facts(s.Look(), s.Printer)...)
	if q.Kind == Choice {
		return s.choose(q.Ask, about, s.entriesOf(q), s.chosenNow(q))
	}
	return s.input(q.Ask, about, func(text string) error { return s.check(q, text) })
}

// stands says what Enter alone does.
func (s *Screen) stands(q Question) string {
	stands := prompt.Plain(s.Answered(q))
	switch {
	case q.Kind == Choice:
		return ""
	case s.fromEngine(q):
		return "stands, from the kept engine: " + stands + " (Enter keeps it, Up edits it)"
	case stands != "":
		return "stands: " + stands + " (Enter keeps it, Up edits it)"
	case q.AtVehicle:
		return "Enter alone: will check at the vehicle"
	case q.NotKnown:
		return "Enter alone: not known"
	}
	return ""
}

// The words of the commands, as options of a choice.
const (
	wordNotKnown  = "-"
	wordAtVehicle = "v"
)

func (s *Screen) entriesOf(q Question) []entry {
	options := q.Options(s.Engines)
	widest := 0
	for _, o := range options {
		widest = max(widest, len([]rune(o.Word)))
	}
	var all []entry
	add := func(word, say, value string) {
		all = append(all, entry{value, strings.TrimRight(fmt.Sprintf("%-*s  %s", widest, word, say), " ")})
	}
	for _, o := range options {
		add(o.Word, o.Say, o.Word)
	}
	if q.NotKnown {
		add("not known", "", wordNotKnown)
	}
	if q.AtVehicle {
		add("will check at the vehicle", "", wordAtVehicle)
	}
	return all
}

// chosenNow gives the option that stands.
func (s *Screen) chosenNow(q Question) string {
	if text, ok := s.Standing(q); ok {
		return text
	}
	switch s.Answered(q) {
	case "not known":
		return wordNotKnown
	case "":
		return notChosen
	}
	return wordAtVehicle
}

// check refuses what would be refused, without taking anything.
func (s *Screen) check(q Question, text string) error {
	text = prompt.Plain(strings.TrimSpace(text))
	c, _ := commandOf(text, q)
	switch {
	case c == notKnown && !q.NotKnown:
		return s.NotKnown(q)
	case c != noCommand:
		return nil
	case text == "" && (s.Answered(q) != "" || q.NotKnown || q.AtVehicle):
		return nil
	case text == "":
		return s.Skip(q)
	}
	_, err := s.judge(q, text)
	return err
}
