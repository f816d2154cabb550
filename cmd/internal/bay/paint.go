package bay

import (
	"io"
	"strings"

	"github.com/charmbracelet/lipgloss"
	"github.com/charmbracelet/x/ansi"
	"github.com/muesli/termenv"
)

// tone is a colour with a meaning.
type tone uint8

const (
	plain   tone = iota
	stop         // red, with STOP
	caution      // yellow, with CAUTION
	must         // blue, with DO
	safe         // green, with SAFE
	faint        // of no weight now
	strong       // of weight now
)

// line is one line of a screen: text, and a part of it that is painted.
type line struct {
	text string
	word string // painted in tone where it first stands; empty: all of it
	tone tone
}

// painter paints. Colours stand on a ground of their own, so that they look the
// same in a light and in a dark terminal.
type painter struct{ styles map[tone]lipgloss.Style }

func newPainter(out io.Writer, colour bool) painter {
	if out == nil {
		out = io.Discard
	}
	r := lipgloss.NewRenderer(out)
	r.SetHasDarkBackground(true) // no colour here depends on it, and asking takes time
	if !colour {
		r.SetColorProfile(termenv.Ascii)
	}
	return painterOf(r)
}

func painterOf(r *lipgloss.Renderer) painter {
	on := func(ground, letters string) lipgloss.Style {
		return r.NewStyle().Bold(true).Background(lipgloss.Color(ground)).Foreground(lipgloss.Color(letters))
	}
	return painter{map[tone]lipgloss.Style{
		stop: on("160", "231"), caution: on("220", "16"), must: on("26", "231"), safe: on("28", "231"),
		faint: r.NewStyle().Faint(true), strong: r.NewStyle().Bold(true),
	}}
}

// paint gives a line as it is written, cut to a width with a mark where it is
// longer.
func (p painter) paint(l line, width int) string {
	text := clipped(l.text, width)
	style, ok := p.styles[l.tone]
	if !ok || text == "" {
		return text
	}
	if l.word == "" {
		return style.Render(text)
	}
	before, after, found := strings.Cut(text, l.word)
	if !found {
		return text
	}
	return before + style.Render(l.word) + after
}

// clipped cuts a text to a width in cells; what was cut is marked.
func clipped(text string, width int) string { return ansi.Truncate(text, max(0, width), "…") }

// clippedLeft keeps the end of a text; what was cut is marked.
func clippedLeft(text string, width int) string {
	over := lipgloss.Width(text) - width
	if over <= 0 {
		return text
	}
	return ansi.TruncateLeft(text, over+1, "…")
}

// together is a space at which no line is broken.
const together = "\u00a0"

// folded breaks a text into lines of at most a width, at spaces where there are
// any. There is at least one line.
func folded(text string, width int) []string {
	lines := strings.Split(ansi.Wrap(text, max(1, width), ""), "\n")
	for i := range lines {
		lines[i] = strings.ReplaceAll(strings.TrimRight(lines[i], " "), together, " ")
	}
	return lines
}
