package wizard

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/x/ansi"
)

// seen gives the screen in one line, without what the size does to it.
func (f *fingers) seen() string { return strings.Join(strings.Fields(ansi.Strip(f.s.View())), " ") }

// atEngine is the screen at the list of engines.
func atEngine(t *testing.T) *fingers {
	f := newDesk(t).onScreen()
	f.line("VAN-07")
	return f
}

// An entry of a list is typed by its number or its word; what fits none or several is said
// and not taken.
func TestAListIsTyped(t *testing.T) {
	for typed, want := range map[string]string{
		"rotary": "rotary", "rot": "rotary", "ROTARY": "rotary", "heavy duty": "rail-heavy", "boat-5-1": "boat-5-1", "harbour": "van-2-1",
		"unit-injector": "unit-injector", "9": "rotary", "10": "unit-injector", "11": "unit-injector-heavy", "1": "boat-5-1", "3": "van-2-1",
		"rail": "fits 4 entries", "common rail": "fits ", "v8": "fits no entry", "rotaryx": "fits no entry", "otary": "fits no entry",
		"12": "fits no entry", "100": "fits no entry", "0": "fits no entry",
	} {
		f := atEngine(t)
		f.text(typed)
		f.press(tea.KeyEnter)
		q, _ := f.s.at.of()
		if strings.HasPrefix(want, "fits") {
			f.press(tea.KeyEnter)
			if q, _ = f.s.at.of(); q.Path != enginePath || !strings.Contains(f.seen(), "Not taken: ") || !strings.Contains(f.seen(), want) {
				t.Errorf("%q: at %s:\n%s", typed, q.Path, f.s.View())
			}
			continue
		}
		if got, _ := f.s.Standing(questions()[indexOf(enginePath)]); got != want || q.Path == enginePath {
			t.Errorf("%q chooses %q, want %q:\n%s", typed, got, want, f.s.View())
		}
	}
}

// The letters may come one by one or together, and the last ones can be taken back.
func TestAListIsTypedOn(t *testing.T) {
	f := atEngine(t)
	f.send(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune("rail")})
	if said := f.seen(); !strings.Contains(said, `"rail" fits 4 entries`) || strings.Contains(said, "Not taken") {
		t.Errorf("it says:\n%s", f.s.View())
	}
	f.text("-sx")
	if !strings.Contains(f.seen(), "fits no entry") {
		t.Errorf("it does not say that nothing fits:\n%s", f.s.View())
	}
	f.press(tea.KeyBackspace, tea.KeyBackspace)
	f.text("p")
	f.send(tea.WindowSizeMsg{Width: 70, Height: 30})
	f.text("u")
	if strings.Contains(f.seen(), "fits") || !strings.Contains(f.seen(), "> 6 rail-pumped") {
		t.Errorf("it is not found:\n%s", f.s.View())
	}
}

// After a refused word the next one begins anew, Esc clears it, and an arrow chooses.
func TestAfterARefusedWord(t *testing.T) {
	refused := func() *fingers {
		f := atEngine(t)
		f.text("v8")
		f.press(tea.KeyEnter)
		return f
	}
	f := refused()
	f.text("inline")
	if !strings.Contains(f.seen(), "> 4 inline") || strings.Contains(f.seen(), "fits") {
		t.Errorf("typed anew:\n%s", f.s.View())
	}
	f = refused()
	f.press(tea.KeyEsc)
	if f.ended || strings.Contains(f.seen(), "fits") {
		t.Errorf("Esc does not clear it:\n%s", f.s.View())
	}
	f = refused()
	f.press(tea.KeyDown, tea.KeyEnter)
	if got, _ := f.s.Standing(questions()[indexOf(enginePath)]); got != "boat-5-1" {
		t.Errorf("an arrow chooses %q:\n%s", got, f.s.View())
	}
}

