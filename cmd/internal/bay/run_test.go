package bay

import (
	"strings"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/google/go-cmp/cmp"

	"daytank/procedures/checklist"
	"daytank/procedures/record"
	"daytank/procedures/store"
)

// kinds gives the kinds of the events after the first so many.
func (r *rig) kinds(from int) []record.Kind {
	var kinds []record.Kind
	for _, e := range r.events()[from:] {
		kinds = append(kinds, e.Kind)
	}
	return kinds
}

// lastReading gives the last reading of the record as it was typed.
func (r *rig) lastReading() string {
	r.t.Helper()
	text := ""
	for _, e := range r.events() {
		if e.Kind == record.KindReading {
			reading, err := record.As[record.Reading](e)
			if err != nil {
				r.t.Fatal(err)
			}
			text = strings.TrimSpace(reading.Level + " " + reading.Temperature)
		}
	}
	return text
}

// In the run Space records an emergency at once, wherever it is pressed.
func TestSpaceIsStop(t *testing.T) {
	for name, before := range map[string]func(r *rig){
		"at once":                func(*rig) {},
		"in the temperature":     func(r *rig) { r.typed("1320/2") },
		"twice behind the level": func(r *rig) { r.typed("1320 ") },
		"in the help":            func(r *rig) { r.typed("?") },
		"in the leaving":         func(r *rig) { r.typed("p") },
		"in the glance view":     func(r *rig) { r.typed("g") },
		"faster than hands":      func(r *rig) { r.s.hands.asked(r.hands) },
	} {
		t.Run(name, func(t *testing.T) {
			r := newRig(t, store.OpenMemory()).untilPart(checklist.RunReading)
			before(r)
			events := len(r.events())
			r.send(keyOf(' '))
			if diff := cmp.Diff([]record.Kind{record.KindEmergency, record.KindStopped}, r.kinds(events)); diff != "" {
				t.Errorf("events (-want +got):\n%s", diff)
			}
			if r.s.panel != panelKeyOff {
				t.Error("KEY OFF is not shown")
			}
			for range 50 { // whoever hammers on it has still not read the cards
				r.hands += 40 * time.Millisecond
				r.send(keyOf(' '))
			}
			if r.s.panel != panelKeyOff || len(r.events()) != events+2 {
				t.Errorf("panel %d, %d events more", r.s.panel, len(r.events())-events)
			}
			r.press(tea.KeyEnter)
			if view := r.s.View(); !strings.Contains(view, "RUNAWAY") {
				t.Errorf("the cards are not shown:\n%s", view)
			}
			r.press(tea.KeyEnter)
			if r.s.result.Ending != Emergency {
				t.Errorf("ended %q", r.s.result.Ending)
			}
		})
	}
}

// Outside the run Space is a space, and in a note it is one in the run as well.
func TestSpaceIsASpaceElsewhere(t *testing.T) {
	r := newRig(t, store.OpenMemory()).untilKind(checklist.AskWords)
	r.line("rough when cold")
	r.untilPart(checklist.RunReading)
	r.typed("n")
	r.line("a few bubbles")
	for _, e := range r.events() {
		if e.Kind == record.KindEmergency {
			t.Error("an emergency was called")
		}
	}
	if r.s.saying != "Noted." {
		t.Errorf("says %q", r.s.saying)
	}
}

// A reading can be typed in each of these ways, and is the same.
func TestReadingsAreTyped(t *testing.T) {
	for name, c := range map[string]struct {
		types func(r *rig)
		want  string
	}{
		"as in plain lines":     {func(r *rig) { r.line("1320 28") }, "1320 28"},
		"on the keypad":         {func(r *rig) { r.line("1320/28") }, "1320 28"},
		"by its keys":           {func(r *rig) { r.line("l1320t28") }, "1320 28"},
		"temperature first":     {func(r *rig) { r.line("t28"); r.line("1320") }, "1320 28"},
		"with a decimal comma":  {func(r *rig) { r.line("1320,5 28,5") }, "1320,5 28,5"},
		"with a semicolon":      {func(r *rig) { r.line("1320;28") }, "1320 28"},
		"without a temperature": {func(r *rig) { r.line("1320") }, "1320"},
		"typed anew":            {func(r *rig) { r.typed("13 2"); r.press(tea.KeyEsc); r.line("1320 28") }, "1320 28"},
	} {
		t.Run(name, func(t *testing.T) {
			r := newRig(t, store.OpenMemory()).untilPart(checklist.RunReading)
			r.pass(30 * time.Second)
			c.types(r)
			if got := r.lastReading(); got != c.want {
				t.Errorf("got %q, want %q; %s", got, c.want, r.s.saying)
			}
		})
	}
}

