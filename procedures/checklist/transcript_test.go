package checklist_test

import (
	"errors"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/uuid"

	"daytank/planner"
	"daytank/planner/quantity"
	"daytank/procedures"
	"daytank/procedures/checklist"
	"daytank/procedures/checklist/rehearsal"
	"daytank/procedures/record"
	"daytank/safety"
)

var update = flag.Bool("update", false, "write the transcripts anew")

// Transcripts read like a shift log: lines that begin with a sign are what
// happens, the rest is what the walk says to it.
//
//	! start NAME [PATH=VALUE ...]   a new walk of the demo van
//	! begin NAME JOB [PATH=VALUE]   one of another job: tractor, boat
//	! until STEP                    all goes as planned up to a step, or a part of the run
//	! +DURATION                     time passes
//	! clock +DURATION               the wall clock is set, forward or back
//	! asleep +DURATION              the same while no process runs
//	> TEXT                          an answer
//	< VERB TEXT                     back, skip, note, leave safe, emergency, end run
//	! resume NAME                   another process takes the walk up
//	! record                        the kinds of all events so far, counted
func TestTranscripts(t *testing.T) {
	files, err := filepath.Glob("testdata/*.txt")
	if err != nil || len(files) == 0 {
		t.Fatalf("no transcripts: %v", err)
	}
	for _, file := range files {
		t.Run(strings.TrimSuffix(filepath.Base(file), ".txt"), func(t *testing.T) {
			text, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			got := play(t, string(text))
			if *update {
				if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
					t.Fatal(err)
				}
				return
			}
			if diff := cmp.Diff(strings.Split(string(text), "\n"), strings.Split(got, "\n")); diff != "" {
				t.Errorf("the transcript differs; -update writes it anew:\n%s", diff)
			}
		})
	}
}

// bench walks one job in a test.
type bench struct {
	t       *testing.T
	out     strings.Builder
	planned checklist.Planned
	state   checklist.State
	id      uuid.UUID
	head    record.Head
	events  []record.Event
	wall    time.Time
	mono    time.Duration
	process uuid.UUID
	by      string
	sparse  int // hold the state against a replay after every so many outcomes only; 0: all
	kept    int
}

// play runs the lines of a transcript and gives it as it should read.
func play(t *testing.T, text string) string {
	b := &bench{t: t}
	for line := range strings.Lines(text) {
		line = strings.TrimRight(line, "\n")
		switch {
		case line == "" || strings.HasPrefix(line, "#"):
			fmt.Fprintln(&b.out, line)
		case strings.HasPrefix(line, "! "):
			fmt.Fprintln(&b.out, line)
			b.direct(strings.Fields(line[2:]))
		case strings.HasPrefix(line, ">"):
			fmt.Fprintln(&b.out, line)
			b.answer(checklist.Enter, strings.TrimSpace(line[1:]))
		case strings.HasPrefix(line, "<"):
			fmt.Fprintln(&b.out, line)
			b.verb(strings.TrimSpace(line[1:]))
		}
	}
	return b.out.String()
}

func (b *bench) stamp() record.Stamp {
	return record.Stamp{At: b.wall, MonoMS: b.mono.Milliseconds(), Run: b.process, By: b.by}
}

func (b *bench) direct(words []string) {
	switch words[0] {
	case "start":
		b.start(words[1], words[2:])
	case "begin":
		b.begin(words[1], words[2], words[3:])
	case "until":
		b.until(strings.Join(words[1:], " "))
	case "clock", "asleep":
		d, err := time.ParseDuration(strings.TrimPrefix(words[1], "+"))
		if err != nil {
			b.t.Fatal(err)
		}
		b.wall = b.wall.Add(d)
		if words[0] == "clock" {
			b.look()
		}
	case "resume":
		b.by = words[1]
		b.process = uuid.NewSHA1(b.process, []byte("next"))
		b.mono = 0
		b.replayed()
		b.keep(b.state.Resume(b.stamp()), true)
		b.look()
	case "record":
		b.counted()
	default:
		d, err := time.ParseDuration(strings.TrimPrefix(words[0], "+"))
		if err != nil {
			b.t.Fatal(err)
		}
		b.pass(d)
		b.look()
	}
}

func (b *bench) pass(d time.Duration) {
	b.wall, b.mono = b.wall.Add(d), b.mono+d
}

func (b *bench) start(name string, set []string) { b.begin(name, "van", set) }

