package wizard

import (
	"errors"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/lipgloss"
	"github.com/charmbracelet/x/ansi"
	"github.com/google/go-cmp/cmp"
)

var update = flag.Bool("update", false, "write the screens anew")

// The same answers on the screen and in plain lines make the same job.
func TestScreenAndLinesMakeTheSameJob(t *testing.T) {
	for name, p := range map[string]script{"the van": theVan, "with a stop": withAStop} {
		inLines := newDesk(t)
		lines := inLines.lines(p)
		if _, _, err := inLines.inLines(lines); err != nil {
			t.Fatal(err)
		}
		onScreen := newDesk(t)
		f := onScreen.onScreen()
		f.lines(lines)
		if len(onScreen.saved) != 1 || !f.ended || f.s.result.Job != "VAN-07/1" {
			t.Fatalf("%s: %d jobs saved\n%s", name, len(onScreen.saved), f.s.View())
		}
		a, b := inLines.saved[0].Basis.Job, onScreen.saved[0].Basis.Job
		if diff := cmp.Diff(string(a.File()), string(b.File())); diff != "" {
			t.Errorf("%s: in lines (-) and on the screen (+):\n%s", name, diff)
		}
	}
	p := theirOwn
	inLines, onScreen := newDesk(t), newDesk(t)
	lines := inLines.lines(p)
	if _, _, err := inLines.inLines(lines); !errors.Is(err, ErrLeft) {
		t.Fatal(err)
	}
	f := onScreen.onScreen()
	f.lines(lines)
	f.press(tea.KeyEsc)
	if !f.ended && f.s.err == nil {
		t.Error("Esc does not leave")
	}
	a, b := inLines.drafts()[0], onScreen.drafts()[0]
	if !a.equalTo(b.Draft) {
		one, _ := a.Encode()
		two, _ := b.Encode()
		t.Errorf("their own: in lines (-) and on the screen (+):\n%s", cmp.Diff(string(one), string(two)))
	}
}

// Keys that come before a form has said to itself that it is completed are for the
// next question, and none is lost.
func TestFastFingers(t *testing.T) {
	slow, fast := newDesk(t), newDesk(t)
	lines := slow.lines(theVan)
	a, b := slow.onScreen(), fast.onScreen()
	b.fast = true
	a.lines(lines)
	b.lines(lines)
	if len(slow.saved) != 1 || len(fast.saved) != 1 {
		t.Fatalf("%d and %d jobs saved\n%s", len(slow.saved), len(fast.saved), b.s.View())
	}
	if diff := cmp.Diff(string(slow.saved[0].Basis.Job.File()), string(fast.saved[0].Basis.Job.File())); diff != "" {
		t.Errorf("slow (-) and fast (+):\n%s", diff)
	}
}

// Enter with another key held is not Enter.
func TestOnlyEnterEnters(t *testing.T) {
	f := newDesk(t).onScreen()
	f.line("VAN-07")
	for _, alt := range []bool{true, false} {
		f.send(tea.KeyMsg{Type: tea.KeyEnter, Alt: alt})
		if q, _ := f.s.at.of(); q.Path != enginePath {
			t.Errorf("Enter, with Alt %v, has chosen: at %s", alt, q.Path)
		}
	}
}

// A choice begins with no answer, and Enter does not make one; nor does Space, nor
// a letter.
func TestNothingIsChosenByItself(t *testing.T) {
	f := newDesk(t).onScreen()
	f.line("VAN-07")
	if view := ansi.Strip(f.s.View()); !strings.Contains(view, "> not chosen yet") {
		t.Fatalf("it begins with an answer:\n%s", view)
	}
	for _, k := range []tea.KeyType{tea.KeyEnter, tea.KeySpace, tea.KeyEnter} {
		f.press(k)
	}
	f.text("yx")
	f.press(tea.KeyEnter)
	if q, _ := f.s.at.of(); q.Path != enginePath {
		t.Errorf("mashing has come to %s", q.Path)
	}
	if !strings.Contains(f.s.View(), "not chosen yet") {
		t.Errorf("it does not say why:\n%s", f.s.View())
	}
}

// From a field with something wrong in it one can go back, and what was answered
// before is there.
func TestBackFromAWrongAnswer(t *testing.T) {
	for _, key := range []tea.KeyType{tea.KeyShiftTab, tea.KeyPgUp} {
		f := newDesk(t).onScreen()
		f.lines([]string{"VAN-07", "rail-pumped"})
		f.text("many")
		f.press(tea.KeyEnter)
		if q, _ := f.s.at.of(); q.Path != "engine.cylinders" || !strings.Contains(f.s.View(), "Not taken") {
			t.Fatalf("at %s:\n%s", q.Path, f.s.View())
		}
		f.press(key)
		if q, _ := f.s.at.of(); q.Path == "engine.cylinders" {
			t.Errorf("%v is a dead end:\n%s", key, f.s.View())
		}
		if text, _ := f.s.Standing(questions()[indexOf(enginePath)]); text != "rail-pumped" {
			t.Errorf("the fuel system is %q", text)
		}
	}
}

