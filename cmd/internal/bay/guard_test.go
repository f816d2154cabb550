package bay

import (
	"strings"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"daytank/procedures/checklist"
	"daytank/procedures/checklist/rehearsal"
	"daytank/procedures/record"
	"daytank/procedures/store"
)

// guardedQuestions are those that nothing but a typed line may answer.
var guardedQuestions = []struct {
	name string
	set  []string
	is   func(checklist.Ask) bool
}{
	{"acknowledgement", nil, func(a checklist.Ask) bool { return a.Kind == checklist.AskAcknowledge }},
	{"proof by a word", nil, func(a checklist.Ask) bool { return a.Kind == checklist.AskProof && a.Digits != "" }},
	{"proof by a number", nil, func(a checklist.Ask) bool { return a.Kind == checklist.AskProof && a.Digits == "" }},
	{"hold", nil, func(a checklist.Ask) bool { return a.Kind == checklist.AskRelease }},
	{"self-check", []string{"site.people=1"}, func(a checklist.Ask) bool { return a.Kind == checklist.AskSelfCheck }},
}

// evasions are ways round a guarded question; right is the answer that would be
// taken, if it were typed.
var evasions = map[string]func(r *rig, right string){
	"enter": func(r *rig, _ string) {
		for range 20 {
			r.press(tea.KeyEnter)
		}
	},
	"enter held down": func(r *rig, _ string) {
		for range 200 {
			r.hands += 33 * time.Millisecond
			r.send(tea.KeyMsg{Type: tea.KeyEnter})
		}
	},
	"space bar": func(r *rig, _ string) {
		for range 20 {
			r.line("     ")
		}
	},
	"presenter": func(r *rig, _ string) {
		for range 20 {
			r.press(tea.KeyPgDown)
		}
	},
	"yes": func(r *rig, _ string) {
		for _, easy := range []string{"y", "yes", "ok", "done", "d", "x"} {
			r.line(easy)
		}
	},
	"mouse": func(r *rig, _ string) {
		for _, button := range []tea.MouseButton{tea.MouseButtonLeft, tea.MouseButtonMiddle, tea.MouseButtonRight, tea.MouseButtonWheelDown} {
			for y := range 24 {
				r.hands += 200 * time.Millisecond
				r.send(tea.MouseMsg{X: 20, Y: y, Button: button, Action: tea.MouseActionPress})
			}
		}
		r.press(tea.KeyEnter)
	},
	"paste": func(r *rig, right string) {
		r.hands += time.Second
		r.send(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune(right), Paste: true})
		r.press(tea.KeyEnter)
	},
	"paste of a whole script": func(r *rig, right string) {
		script := strings.Repeat(right+"\nthe return is tied and Mara is there\n\ndead\n4\n800\n", 50)
		r.hands += time.Second
		r.send(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune(script), Paste: true})
		r.press(tea.KeyEnter)
	},
	"paste without its marks": func(r *rig, right string) {
		r.hands += time.Second
		for range 50 {
			r.send(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune(right)})
			r.send(tea.KeyMsg{Type: tea.KeyEnter})
			r.hands += time.Millisecond
		}
	},
	"faster than hands": func(r *rig, right string) {
		r.hands += time.Second
		for _, c := range right {
			r.hands += 5 * time.Millisecond
			r.send(keyOf(c))
		}
		r.hands += 5 * time.Millisecond
		r.send(tea.KeyMsg{Type: tea.KeyEnter})
	},
}

// No guarded question is passed but by typing, and typing passes it.
func TestGuardedQuestions(t *testing.T) {
	for _, q := range guardedQuestions {
		for name, evade := range evasions {
			t.Run(q.name+"/"+name, func(t *testing.T) {
				r := newRig(t, store.OpenMemory(), q.set...)
				r.until(q.name, q.is)
				before, events := r.s.ask, len(r.events())
				right, _ := rehearsal.Answer(before, r.s.Sitting.State().List())
				if len(right) < 2 {
					right += "," + "0" // a number of one digit is too short to tell
				}
				evade(r, right)
				if got := len(r.events()); got != events || !same(r.s.ask, before) {
					t.Fatalf("%d events, %d before; asks %s %s", got, events, r.s.ask.Kind, r.s.ask.Step.ID)
				}
				r.press(tea.KeyEsc)
				r.line(right)
				if same(r.s.ask, before) {
					t.Errorf("%q, typed, was not taken: %s", right, r.s.saying)
				}
			})
		}
	}
}

