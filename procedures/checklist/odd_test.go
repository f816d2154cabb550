package checklist_test

import (
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"daytank/procedures"
	"daytank/procedures/checklist"
	"daytank/procedures/record"
	"daytank/safety"
)

// at plays a walk as planned up to a kind of question, or that of one step.
func (b *bench) at(kind checklist.AskKind, step string) {
	b.t.Helper()
	for range 400 {
		b.keep(b.state.Look(b.stamp()), false)
		if a := b.ask(); a.Kind == kind && (step == "" || a.Step.ID == step) {
			return
		}
		b.asPlanned()
	}
	b.t.Fatalf("never asks %s at %s", kind, step)
}

// refuses holds that an input is refused in words that say why, and changes nothing.
func (b *bench) refuses(do checklist.Verb, text, why string) {
	b.t.Helper()
	out, err := b.state.Answer(checklist.Input{Do: do, Text: text}, b.stamp())
	var refusal safety.Refusal
	if !errors.As(err, &refusal) || len(out.Bodies) > 0 || !strings.Contains(refusal.Reason, why) {
		b.t.Errorf("%s %q: %v with %d events, want a refusal with %q", do, text, err, len(out.Bodies), why)
	}
}

// What is no answer is refused, with the reason, wherever the walk stands.
func TestRefusals(t *testing.T) {
	b := &bench{t: t, sparse: 50}
	b.begin("Tobi", "van", nil)
	b.at(checklist.AskAcknowledge, "")
	b.refuses(checklist.Enter, "ok", "in a few words of your own")
	b.at(checklist.AskChoice, "")
	b.refuses(checklist.Enter, "perhaps", "none of the answers")
	b.refuses(checklist.EndRun, "enough of it now", "no run to end")
	b.refuses(checklist.Deviate, "x", "done otherwise")
	b.refuses(checklist.AddNote, "", "some words")
	b.refuses(checklist.AddPhoto, "a.jpg", "empty")
	b.refuses(checklist.Back, "17", "no step before this one")
	for _, text := range []string{"", "7; 19", "7; ; why not"} {
		b.refuses(checklist.Correct, text, "typed as")
	}
	b.refuses(checklist.Correct, "1; 2; x", "reason in words")
	b.refuses(checklist.Correct, "99; 2; read in the sun", "no step of this walk")
	b.refuses(checklist.Correct, "r; 2; read in the sun", "no reading yet")
	large := make(record.Blob, 32<<20+1)
	if _, err := b.state.Answer(checklist.Input{Do: checklist.AddPhoto, Text: "a.jpg", Photo: large}, b.stamp()); err == nil || !strings.Contains(err.Error(), "at most 32") {
		t.Errorf("a photo of %d bytes: %v", len(large), err)
	}
	b.at(checklist.AskTick, "")
	b.refuses(checklist.Enter, "perhaps", "Enter when it is done")
	b.at(checklist.AskTest, "")
	b.refuses(checklist.Enter, "log", "added yet")
	b.refuses(checklist.Enter, "warm", "not a number")
	b.at(checklist.AskProof, "")
	b.refuses(checklist.Skip, "we are in a hurry", "cannot be skipped")
	b.at(checklist.AskRelease, "")
	b.refuses(checklist.Enter, "Tobi", "name of a second person")
	b.at(checklist.AskRun, "")
	b.refuses(checklist.Enter, "0", "not above the stop level")
	b.refuses(checklist.Enter, "mark 12", "the marks go from 1 to 9")
	b.asPlanned()
	b.refuses(checklist.Enter, "soon", "once the engine runs")
	b.asPlanned()
	b.refuses(checklist.Back, "", "in its run")
	b.refuses(checklist.Skip, "we are in a hurry", "end it first")
	b.refuses(checklist.EndRun, "x", "reason in a few words")
	for range 600 {
		if b.ask().Kind == checklist.AskFinished {
			break
		}
		b.keep(b.state.Look(b.stamp()), false)
		b.asPlanned()
	}
	b.refuses(checklist.Enter, "done", "nothing left to answer")
	b.refuses(checklist.Skip, "we are in a hurry", "nothing here that can be skipped")
}

// What was planned for a step is its own time, or what a run or a wait takes; the sitting
// counts a group of ticks once.
func TestPlannedTimes(t *testing.T) {
	b := &bench{t: t}
	b.begin("Tobi", "van", nil)
	list := b.state.List()
	var total int64
	seen := map[string]bool{}
	for _, s := range list.Sitting() {
		want := max(s.TakesMS, s.WaitMS)
		if s.Kind == procedures.Run {
			want = 42 * 60_000 // the stages of the van's job file: 10 + 2 + 15 + 15 min
		}
		if got := list.StepPlannedMS(s); got != want {
			t.Errorf("%s is planned for %d ms, want %d", s.ID, got, want)
		}
		if s.Group == "" || !seen[s.Group] {
			total += want
		}
		seen[s.Group] = true
	}
	if got := list.PlannedMS(); got != total {
		t.Errorf("the sitting is planned for %d ms, want %d", got, total)
	}
	for _, name := range []string{"engine-run", list.Branches[0].Steps[0].ID} {
		if s, ok := list.Step(name); !ok || s.ID != name {
			t.Errorf("no step %s", name)
		}
	}
	if _, ok := list.Step("no-step"); ok || list.PhaseTitle("nowhere") != "nowhere" || list.PhaseTitle(list.Branches[0].ID) != list.Branches[0].Title {
		t.Error("a step or a phase that there is not")
	}
	if m := list.Run.MarkAt(list.Run.Mark(6.5)); m < 6.49 || m > 6.51 {
		t.Errorf("the mark at mark 6.5 is %g", m)
	}
	if got := list.Run.InUnit(list.Run.Mark(3), "mark"); got != "mark 3.0" {
		t.Errorf("mark 3 is %s", got)
	}
}

