package wizard

import (
	"fmt"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	tea "github.com/charmbracelet/bubbletea"

	"daytank/cmd/internal/prompt"
)

// entry is one of a list on the screen.
type entry struct {
	value string // what choosing it gives
	text  string // what stands behind its number
}

// fewEntries is how many are told apart by one digit.
const fewEntries = 9

// fittingEntries gives the positions of the entries that a typed number or word fits: the one of
// that number or of exactly that word, else those that begin so, else those that have a word
// that begins so.
func fittingEntries(entries []entry, typed string) []int {
	typed = strings.ToLower(strings.Join(strings.Fields(typed), " "))
	if n, err := strconv.Atoi(typed); err == nil && isDigits(typed) {
		if n < 1 || n > len(entries) {
			return nil
		}
		return []int{n - 1}
	}
	var begin, have []int
	for i, e := range entries {
		text := strings.ToLower(strings.Join(strings.Fields(e.text), " "))
		switch {
		case typed == "":
		case typed == strings.ToLower(e.value) || typed == text:
			return []int{i}
		case strings.HasPrefix(text, typed):
			begin = append(begin, i)
		case hasWord(text, typed):
			have = append(have, i)
		}
	}
	if len(begin) > 0 {
		return begin
	}
	return have
}

// hasWord tells whether a word of a text, or several, begin with what was typed.
func hasWord(text, typed string) bool {
	for at := 0; ; {
		i := strings.Index(text[at:], typed)
		if i < 0 {
			return false
		}
		before, _ := utf8.DecodeLastRuneInString(text[:at+i])
		if at+i == 0 || !unicode.IsLetter(before) && !unicode.IsDigit(before) {
			return true
		}
		_, size := utf8.DecodeRuneInString(text[at+i:])
		at += i + size
	}
}

// pick moves to the entry that is typed, by its number or its words; Enter then takes it.
// What fits none or several is not taken.
func (s *Screen) pick(msg tea.KeyMsg) (tea.Cmd, bool) {
	switch msg.Type {
	case tea.KeyEnter:
		return nil, s.unclear(msg)
	case tea.KeyUp, tea.KeyDown, tea.KeyHome:
		if s.ask.typed != "" {
			s.clear()
		}
		return nil, false
	case tea.KeyBackspace:
		_, size := utf8.DecodeLastRuneInString(s.ask.typed)
		s.seek(s.ask.typed[:len(s.ask.typed)-size])
	case tea.KeySpace:
		if s.ask.typed != "" {
			s.seek(s.ask.typed + " ")
		}
	case tea.KeyRunes:
		if s.untouched() {
			s.clear()
		}
		for _, r := range msg.Runes {
			s.seek(s.ask.joined(r))
		}
	default:
		return nil, false
	}
	return nil, true
}

// joined gives what is typed with one more letter. In a short list a digit takes the place
// of the one before.
func (a asking) joined(r rune) string {
	if len(a.entries) <= fewEntries && isDigits(a.typed) && isDigits(string(r)) {
		return string(r)
	}
	return a.typed + string(r)
}

// seek moves to what is typed, or says why it does not.
func (s *Screen) seek(typed string) {
	if typed == "" && s.ask.typed == "" {
		return
	}
	s.ask.typed, s.saying = typed, ""
	fit := fittingEntries(s.ask.entries, typed)
	if len(fit) != 1 && typed != "" {
		s.saying = s.fits(len(fit)) + "."
	}
	s.ask.form.Update(tea.KeyMsg{Type: tea.KeyHome})
	if len(fit) == 0 {
		return
	}
	for range fit[0] + 1 {
		s.ask.form.Update(tea.KeyMsg{Type: tea.KeyDown})
	}
}

// fits says how many entries what is typed fits.
func (s *Screen) fits(n int) string {
	typed := prompt.Plain(s.ask.typed)
	if n == 0 {
		return fmt.Sprintf("%q fits no entry: type a number of the list or a word of it", typed)
	}
	return fmt.Sprintf("%q fits %d entries: type on, or move with the arrows", typed, n)
}

// unclear refuses an Enter where what is typed is no one entry, and tells whether it did.
func (s *Screen) unclear(msg tea.KeyMsg) bool {
	if msg.String() != "enter" || s.ask.typed == "" {
		return false
	}
	n := len(fittingEntries(s.ask.entries, s.ask.typed))
	if n == 1 {
		return false
	}
	s.saying, _ = refused(Refusal{s.fits(n)})
	if n == 0 {
		s.ask.refused = s.ask.typed
	}
	return true
}