// A paste leaves nothing in the line of a guarded question, and says so; in a
// note it is taken.
func TestPaste(t *testing.T) {
	paste := tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune("dead"), Paste: true}
	r := newRig(t, store.OpenMemory()).untilStep("pump-dead")
	r.hands += time.Second
	r.send(paste)
	if len(r.s.input) > 0 || !strings.Contains(r.s.saying, "type it") {
		t.Errorf("the line holds %q, says %q", string(r.s.input), r.s.saying)
	}
	r.line("n")
	r.send(paste)
	if string(r.s.input) != "dead" {
		t.Errorf("the note holds %q", string(r.s.input))
	}
}

// What was typed for one question is not given to another that has taken its
// place meanwhile, unseen.
func TestQuestionHasChangedUnseen(t *testing.T) {
	r := newRig(t, store.OpenMemory()).untilStep("lines-open")
	r.wall, r.mono = r.wall.Add(2*time.Hour), r.mono+2*time.Hour
	before := len(r.events())
	r.press(tea.KeyEnter)
	for _, e := range r.events()[before:] {
		if e.Kind == record.KindStepDone {
			t.Errorf("a step was ticked: %s", e.Body)
		}
	}
	if r.s.ask.Kind != checklist.AskProof || !strings.Contains(r.s.saying, "has changed") {
		t.Errorf("asks %s %s, says %q", r.s.ask.Kind, r.s.ask.Step.ID, r.s.saying)
	}
}

// Keys that come while the question is being drawn do not count for it, though
// the answer is right.
func TestTypedAhead(t *testing.T) {
	r := newRig(t, store.OpenMemory()).untilStep("pump-dead")
	right := r.s.ask.Step.Demand.Word
	r.s.hands.asked(r.hands) // as if it had just come to stand there
	for _, c := range right {
		r.hands += 4 * time.Millisecond
		r.send(keyOf(c))
	}
	r.press(tea.KeyEnter)
	if r.s.ask.Step.ID != "pump-dead" || len(r.s.input) > 0 {
		t.Errorf("asks %s, the line holds %q", r.s.ask.Step.ID, string(r.s.input))
	}
}

// Going back to what was proved before does not bring its proof back: the line
// is empty, and Enter proves nothing.
func TestNothingIsPreset(t *testing.T) {
	r := newRig(t, store.OpenMemory()).untilStep("engine-stop")
	r.planned()
	if r.s.ask.Step.ID == "engine-stop" {
		t.Fatal("the stop was not proved")
	}
	r.press(tea.KeyPgUp)
	if r.s.ask.Step.ID != "engine-stop" || r.s.ask.Kind != checklist.AskProof {
		t.Fatalf("asks %s %s", r.s.ask.Kind, r.s.ask.Step.ID)
	}
	if !strings.Contains(r.s.View(), "answered before: 2") {
		t.Error("what was answered before is not shown")
	}
	for range 5 {
		r.press(tea.KeyEnter)
	}
	if len(r.s.input) > 0 || r.s.ask.Step.ID != "engine-stop" {
		t.Errorf("the line holds %q, asks %s", string(r.s.input), r.s.ask.Step.ID)
	}
}

// A script that a terminal without marks for pasting types comes as far as its
// first line.
func TestScriptComesNoFurtherThanItsFirstLine(t *testing.T) {
	r := newRig(t, store.OpenMemory()).untilStep("symptom-stated")
	r.hands += time.Second
	for _, text := range []string{"uneven idle", "none", "normal", "a year old", "", "", "18", "outside"} {
		if text != "" {
			r.send(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune(text)})
		}
		r.send(tea.KeyMsg{Type: tea.KeyEnter})
	}
	if r.s.ask.Step.ID != "faults-read" {
		t.Errorf("the script has come as far as %s", r.s.ask.Step.ID)
	}
	if len(r.s.input) > 0 {
		t.Errorf("the line holds %q", string(r.s.input))
	}
	if !strings.Contains(r.s.saying, "does not count") {
		t.Errorf("says %q", r.s.saying)
	}
}

// Keys held down do not run through the ticks.
func TestHeldKeysTickOnce(t *testing.T) {
	for _, key := range []tea.KeyType{tea.KeyEnter, tea.KeyPgDown} {
		r := newRig(t, store.OpenMemory()).untilKind(checklist.AskTick)
		r.hands += time.Second
		before := len(r.events())
		for range 100 {
			r.send(tea.KeyMsg{Type: key})
			r.hands += 33 * time.Millisecond
		}
		done := 0
		for _, e := range r.events()[before:] {
			if e.Kind == record.KindStepDone {
				done++
			}
		}
		if done != 1 {
			t.Errorf("%s ticked %d steps", tea.KeyMsg{Type: key}, done)
		}
	}
}