// A reading that is half typed when the stage ends is not lost, and Enter that
// was meant for it does not begin the next stage.
func TestReadingAcrossAChangeOfStage(t *testing.T) {
	r := newRig(t, store.OpenMemory())
	r.until("the last reading of a stage", func(a checklist.Ask) bool {
		return a.Run.Part == checklist.RunReading && a.Run.Stage == 1 && a.Run.ElapsedMS > 9*60*1000
	})
	r.typed("1250 2")
	r.pass(2 * time.Minute)
	if r.s.ask.Run.Part != checklist.RunStage {
		t.Fatalf("asks %s", r.s.ask.Run.Part)
	}
	r.line("9")
	if got := r.lastReading(); got != "1250 29" {
		t.Errorf("the reading is %q; %s", got, r.s.saying)
	}
	if r.s.ask.Run.Part != checklist.RunStage {
		t.Errorf("asks %s", r.s.ask.Run.Part)
	}
	before := len(r.events())
	r.typed("s")
	if diff := cmp.Diff([]record.Kind{record.KindStage}, r.kinds(before)); diff != "" {
		t.Errorf("s at the end of a stage (-want +got):\n%s", diff)
	}
}

// An alarm that switches off covers the screen and rings until a key says that
// it was heard; that key answers nothing.
func TestAlarmRingsUntilItIsHeard(t *testing.T) {
	r := newRig(t, store.OpenMemory()).untilPart(checklist.RunReading)
	r.pass(30 * time.Second)
	r.rung = 0
	r.line("600 31")
	if r.s.panel != panelAlarm || r.rung != 1 {
		t.Fatalf("panel %d, rung %d times", r.s.panel, r.rung)
	}
	for range 5 {
		r.pass(2 * time.Second)
	}
	if r.rung != 6 {
		t.Errorf("rung %d times in ten seconds, want 6", r.rung)
	}
	before := len(r.events())
	r.press(tea.KeyEnter)
	if r.s.panel != noPanel || len(r.events()) != before {
		t.Errorf("panel %d, %d events more", r.s.panel, len(r.events())-before)
	}
	r.rung = 0
	for range 30 {
		r.pass(time.Second)
	}
	if r.rung != 0 {
		t.Errorf("rung %d times after it was heard", r.rung)
	}
	r.press(tea.KeyEnter)
	if diff := cmp.Diff([]record.Kind{record.KindRunEnded, record.KindStepDone, record.KindStepStarted}, r.kinds(before)); diff != "" {
		t.Errorf("events (-want +got):\n%s", diff)
	}
}

// A reading that is due and a wait that is over ring as well, until a key.
func TestMildAlarms(t *testing.T) {
	r := newRig(t, store.OpenMemory()).untilKind(checklist.AskWait)
	r.rung = 0
	r.pass(20 * time.Minute)
	r.pass(10 * time.Second)
	if r.rung != 2 {
		t.Errorf("rung %d times for a wait that is over, want 2", r.rung)
	}
	r.press(tea.KeyDown)
	r.pass(time.Minute)
	if r.rung != 2 {
		t.Errorf("rung %d times after it was heard", r.rung)
	}
	r.untilPart(checklist.RunReading)
	r.rung = 0
	r.pass(11 * time.Second)
	if r.s.alarm.word != "LOOK" || r.rung != 1 {
		t.Errorf("word %q, rung %d times", r.s.alarm.word, r.rung)
	}
	r.typed("y")
	if r.s.alarm.word != "" {
		t.Errorf("word %q once the return was seen", r.s.alarm.word)
	}
	r.rung = 0
	r.pass(20 * time.Second)
	if r.s.alarm.word != "READ" || r.rung != 1 {
		t.Errorf("word %q, rung %d times", r.s.alarm.word, r.rung)
	}
	r.line("1340 55")
	if r.s.alarm.word != "WARM" || r.rung != 2 {
		t.Errorf("word %q, rung %d times", r.s.alarm.word, r.rung)
	}
	r.pass(30 * time.Second)
	r.line("1330 61")
	if r.s.alarm.word != "HOT" || r.s.panel != panelAlarm {
		t.Errorf("word %q, panel %d", r.s.alarm.word, r.s.panel)
	}
}