// Pasting answers no choice and nothing at the plan.
func TestPasteChoosesNothing(t *testing.T) {
	d := newDesk(t)
	f := d.onScreen()
	f.line("VAN-07")
	f.send(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune("3"), Paste: true})
	f.press(tea.KeyEnter)
	if q, _ := f.s.at.of(); q.Path != enginePath {
		t.Errorf("a paste has chosen: at %s", q.Path)
	}
	d = newDesk(t)
	f = d.onScreen()
	p := theVan
	p.plan = nil
	f.lines(d.lines(p))
	f.send(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune("s"), Paste: true})
	if len(d.saved) != 0 {
		t.Error("a paste has saved a job")
	}
}

// Leaving on every page, by Esc, Ctrl-C and Ctrl-D, keeps what was answered.
func TestLeavingKeepsTheDraft(t *testing.T) {
	lines := newDesk(t).lines(withAStop)
	lines = lines[:len(lines)-3]
	for n := 1; n <= len(lines); n++ {
		for _, key := range []tea.KeyType{tea.KeyEsc, tea.KeyCtrlC, tea.KeyCtrlD} {
			d := newDesk(t)
			f := d.onScreen()
			f.lines(lines[:n])
			if _, asked := f.s.at.of(); asked && key != tea.KeyCtrlD { // which leaves where nothing is typed
				f.text("half an answ")
			}
			f.press(key)
			if !errors.Is(f.s.err, ErrLeft) || len(d.drafts()) != 1 {
				t.Fatalf("after %d answers: %v, %d drafts", n, f.s.err, len(d.drafts()))
			}
			s := resume(d.config, d.drafts()[0])
			if got, _ := s.Standing(questions()[0]); got != "VAN-07" {
				t.Errorf("after %d answers the vehicle is %q", n, got)
			}
		}
	}
}

// sizes are those that the screens are looked at in.
var sizes = []struct{ width, height int }{{80, 24}, {60, 20}, {40, 12}, {120, 40}}

// moments are what is looked at.
var moments = map[string]struct {
	p     script
	until string // the question that is asked; empty: the plan
	typed string
}{
	"first":        {theVan, "asset", ""},
	"choice":       {withAStop, enginePath, ""},
	"refused":      {withAStop, "fluid.flash_point", "67"},
	"half-way":     {withAStop, "rig.return_hose.bore", "8 mm x 1."},
	"plan-stopped": {withAStop, "", ""},
	"plan-ready":   {theVan, "", ""},
}

func (f *fingers) until(p script, path string) {
	f.d.t.Helper()
	p.plan = nil
	for _, l := range f.d.lines(p) {
		if q, ok := f.s.at.of(); ok && q.Path == path {
			return
		}
		f.line(l)
	}
}

// What the screens look like, in text.
func TestScreens(t *testing.T) {
	for name, m := range moments {
		t.Run(name, func(t *testing.T) {
			d := newDesk(t)
			f := d.onScreen()
			f.until(m.p, m.until)
			f.text(m.typed)
			if name == "refused" {
				f.press(tea.KeyEnter)
			}
			var got strings.Builder
			for _, size := range sizes {
				f.send(tea.WindowSizeMsg{Width: size.width, Height: size.height})
				fmt.Fprintf(&got, "%d x %d\n+%s+\n", size.width, size.height, strings.Repeat("-", size.width))
				for _, l := range f.fits(size.width, size.height) {
					fmt.Fprintf(&got, "|%s|\n", filledTo(ansi.Strip(l), size.width))
				}
				fmt.Fprintf(&got, "+%s+\n", strings.Repeat("-", size.width))
			}
			file := filepath.Join("testdata", name+".txt")
			if *update {
				if err := os.MkdirAll("testdata", 0o755); err != nil {
					t.Fatal(err)
				}
				if err := os.WriteFile(file, []byte(got.String()), 0o644); err != nil {
					t.Fatal(err)
				}
				return
			}
			want, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(string(want), got.String()); diff != "" {
				t.Errorf("the screen differs; -update writes it anew:\n%s", diff)
			}
		})
	}
}

// fits gives the lines of the screen, none wider and no more than it has room for.
func (f *fingers) fits(width, height int) []string {
	f.d.t.Helper()
	lines := strings.Split(f.s.View(), "\n")
	if len(lines) > height {
		f.d.t.Errorf("%d x %d: %d lines", width, height, len(lines))
	}
	for _, l := range lines {
		if lipgloss.Width(l) > width {
			f.d.t.Errorf("%d x %d: %d columns: %q", width, height, lipgloss.Width(l), l)
		}
	}
	return lines
}

