package wizard

import (
	"errors"
	"strings"
	"testing"

	tea "github.com/charmbracelet/bubbletea"
)

// A job that was left part way is offered before the first question, after the drafts; it is
// walked on, or something new is begun.
func TestOpenJobsAreOffered(t *testing.T) {
	open := []OpenJob{{"VAN-07/1", "Van 7, spring service", "left part way"}}
	const offered = "walk VAN-07/1, Van 7, spring service: left part way"
	for _, drafts := range []string{"", "VAN-09"} {
		d := newDesk(t)
		number := "1"
		if drafts != "" {
			if _, _, err := d.inLines([]string{drafts, "p"}); !errors.Is(err, ErrLeft) {
				t.Fatal(err)
			}
			number = "2"
		}
		d.config.Open = open
		r, out, err := d.inLines([]string{number})
		if want := (Result{Job: "VAN-07/1", Walk: true}); err != nil || r != want || !strings.Contains(out, number+" "+offered) {
			t.Errorf("in lines %+v, %v:\n%s", r, err, out)
		}
		f := d.onScreen()
		if !strings.Contains(f.seen(), number+" "+offered) {
			t.Errorf("not offered:\n%s", f.s.View())
		}
		f.text("van-07/1")
		f.press(tea.KeyEnter)
		if r := f.s.result; !f.ended || r.Job != "VAN-07/1" || !r.Walk {
			t.Errorf("%+v, ended %t", r, f.ended)
		}
		f = d.onScreen()
		f.text("new")
		f.press(tea.KeyEnter)
		if q, _ := f.s.at.of(); q.Path != "asset" || f.s.panel != panelQuestion || f.s.Asset() != "" {
			t.Errorf("new is at %s:\n%s", q.Path, f.s.View())
		}
		if _, out, _ := d.inLines([]string{"9", "new", "VAN-11"}); !strings.Contains(out, "Type one of the numbers, or new.") || !strings.Contains(out, "vehicle: VAN-11") {
			t.Errorf("new in lines:\n%s", out)
		}
	}
}