// In a short list a digit takes the place of the one before, and the words for no answer
// can be typed as well.
func TestAShortListIsTyped(t *testing.T) {
	for typed, want := range map[string]string{"13": "indoors", "3": "indoors", "out": "outdoors", "4": ""} {
		f := newDesk(t).onScreen()
		f.until(withAStop, "site.place")
		f.text(typed)
		f.press(tea.KeyEnter)
		if got, _ := f.s.Standing(questions()[indexOf("site.place")]); got != want {
			t.Errorf("%q chooses %q, want %q", typed, got, want)
		}
	}
	f := newDesk(t).onScreen()
	f.until(theVan, "engine.own_feed_pump")
	f.text("no")
	f.press(tea.KeyEnter)
	if got := f.s.Answered(questions()[indexOf("engine.own_feed_pump")]); got != "no" {
		t.Errorf("no answers %q", got)
	}
	f.rune('<')
	f.text("not")
	f.press(tea.KeyEnter)
	if got := f.s.Answered(questions()[indexOf("engine.own_feed_pump")]); got != "not known" {
		t.Errorf("not answers %q", got)
	}
}

// What a kept engine fills in is said at the next question, on the screen and in lines.
func TestAKeptEngineIsSaid(t *testing.T) {
	f := atEngine(t)
	f.text("boat")
	f.press(tea.KeyEnter)
	const want = "Filled in from the kept engine boat-5-1: cylinders "
	if !strings.Contains(f.seen(), want) {
		t.Errorf("it is not said:\n%s", f.s.View())
	}
	f.text("67 °C")
	f.press(tea.KeyEnter)
	if strings.Contains(f.seen(), want) {
		t.Errorf("it is said again:\n%s", f.s.View())
	}
	_, out, _ := newDesk(t).inLines([]string{"VAN-07", "boat-5-1", "p"})
	if !strings.Contains(strings.Join(strings.Fields(out), " "), want) {
		t.Errorf("it is not said in lines:\n%s", out)
	}
	if _, out, _ = newDesk(t).inLines([]string{"VAN-07", "rotary", "p"}); strings.Contains(out, "Filled in") {
		t.Errorf("nothing is filled in:\n%s", out)
	}
}

// Going back to a choice shows the entry that was chosen, whichever it is, and Enter keeps
// it: the figures that were given since stay.
func TestBackToAChoice(t *testing.T) {
	f := newDesk(t).onScreen()
	f.until(theVan, "")
	for _, q := range questions() {
		if q.Kind != Choice || !q.arises(f.s.Look()) {
			continue
		}
		for i := range f.s.entriesOf(q) {
			if !q.arises(f.s.Look()) {
				break
			}
			f.run(f.s.goTo(place{q.Path}))
			f.text(fmt.Sprint(i + 1))
			f.press(tea.KeyEnter)
			for n := 0; f.s.at.path != q.Path && n < 10; n++ {
				f.rune('<')
			}
			if !strings.Contains(f.seen(), fmt.Sprintf("> %d ", i+1)) {
				t.Errorf("%s, entry %d:\n%s", q.Path, i+1, f.s.View())
			}
		}
	}
	f = atEngine(t)
	f.text("boat")
	f.press(tea.KeyEnter)
	idle := questions()[indexOf("engine.idle_speed")]
	if err := f.s.Give(t.Context(), idle, "640 rpm"); err != nil {
		t.Fatal(err)
	}
	f.run(f.s.goTo(place{enginePath}))
	f.press(tea.KeyEnter)
	if got, _ := f.s.Standing(idle); got != "640 rpm" || f.s.at.path == enginePath {
		t.Errorf("at %s the idle speed is %q", f.s.at.path, got)
	}
}

// No question that takes v has an entry that begins with it.
func TestNoEntryBeginsWithAKey(t *testing.T) {
	f := newDesk(t).onScreen()
	for _, q := range questions() {
		if q.Kind != Choice || !q.AtVehicle {
			continue
		}
		if slices.ContainsFunc(q.Options(f.s.Engines), func(o Option) bool { return strings.HasPrefix(o.Word, wordAtVehicle) }) {
			t.Errorf("%s: an entry begins with %s", q.Path, wordAtVehicle)
		}
	}
}