// At every size from 40 x 12 to 120 x 40 every question is drawn inside it.
func TestEverySize(t *testing.T) {
	d := newDesk(t)
	f := d.onScreen()
	p := withAStop
	p.plan = nil
	for _, l := range d.lines(p) {
		for _, size := range [][2]int{{40, 12}, {41, 13}, {60, 20}, {79, 24}, {100, 30}, {120, 40}} {
			f.send(tea.WindowSizeMsg{Width: size[0], Height: size[1]})
			f.fits(size[0], size[1])
			f.s.helping = true
			f.fits(size[0], size[1])
			f.s.helping = false
		}
		f.line(l)
	}
	for _, size := range [][2]int{{40, 12}, {60, 20}, {120, 40}, {10, 3}, {1, 1}} {
		f.send(tea.WindowSizeMsg{Width: size[0], Height: size[1]})
		f.fits(size[0], size[1])
	}
}

// A window too low or too narrow for anything is drawn all the same, at a question and at the
// plan.
func TestTinyWindows(t *testing.T) {
	d := newDesk(t)
	f := d.onScreen()
	p := withAStop
	p.plan = nil
	lines := d.lines(p)
	at := map[int]bool{0: true, len(lines) / 2: true, len(lines): true}
	for n := range len(lines) + 1 {
		if at[n] {
			f.send(tea.WindowSizeMsg{Width: 80, Height: 24})
			for _, width := range []int{1, 2, 10, 39, 80, 89, 90, 100, 120, 300} {
				for height := 1; height < 12; height++ {
					f.send(tea.WindowSizeMsg{Width: width, Height: height})
					f.fits(width, height)
				}
			}
			f.send(tea.WindowSizeMsg{Width: 80, Height: 24})
		}
		if n < len(lines) {
			f.line(lines[n])
		}
	}
}

// A size that changes while something is typed loses none of it.
func TestResizeKeepsWhatIsTyped(t *testing.T) {
	f := newDesk(t).onScreen()
	f.text("VAN-0")
	f.send(tea.WindowSizeMsg{Width: 50, Height: 14})
	f.text("7")
	f.press(tea.KeyEnter)
	if got := f.s.Asset(); got != "VAN-07" {
		t.Errorf("the vehicle is %q", got)
	}
}

// Marks that turn the direction of reading are not written to the terminal while they stand
// in a field.
func TestNoMarkTurnsTheLine(t *testing.T) {
	f := newDesk(t).onScreen()
	f.text("VAN\u202e-07\u200b")
	if view := f.s.View(); strings.ContainsAny(view, "\u202e\u200b") || !strings.Contains(ansi.Strip(view), "VAN-07") {
		t.Errorf("%q", view)
	}
}

// Without colours the words that stand for them are there, and no code of a colour.
func TestNothingRestsOnColour(t *testing.T) {
	d := newDesk(t)
	f := d.onScreen()
	f.until(withAStop, "")
	view := f.s.View()
	if !strings.Contains(ansi.Strip(view), "STOP: ") {
		t.Errorf("the word is missing:\n%s", view)
	}
	for _, code := range []string{"[3", "[4", ";3", ";4", "[9", "[10"} {
		if strings.Contains(view, code+"8;") || strings.Contains(view, code+"1m") {
			t.Errorf("a colour without colours: %q", view)
		}
	}
	painted := newPainter(nil, true).line("STOP: 1 stop to lift first")
	if ansi.Strip(painted) != "STOP: 1 stop to lift first" {
		t.Errorf("painted it reads %q", painted)
	}
}

// After a refusal the next key begins the answer anew, help and going back work, and Esc
// clears the field before it leaves; a text that was changed since is the user's own.
func TestAfterARefusal(t *testing.T) {
	at := func() *fingers {
		f := newDesk(t).onScreen()
		f.text("a b")
		f.press(tea.KeyEnter)
		if f.s.refusal() == "" || *f.s.ask.value != "a b" {
			t.Fatalf("%q is not refused", *f.s.ask.value)
		}
		return f
	}
	f := at()
	f.text("VAN-07")
	if got := *f.s.ask.value; got != "VAN-07" {
		t.Errorf("typed anew it is %q", got)
	}
	f = at()
	f.press(tea.KeyBackspace)
	f.text("c")
	if got := *f.s.ask.value; got != "a c" {
		t.Errorf("mended it is %q", got)
	}
	f = at()
	f.rune('?')
	if !f.s.helping {
		t.Error("there is no help")
	}
	f = at()
	f.press(tea.KeyEsc)
	if got := *f.s.ask.value; got != "" || f.ended {
		t.Errorf("Esc leaves %q, ended %t", got, f.ended)
	}
	f.press(tea.KeyEsc)
	if !f.ended {
		t.Error("a second Esc does not leave")
	}
}