func (b *bench) begin(name, vehicle string, set []string) {
	library, err := procedures.Shipped()
	if err != nil {
		b.t.Fatal(err)
	}
	text, err := os.ReadFile("../../testdata/jobs/" + vehicle + ".yaml")
	if err != nil {
		b.t.Fatal(err)
	}
	job, err := planner.ReadJobWith(vehicle+".yaml", text, set, library.Engines(), planner.Date{Year: 2026, Month: 3, Day: 14})
	if err != nil {
		b.t.Fatal(err)
	}
	procedure, _ := library.For(job.Engine.Layout.ID)
	b.planned, err = checklist.Basis{Procedure: procedure, Job: job, Printer: quantity.Printer{}, EmergencyNumber: "112"}.Make()
	if err != nil {
		b.t.Fatal(err)
	}
	b.wall = time.Date(2026, 3, 14, 9, 0, 0, 0, time.UTC)
	b.by, b.id = name, uuid.NewSHA1(uuid.NameSpaceOID, []byte("van"))
	b.process = uuid.NewSHA1(uuid.NameSpaceOID, []byte("process"))
	b.head, b.events = record.Genesis(b.id), nil
	b.seal([]record.Body{b.planned.Created(1, "test", false)}, b.stamp())
	b.replayed()
	b.look()
}

// replayed takes the state from the events alone.
func (b *bench) replayed() {
	var err error
	if b.state, err = checklist.Replay(b.planned, b.id, b.events); err != nil {
		b.t.Fatal(err)
	}
}

func (b *bench) seal(bodies []record.Body, at record.Stamp) {
	events, head, err := record.Seal(b.head, at, bodies...)
	if err != nil {
		b.t.Fatal(err)
	}
	b.events, b.head = append(b.events, events...), head
}

// keep stores an outcome, holds it against a replay of the whole record, and
// against what must always be so.
func (b *bench) keep(out checklist.Outcome, say bool) {
	if len(out.Bodies) > 0 {
		b.seal(out.Bodies, out.At)
	}
	if say {
		for _, body := range out.Bodies {
			fmt.Fprintf(&b.out, "    %s%s\n", body.Kind(), detail(body))
		}
	}
	b.state = out.State
	b.planned = out.State.Planned()
	if b.kept++; b.sparse > 0 && b.kept%b.sparse != 0 {
		b.invariants()
		return
	}
	live := b.state
	b.replayed()
	if diff := checklist.Differ(live, b.state); diff != "" {
		b.t.Fatalf("a replay differs from the walk:\n%s", diff)
	}
	b.invariants()
}

// invariants holds that at most one step is active, and that no confirmation is
// done without its proof.
func (b *bench) invariants() {
	active := []string{}
	for _, step := range b.state.List().Everything() {
		if b.state.StatusOf(step) == checklist.Now {
			active = append(active, step.ID)
		}
		if step.Kind == procedures.Confirm && b.state.StatusOf(step) == checklist.Done && !b.state.Proved(step) && b.state.ReliesOn(step) {
			b.t.Fatalf("step %s is done and relied on without a proof", step.ID)
		}
	}
	if len(active) > 1 {
		b.t.Fatalf("several steps are active: %v", active)
	}
}

func detail(body record.Body) string {
	switch x := body.(type) {
	case record.StepStarted:
		return " " + x.Step
	case record.Observation:
		return " " + x.What
	case record.StepDone:
		return " " + x.Step
	case record.StepSkipped:
		return " " + x.Step + ": " + x.Reason
	case record.StepReopened:
		return " " + x.Step + ": " + x.Reason
	case record.Cleared:
		return fmt.Sprintf(" %s: %q until %s", x.Step, x.Answer, x.Until)
	case record.Acknowledged:
		return fmt.Sprintf(" %s: %q", x.Rule, x.Words)
	case record.Choice:
		return fmt.Sprintf(" %s: %s, goes %s", x.Step, x.Option, x.Goes)
	case record.Value:
		return strings.TrimRight(fmt.Sprintf(" %s: %s %s", strings.TrimSpace(x.Step+" "+x.Field), x.Text, x.Unit), " ")
	case record.Replanned:
		return fmt.Sprintf(" %s=%s", x.Path, x.Value)
	case record.HoldReleased:
		return fmt.Sprintf(" %s by %s", x.Step, x.By)
	case record.Alarm:
		return fmt.Sprintf(" %s: %s", x.Name, x.Message)
	case record.Reading:
		return fmt.Sprintf(" level %s %s", x.Level, x.Temperature)
	case record.Stage:
		return fmt.Sprintf(" %d %s", x.Stage, x.What)
	case record.RunEnded:
		return fmt.Sprintf(" after %d s: %s", x.RunMS/1000, x.Reason)
	case record.Clock:
		return fmt.Sprintf(" %d ms", x.DifferenceMS)
	case record.HandedOver:
		return fmt.Sprintf(" from %s to %s", x.From, x.To)
	case record.Corrected:
		return fmt.Sprintf(" event %d to %s: %s", x.Seq, x.Text, x.Reason)
	case record.Deviation:
		return " " + x.Text
	case record.Paused:
		return " " + x.Reason
	case record.Timer:
		return strings.TrimRight(fmt.Sprintf(" %s %s %s", x.Step, x.Mark, x.Text), " ")
	}
	return ""
}

