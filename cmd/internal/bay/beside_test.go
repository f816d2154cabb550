package bay

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"daytank/procedures/checklist"
	"daytank/procedures/record"
	"daytank/procedures/store"
)

// What a person typed is shown without what would move the cursor.
func TestTypedTextIsShownPlain(t *testing.T) {
	r := newRig(t, store.OpenMemory()).untilStep("symptom-stated")
	r.hands += time.Second
	r.send(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune("rough\x1b[2J\u202eidle\n"), Paste: true})
	if got := string(r.s.input); got != "rough[2Jidle " {
		t.Errorf("the line holds %q", got)
	}
}

// The answer to the next screen, through a durable commit, is faster than a
// hand notices.
func TestAnswersAreQuick(t *testing.T) {
	took := answers(t, 60)
	slices.Sort(took)
	limit := 50 * time.Millisecond
	if raceDetector { // several times slower, whatever the code does
		limit *= 5
	}
	if median := took[len(took)/2]; median > limit {
		t.Errorf("median %v, at most %v", median, limit)
	}
}

func BenchmarkAnswerToView(b *testing.B) {
	took := answers(b, max(b.N, 20))
	slices.Sort(took)
	b.ReportMetric(float64(took[len(took)/2].Microseconds())/1000, "median-ms")
}

// answers walks on a store on disk and gives how long so many answers took,
// from Enter to the drawn screen.
func answers(t testing.TB, most int) []time.Duration {
	t.Helper()
	kept, err := store.OpenSQLite(t.Context(), t.TempDir()+"/records.db")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { kept.Close() })
	r := newRig(t, kept).begin()
	var took []time.Duration
	for len(took) < most && !r.s.over() {
		r.planned()
		r.typed(fmt.Sprint("n note ", len(took)))
		r.hands += time.Second
		start := time.Now()
		r.s.Update(tea.KeyMsg{Type: tea.KeyEnter})
		r.s.View()
		took = append(took, time.Since(start))
	}
	return took
}

// A wrong number is corrected, something done otherwise is said, and a photo is
// kept, whatever is asked; the question stays.
func TestWhatStandsBesideTheQuestion(t *testing.T) {
	r := newRig(t, store.OpenMemory()).begin().untilStep("parked")
	before := len(r.events())
	r.typed("c")
	r.line("1; rough, cold and warm; misheard")
	r.typed("x")
	r.line("blocks of oak for the chocks")
	r.s.Photo = func(path string) (string, []byte, error) {
		if path == "" {
			return "newest.jpg", []byte("picture"), nil
		}
		return "", nil, errors.New("no such file")
	}
	r.typed("f")
	r.line("")
	if got := len(r.events()) - before; got != 4 { // the correction plans again
		t.Errorf("%d events", got)
	}
	if !strings.Contains(r.s.View(), "The photo is kept") {
		t.Errorf("nothing is said:\n%s", r.s.View())
	}
	r.typed("f")
	r.line("gone.jpg")
	if !strings.Contains(r.s.View(), "Not taken: no such file.") {
		t.Errorf("nothing is said:\n%s", r.s.View())
	}
	r.typed("c")
	r.line("1; x")
	if !strings.Contains(r.s.View(), "Not taken: a correction is typed as") {
		t.Errorf("nothing is said:\n%s", r.s.View())
	}
	if r.s.ask.Step.ID != "parked" || len(r.events())-before != 4 {
		t.Errorf("at %s, %d events", r.s.ask.Step.ID, len(r.events())-before)
	}
}

// pins is one person with a PIN.
type pins struct{ name, pin string }

func (p pins) Has(name string) bool { return name == p.name }

func (p pins) Check(name, pin string) error {
	if name != p.name || pin != p.pin {
		return errors.New("this is not the PIN")
	}
	return nil
}

// Who has a PIN proves themselves with it at a hold point; it is neither shown nor
// kept. A wrong one releases nothing, none leaves them named.
func TestReleaseByPIN(t *testing.T) {
	r := newRig(t, store.OpenMemory()).begin().untilKind(checklist.AskRelease)
	r.s.PIN = pins{"Mara Quill", "4711"}
	before := len(r.events())
	r.line("Mara Quill")
	if len(r.events()) != before || !strings.Contains(r.s.View(), "PIN of Mara Quill") {
		t.Fatalf("no PIN is asked:\n%s", r.s.View())
	}
	r.typed("4712")
	if view := r.s.View(); strings.Contains(view, "4712") || !strings.Contains(view, "****_") {
		t.Errorf("the PIN is shown:\n%s", view)
	}
	r.press(tea.KeyEnter)
	if len(r.events()) != before || !strings.Contains(r.s.View(), "Not taken: this is not the PIN.") {
		t.Errorf("a wrong PIN:\n%s", r.s.View())
	}
	r.line("Mara Quill")
	r.line("4711")
	released := func() record.HoldReleased {
		for _, e := range r.events()[before:] {
			if e.Kind == record.KindHoldReleased {
				if bytes.Contains(e.Line(), []byte("4711")) {
					t.Errorf("the PIN is in the record: %s", e.Line())
				}
				h, err := record.As[record.HoldReleased](e)
				if err != nil {
					t.Fatal(err)
				}
				return h
			}
		}
		return record.HoldReleased{}
	}
	if h := released(); !h.Proved || h.By != "Mara Quill" {
		t.Errorf("released %+v", h)
	}
	r.untilKind(checklist.AskRelease)
	before = len(r.events())
	r.line("Mara Quill")
	r.line("")
	if h := released(); h.Proved || h.By != "Mara Quill" {
		t.Errorf("released %+v", h)
	}
}