// F1 calls an emergency from every question and every panel.
func TestEmergencyAnywhere(t *testing.T) {
	for name, come := range map[string]func(r *rig){
		"opening":  func(*rig) {},
		"tick":     func(r *rig) { r.untilKind(checklist.AskTick) },
		"proof":    func(r *rig) { r.untilKind(checklist.AskProof).typed("de") },
		"entry":    func(r *rig) { r.untilKind(checklist.AskTick).typed("n") },
		"help":     func(r *rig) { r.untilKind(checklist.AskTick).typed("?") },
		"leaving":  func(r *rig) { r.untilKind(checklist.AskTick).typed("p") },
		"alarm":    func(r *rig) { r.untilPart(checklist.RunReading).pass(2 * time.Hour) },
		"baseline": func(r *rig) { r.untilPart(checklist.RunBaseline) },
	} {
		t.Run(name, func(t *testing.T) {
			r := newRig(t, store.OpenMemory())
			come(r)
			before := len(r.events())
			r.press(tea.KeyF1)
			if diff := cmp.Diff([]record.Kind{record.KindEmergency, record.KindStopped}, r.kinds(before)); diff != "" {
				t.Errorf("events (-want +got):\n%s", diff)
			}
		})
	}
}

// An exclamation mark alone on a line is an emergency too, as in plain lines.
func TestExclamationMark(t *testing.T) {
	r := newRig(t, store.OpenMemory()).untilKind(checklist.AskProof)
	r.line("!")
	if r.s.panel != panelKeyOff {
		t.Errorf("panel %d", r.s.panel)
	}
}

// An order fills a small screen and the glance view: nobody confirms what they cannot read.
func TestOrderIsRead(t *testing.T) {
	sizes := []struct{ width, height int }{{40, 12}, {20, 8}, {80, 24}, {60, 20}}
	if raceDetector { // which is slow
		sizes = sizes[:1]
	}
	for _, size := range sizes {
		r := newRig(t, store.OpenMemory(), `run=[{"speed":"idle","for":"3min"},{"soak":"10min"},{"speed":"1500rpm","for":"2min"},{"speed":"idle","for":"5min"}]`, "rig.charge=1.8L")
		for _, want := range []string{"KEY OFF: the soak begins", "start the engine again: 1500 rpm", "go to idle"} {
			r.untilPart(checklist.RunStage)
			r.send(tea.WindowSizeMsg{Width: size.width, Height: size.height})
			said := strings.Join(strings.Fields(r.s.View()), " ")
			if !strings.Contains(said, want) {
				t.Errorf("%d x %d: nothing says %q:\n%s", size.width, size.height, want, r.s.View())
			}
			r.planned()
		}
	}
	r := newRig(t, store.OpenMemory()).untilPart(checklist.RunStage)
	r.typed("g")
	if !strings.Contains(r.s.View(), "go to 1500 rpm") {
		t.Errorf("the glance view hides the order:\n%s", r.s.View())
	}
}

// What is called out while an order stands is shown beside it.
func TestOrderHidesNoAlarm(t *testing.T) {
	r := newRig(t, store.OpenMemory()).untilPart(checklist.RunStage)
	r.rung = 0
	r.line("1240 52")
	if !strings.Contains(r.s.View(), "the fluid is warm, at 52") || r.rung == 0 {
		t.Errorf("rung %d times:\n%s", r.rung, r.s.View())
	}
}