func (b *bench) ask() checklist.Ask { return b.state.Ask(b.stamp()) }

// look lets time do its part, and says what is asked.
func (b *bench) look() {
	b.keep(b.state.Look(b.stamp()), true)
	a := b.ask()
	line := string(a.Kind)
	for _, part := range []string{a.Step.ID, string(a.Run.Part), a.Finding.Rule, a.Field.Name, a.Reason, a.Run.Reason} {
		if part != "" {
			line += ", " + part
		}
	}
	for _, stop := range a.Stops {
		line += "; STOP " + stop.Message
	}
	if a.Run.Part == checklist.RunReading && a.Run.DueInMS <= 0 {
		line += strings.TrimRight(", due "+a.Run.Mark, " ")
	}
	if a.LeftMS > 0 {
		line += fmt.Sprintf(", %d s left", a.LeftMS/1000)
	}
	fmt.Fprintf(&b.out, "asks %s\n", line)
}

func (b *bench) answer(do checklist.Verb, text string) {
	if text == "DIGITS" {
		text = b.ask().Digits
	}
	out, err := b.state.Answer(checklist.Input{Do: do, Text: text}, b.stamp())
	var refusal safety.Refusal
	switch {
	case errors.As(err, &refusal):
		fmt.Fprintf(&b.out, "not taken: %s\n", refusal.Reason)
		if len(out.Bodies) > 0 { // something seen that is kept
			b.keep(out, true)
		}
		return
	case err != nil:
		b.t.Fatal(err)
	}
	b.keep(out, true)
	if do != checklist.LeaveSafe && do != checklist.CallOut {
		b.look()
	}
}

func (b *bench) verb(line string) {
	for _, v := range []checklist.Verb{checklist.Back, checklist.Skip, checklist.AddNote, checklist.LeaveSafe, checklist.CallOut, checklist.EndRun, checklist.Correct, checklist.Deviate} {
		if rest, ok := strings.CutPrefix(line, string(v)); ok {
			b.answer(v, strings.TrimSpace(rest))
			return
		}
	}
	b.t.Fatalf("no verb in %q", line)
}

// until plays the walk as planned up to a step, or a part of the run of it.
func (b *bench) until(target string) {
	// The way there is held against a replay now and then; what follows, each time.
	defer func(was int) { b.sparse = was }(b.sparse)
	b.sparse = 20
	for range 2000 {
		b.keep(b.state.Look(b.stamp()), false)
		a := b.ask()
		if a.Step.ID == target || string(a.Run.Part) == target || string(a.Kind) == target || a.Run.What == target {
			b.look()
			return
		}
		if a.Kind == checklist.AskFinished {
			b.t.Fatalf("%s was never reached", target)
		}
		text, takes := rehearsal.Answer(a, b.state.List())
		if a.Kind == checklist.AskRun && takes == 0 {
			b.pass(time.Duration(max(1000, a.Run.WakeMS)) * time.Millisecond)
			continue
		}
		b.pass(takes)
		out, err := b.state.Answer(checklist.Input{Do: checklist.Enter, Text: text}, b.stamp())
		if err != nil {
			b.t.Fatalf("%s %s: %q: %v", a.Kind, a.Step.ID, text, err)
		}
		b.keep(out, false)
	}
	b.t.Fatalf("%s was not reached in 2000 answers", target)
}

func (b *bench) counted() {
	counts := map[record.Kind]int{}
	order := []record.Kind{}
	for _, e := range b.events {
		if counts[e.Kind] == 0 {
			order = append(order, e.Kind)
		}
		counts[e.Kind]++
	}
	for _, k := range order {
		fmt.Fprintf(&b.out, "    %4d %s\n", counts[k], k)
	}
}