// What can be seen has a letter and a word each, no two the same, and the help names them.
func TestSeen(t *testing.T) {
	taken, help := map[string]bool{}, checklist.SeenHelp()
	for _, s := range checklist.AllSeen() {
		if taken[s.Key] || taken[s.Word] || s.What == "" || !strings.Contains(help, s.Key+" "+s.Word) {
			t.Errorf("%+v", s)
		}
		taken[s.Key], taken[s.Word] = true, true
	}
	if len(taken) < 16 {
		t.Errorf("%d", len(taken))
	}
}

// A walk alone: what a second person would release is looked at once more, or refused; what
// the record says of it is who it was.
func TestAloneWords(t *testing.T) {
	b := &bench{t: t, sparse: 50}
	b.begin("Tobi", "van", []string{"site.people=1"})
	b.at(checklist.AskSelfCheck, "")
	b.refuses(checklist.Enter, "yes", "is not it")
	b.asPlanned()
	found := false
	for _, e := range b.events {
		if h, err := record.As[record.HoldReleased](e); e.Kind == record.KindHoldReleased && err == nil {
			found = found || h.By == "Tobi" && !h.Proved
		}
	}
	if !found {
		t.Error("nobody released it")
	}
	if b.state.Job().Site.People != 1 || len(b.state.Readings()) != 0 || b.state.SentBack() {
		t.Error("the state is another")
	}
}

// Half an hour of rest takes no proof away, and two clocks may drift two seconds apart; a
// millisecond more of either does not pass.
func TestRestAndClocksAtTheirLimits(t *testing.T) {
	b := &bench{t: t, sparse: 50}
	b.begin("Tobi", "van", nil)
	b.at(checklist.AskValue, "parts-fitted")
	for _, c := range []struct {
		name       string
		wall, mono time.Duration
		want       record.Kind
	}{
		{"half an hour", 30 * time.Minute, 30 * time.Minute, ""},
		{"more than that", 30*time.Minute + time.Millisecond, 30*time.Minute + time.Millisecond, record.KindStepReopened},
		{"two seconds ahead", 2 * time.Second, 0, ""},
		{"more ahead", 2*time.Second + time.Millisecond, 0, record.KindClock},
		{"two seconds behind", 0, 2 * time.Second, ""},
		{"more behind", 0, 2*time.Second + time.Millisecond, record.KindClock},
	} {
		at := b.stamp()
		at.At, at.MonoMS = at.At.Add(c.wall), at.MonoMS+c.mono.Milliseconds()
		bodies := b.state.Look(at).Bodies
		if (len(bodies) > 0) != (c.want != "") || len(bodies) > 0 && bodies[0].Kind() != c.want {
			t.Errorf("%s: %d events %v, want %q", c.name, len(bodies), bodies, c.want)
		}
	}
}

// Before anything was done of a job there is nothing that another person takes over, and
// no clock to hold against that of its making.
func TestNothingBegun(t *testing.T) {
	b := &bench{t: t}
	b.begin("Tobi", "van", nil)
	at := b.stamp()
	at.At = at.At.Add(5 * time.Second)
	if bodies := b.state.Look(at).Bodies; len(bodies) > 0 {
		t.Errorf("five seconds later by one clock: %v", bodies)
	}
	at.By = "Ines"
	if bodies := b.state.Resume(at).Bodies; len(bodies) > 0 {
		t.Errorf("taken up by another: %v", bodies)
	}
}

// A line of a sheet belongs to the stage that its minute is in by the plan, of 10, 2, 15 and
// 15 min, from 1; the level before the start is in none.
func TestStagesOfASheet(t *testing.T) {
	b := &bench{t: t, sparse: 50}
	b.begin("Mara", "van", nil)
	b.paper()
	for range 200 {
		if b.ask().Kind == checklist.AskPaperRun {
			break
		}
		b.asPlanned()
	}
	for _, line := range []string{"1340 20", "2.5 1330 21", "11 1240 24", "20 1210 24", "30 1180 25"} {
		b.answer(checklist.Enter, line)
	}
	type at struct{ stage, seconds int64 }
	var got []at
	for _, r := range b.state.Readings() {
		got = append(got, at{r.Stage, r.RunMS / 1000})
	}
	if want := []at{{0, 0}, {1, 150}, {2, 660}, {3, 1200}, {4, 1800}}; !slices.Equal(got, want) {
		t.Errorf("the readings are of %v, want %v", got, want)
	}
}
