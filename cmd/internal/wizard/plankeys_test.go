package wizard

import (
	"strings"
	"testing"

	tea "github.com/charmbracelet/bubbletea"
)

// clock says at the plan when the work has to be done.
func (f *fingers) clock(text string) {
	f.rune('t')
	f.text(text)
	f.press(tea.KeyEnter)
}

// What is no answer leaves the lifts to be taken back: the time at which it has to be done,
// a look at a question, and a page asked in full. It is not taken back with them.
func TestLiftsOutlastWhatIsNoAnswer(t *testing.T) {
	f := newDesk(t).onScreen()
	f.until(withAStop, "")
	f.text("11")
	if !f.s.Forecast().Ready() {
		t.Fatalf("it is not ready:\n%s", f.s.View())
	}
	f.clock("17:30")
	f.text("<")
	f.press(tea.KeyPgDown)
	if err := f.s.More("tank"); err != nil {
		t.Fatal(err)
	}
	for n := range 2 {
		f.text("z")
		if !strings.Contains(f.seen(), "Taken back: ") || len(f.s.Forecast().Stops()) != n+1 {
			t.Errorf("after %d times z:\n%s", n+1, f.s.View())
		}
	}
	if f.s.kept.DoneBy != "17:30" || !f.s.InFull("tank") {
		t.Errorf("done by %q, tank in full %t", f.s.kept.DoneBy, f.s.InFull("tank"))
	}
	f.text("z")
	if strings.Contains(f.seen(), "Taken back") || !strings.Contains(f.seen(), "Not taken: nothing was lifted") {
		t.Errorf("with nothing left:\n%s", f.s.View())
	}
	f.text("s")
	if !strings.Contains(f.seen(), "Not taken: s does nothing at this plan.") {
		t.Errorf("a key without a use:\n%s", f.s.View())
	}
}

// When to start is said at once where it was asked, in the place of what was said before.
func TestStartByOnTheScreen(t *testing.T) {
	for clock, want := range map[string]string{
		"17:30": "To be done by 17:30, start by 13:", "9:10": "That is past: it is 09:00 now.", "": "The work takes about",
	} {
		f := newDesk(t).onScreen()
		f.until(withAStop, "")
		f.text("11")
		f.clock(clock)
		if said := f.seen(); !strings.Contains(said, want) || strings.Contains(said, "Planned again") {
			t.Errorf("%q: %q is not said:\n%s", clock, want, f.s.View())
		}
	}
}

// The help of a question has the words that it takes, and no other.
func TestHelpHasWhatIsTaken(t *testing.T) {
	d := newDesk(t)
	f := d.onScreen()
	f.until(theVan, "")
	for _, path := range []string{"asset", enginePath, "engine.own_feed_pump", "condition.leaks", PlanPage} {
		f.run(f.s.goTo(place{path}))
		q, _ := f.s.at.of()
		f.rune('?')
		view := f.seen()
		var out strings.Builder
		config := d.config
		config.Out = &out
		(&liner{Session: f.s.Session, config: config}).help(q)
		for _, said := range []string{view, strings.Join(strings.Fields(out.String()), " ")} {
			if strings.Contains(said, "will check at the vehicle") != q.AtVehicle || strings.Contains(said, "- not known") != q.NotKnown {
				t.Errorf("%s: v %t, - %t:\n%s", path, q.AtVehicle, q.NotKnown, said)
			}
			if !strings.Contains(said, "the draft is kept") {
				t.Errorf("%s: no word of leaving:\n%s", path, said)
			}
		}
		f.press(tea.KeyEnter)
	}
}
