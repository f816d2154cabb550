package wizard

import (
	"fmt"
	"reflect"
	"runtime"
	"strings"

	tea "github.com/charmbracelet/bubbletea"
)

// fingers drive the screen by messages, as the terminal library does.
type fingers struct {
	d     *desk
	s     *Screen
	fast  bool // faster than any message of the forms to themselves
	ended bool
}

func (d *desk) onScreen() *fingers {
	d.t.Helper()
	s, err := NewScreen(d.t.Context(), d.config)
	if err != nil {
		d.t.Fatal(err)
	}
	f := &fingers{d: d, s: s}
	f.run(s.Init())
	return f
}

func (f *fingers) send(msg tea.Msg) {
	_, cmd := f.s.Update(msg)
	f.run(cmd)
}

// run does what the terminal library does with a command, but for the blinking of a
// cursor.
func (f *fingers) run(cmd tea.Cmd) {
	if cmd == nil || f.fast || strings.Contains(runtime.FuncForPC(reflect.ValueOf(cmd).Pointer()).Name(), "/cursor.") {
		return
	}
	switch msg := cmd().(type) {
	case nil:
	case tea.QuitMsg:
		f.ended = true
	case tea.BatchMsg:
		for _, one := range msg {
			f.run(one)
		}
	default:
		if !strings.Contains(fmt.Sprintf("%T", msg), "cursor.") {
			f.send(msg)
		}
	}
}

func (f *fingers) press(keys ...tea.KeyType) {
	for _, k := range keys {
		f.send(tea.KeyMsg{Type: k})
	}
}

func (f *fingers) rune(r rune) { f.send(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune{r}}) }

func (f *fingers) text(text string) {
	for _, r := range text {
		if r == ' ' {
			f.send(tea.KeyMsg{Type: tea.KeySpace, Runes: []rune{r}})
			continue
		}
		f.rune(r)
	}
}

// line does on the screen what a line does in plain lines.
func (f *fingers) line(line string) {
	f.d.t.Helper()
	q, at := f.s.at.of()
	page, more := strings.CutPrefix(line, "+ ")
	switch {
	case !at && more:
		f.rune('+')
		f.text(fmt.Sprint(pageIndex(page) + 1))
		f.press(tea.KeyEnter)
	case !at:
		f.text(line)
	case line == "+" || line == "<" || line == ">":
		f.text(line)
	case q.Kind == Choice && line == "":
		f.press(tea.KeyTab)
	case q.Kind == Choice:
		for i, o := range q.Options(f.s.Engines) {
			if o.Word != line {
				continue
			}
			f.press(tea.KeyHome)
			for range i + 1 {
				f.press(tea.KeyDown)
			}
			f.press(tea.KeyEnter)
			return
		}
		f.d.t.Fatalf("%s has no option %q", q.Path, line)
	case line == "-":
		f.rune('-')
		f.press(tea.KeyEnter)
	default:
		f.text(strings.TrimSpace(line))
		f.press(tea.KeyEnter)
	}
}

func (f *fingers) lines(lines []string) {
	f.d.t.Helper()
	for _, l := range lines {
		before, _ := f.s.at.of()
		f.line(l)
		if after, _ := f.s.at.of(); after.Path == before.Path && l != "+" && before.Path != "" {
			f.d.t.Fatalf("%s: %q was not taken:\n%s", before.Path, l, f.s.View())
		}
	}
}
