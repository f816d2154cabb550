package wizard

import (
	"io"
	"strings"

	"github.com/charmbracelet/bubbles/key"
	"github.com/charmbracelet/huh"
	"github.com/charmbracelet/lipgloss"
	"github.com/charmbracelet/x/ansi"
	"github.com/muesli/termenv"
)

// painter paints the words that have a colour by ISO 3864. Colours stand on a
// ground of their own, so that they look the same in a light and in a dark
// terminal; without colours the words are bold.
type painter struct {
	words         map[string]lipgloss.Style
	faint, strong lipgloss.Style
	mark          lipgloss.Style // the cursor
}

func newPainter(out io.Writer, colour bool) painter {
	if out == nil {
		out = io.Discard
	}
	r := lipgloss.NewRenderer(out)
	r.SetHasDarkBackground(true) // no colour here depends on it, and asking takes time
	on := func(ground, letters string) lipgloss.Style {
		if !colour {
			return r.NewStyle().Bold(true)
		}
		return r.NewStyle().Bold(true).Background(lipgloss.Color(ground)).Foreground(lipgloss.Color(letters))
	}
	if !colour { // bold and reverse are no colours
		r.SetColorProfile(termenv.ANSI)
	}
	return painter{
		words: map[string]lipgloss.Style{
			"STOP": on("160", "231"), "CAUTION": on("220", "16"), "DO": on("26", "231"), "SAFE": on("28", "231"),
		},
		faint: r.NewStyle().Faint(true), strong: r.NewStyle().Bold(true), mark: r.NewStyle(),
	}
}

// coloured are the words that are painted where a line begins with them.
var coloured = []string{"STOP", "CAUTION", "SAFE", "DO"}

// line paints the word that a line begins with.
func (p painter) line(text string) string {
	inside := strings.TrimLeft(text, " ")
	for _, word := range coloured {
		rest, found := strings.CutPrefix(inside, word)
		if found && (rest == "" || strings.ContainsRune(" :", rune(rest[0]))) {
			return text[:len(text)-len(inside)] + p.words[word].Render(word) + rest
		}
	}
	return text
}

// clipped cuts a text to a width in cells; what was cut is marked.
func clipped(text string, width int) string { return ansi.Truncate(text, max(0, width), "…") }

// filledTo adds spaces to a width in cells.
func filledTo(text string, width int) string {
	return text + strings.Repeat(" ", max(0, width-lipgloss.Width(text)))
}

// theme is how a form looks here: no bar, no frame, nothing in colour. The
// question is bold, and a mark of letters says what is chosen.
func (p painter) theme() *huh.Theme {
	t := &huh.Theme{}
	t.FieldSeparator = lipgloss.NewStyle().SetString("\n")
	t.Focused.Title = p.strong
	t.Focused.SelectSelector = lipgloss.NewStyle().SetString("> ")
	t.Focused.SelectedOption = p.strong
	t.Focused.TextInput.Cursor = p.mark
	t.Blurred = t.Focused
	return t
}

// keymap has the keys that a form takes here: the arrows and Enter. Everything
// else is for the screen around it; the editor and the filter are off.
func keymap() *huh.KeyMap {
	keys := func(k ...string) key.Binding { return key.NewBinding(key.WithKeys(k...)) }
	return &huh.KeyMap{
		Input: huh.InputKeyMap{Next: keys("enter"), Submit: keys("enter")},
		Select: huh.SelectKeyMap{
			Next: keys("enter"), Submit: keys("enter"), Up: keys("up"), Down: keys("down"), GotoTop: keys("home"),
		},
	}
}