// Every word that stands large has its letters.
func TestLargeWords(t *testing.T) {
	words := []string{"STOP", "HOT", "KEY OFF", "START", "1500 RPM", "IDLE", "READ", "LOOK", "SOAK"}
	for _, w := range mildWords {
		words = append(words, w)
	}
	for _, w := range words {
		for _, c := range w {
			if _, ok := glyphs[c]; !ok {
				t.Errorf("%s: no %c", w, c)
			}
		}
	}
	for _, r := range glyphs {
		if rows := strings.Fields(r); len(rows) != glyphRows || len(rows[0]) != len(rows[4]) {
			t.Errorf("%q has %d rows", r, len(rows))
		}
	}
}

// A word typed where letters act alone is one answer and nothing else; a unit may stand
// behind the Space of a level.
func TestWordsAreNoCommands(t *testing.T) {
	quick := func(r *rig, text string) {
		r.hands += 300 * time.Millisecond
		for _, c := range text {
			r.hands += 120 * time.Millisecond
			r.send(keyOf(c))
		}
	}
	r := newRig(t, store.OpenMemory()).untilPart(checklist.RunReading)
	before := len(r.events())
	quick(r, "foam")
	if r.s.entry.do != "" || len(r.events()) != before {
		t.Errorf("foam has opened %q, %d events", r.s.entry.do, len(r.events())-before)
	}
	r.press(tea.KeyEnter)
	if r.s.ask.Run.Part != checklist.RunOff || r.s.ask.Run.Reason != "foam reaches the pick-up as air" {
		t.Errorf("foam: %s, %s", r.s.ask.Run.Part, r.s.ask.Run.Reason)
	}
	r = newRig(t, store.OpenMemory()).untilPart(checklist.RunReading)
	quick(r, "coolant")
	r.press(tea.KeyEnter)
	if r.s.ask.Run.Reason != "the coolant is wrong" {
		t.Errorf("coolant: %s", r.s.ask.Run.Reason)
	}
	r = newRig(t, store.OpenMemory()).untilKind(checklist.AskTick)
	step := r.s.ask.Step.ID
	quick(r, "pulled")
	if r.s.panel != noPanel {
		t.Errorf("pulled has opened panel %d", r.s.panel)
	}
	r.press(tea.KeyEnter)
	if r.s.over() || r.s.ask.Step.ID != step {
		t.Errorf("pulled: over %t, at %s", r.s.over(), r.s.ask.Step.ID)
	}
	for _, text := range []string{"142 mm 18", "142mm 18", "1080 g 18", "8.9 mark 18"} {
		r = newRig(t, store.OpenMemory()).untilPart(checklist.RunBaseline)
		r.line(text)
		all := r.s.Sitting.State().Readings()
		if len(all) != 1 || all[0].Temperature != "18" || !strings.Contains(text, all[0].LevelUnit) {
			t.Errorf("%q: panel %d, %s, readings %+v", text, r.s.panel, r.s.saying, all)
		}
	}
}

// A corrected reading is what stands on the screen.
func TestCorrectedReadingIsShown(t *testing.T) {
	r := newRig(t, store.OpenMemory()).untilPart(checklist.RunReading)
	r.pass(20 * time.Second)
	r.line("1310 19")
	r.typed("c")
	r.line("r; 1341 19; misread it")
	if !strings.Contains(r.s.View(), "level  1341 mL") {
		t.Errorf("%s\n%s", r.s.saying, r.s.View())
	}
}

// What was seen and proves nothing is kept, and the digits beside the question are those
// that are due then.
func TestNoProofIsKept(t *testing.T) {
	r := newRig(t, store.OpenMemory()).untilStep("pump-dead")
	r.line("2000")
	events := r.events()
	seen, err := record.As[record.Observation](events[len(events)-1])
	if err != nil || seen.What != record.NoProof+"2000" {
		t.Fatalf("%+v, %v", seen, err)
	}
	if !strings.Contains(r.s.saying, "if that is what was seen, do not go on") {
		t.Errorf("%s", r.s.saying)
	}
	r.line(r.s.ask.Digits)
	if r.s.ask.Step.ID == "pump-dead" {
		t.Errorf("the digits that stood there were not taken: %s", r.s.saying)
	}
}
