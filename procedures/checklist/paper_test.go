package checklist_test

import (
	"errors"
	"strings"
	"testing"
	"time"

	"daytank/procedures/checklist"
	"daytank/procedures/record"
	"daytank/procedures/review"
	"daytank/safety"
)

var sheetOfPaper = record.Transcribed{Who: "Tobi Fenn", Done: "2026-03-12", Text: "the laptop was flat"}

// paper begins to enter a sheet.
func (b *bench) paper() {
	b.t.Helper()
	out, err := b.state.FromPaper(sheetOfPaper, []record.Photo{{File: "sheet.jpg"}}, []record.Blob{{1}}, b.stamp())
	if err != nil {
		b.t.Fatal(err)
	}
	if len(out.Blobs) != 1 {
		b.t.Fatalf("%d pictures are kept", len(out.Blobs))
	}
	b.keep(out, true)
}

// enterAll enters a sheet to its end.
func (b *bench) enterAll() {
	b.t.Helper()
	for range 400 {
		if b.ask().Kind == checklist.AskFinished {
			break
		}
		b.asPlanned()
	}
	if !b.state.Finished() {
		b.t.Fatalf("it stands at %s %s:\n%s", b.ask().Kind, b.ask().Step.ID, b.out.String()[max(0, b.out.Len()-1000):])
	}
}

// noted holds that the record says something.
func (b *bench) noted(want string) {
	b.t.Helper()
	for _, e := range b.events {
		if body, err := e.Decode(); err == nil && strings.Contains(detail(body), want) {
			return
		}
	}
	b.t.Errorf("nothing says %q", want)
}

func (b *bench) kinds() map[record.Kind]int {
	all := map[record.Kind]int{}
	for _, e := range b.events {
		all[e.Kind]++
	}
	return all
}

// The sheet of every layout is entered to its end. That makes no proofs, no times and no
// alarms, and the review shows first that it was entered from paper.
func TestFromPaper(t *testing.T) {
	for _, job := range jobs {
		t.Run(job, func(t *testing.T) {
			b := &bench{t: t, sparse: 50}
			b.begin("Mara", job, nil)
			b.paper()
			b.enterAll()
			kinds := b.kinds()
			for _, no := range []record.Kind{record.KindCleared, record.KindAlarm, record.KindTimer, record.KindDeviation, record.KindClock} {
				if kinds[no] > 0 {
					t.Errorf("%d times %s", kinds[no], no)
				}
			}
			if kinds[record.KindReading] < 4 || kinds[record.KindRunEnded] != 1 || kinds[record.KindHoldReleased] == 0 || kinds[record.KindPhoto] != 1 {
				t.Errorf("the record has %v", kinds)
			}
			for _, step := range b.state.List().Sitting() {
				if ms := b.state.TakenMS(step.ID); ms != 0 {
					t.Errorf("%s took %d ms", step.ID, ms)
				}
				if got := b.state.StatusOf(step); step.Needed && got != checklist.Done {
					t.Errorf("%s is %s", step.ID, got)
				}
				if step.Demand != nil && b.state.Proved(step) {
					t.Errorf("%s is proved", step.ID)
				}
			}
			if times, err := checklist.TimesOf(b.events); err != nil || len(times) > 0 {
				t.Errorf("it counts for what steps usually take: %v, %v", times, err)
			}
			if _, ok := b.state.BurnRead(); ok {
				t.Error("it tells the burn")
			}
			items, err := review.Items(b.events, b.state)
			if err != nil || len(items) == 0 || items[0].Rank < record.RankTranscribed || !strings.Contains(items[0].Text, "Tobi Fenn") {
				t.Errorf("the review begins with %+v, %v", items, err)
			}
			for _, i := range items {
				if strings.Contains(i.Text, "done in ") {
					t.Errorf("too fast: %s", i.Text)
				}
			}
			if workers := review.Workers(b.events); !strings.Contains(strings.Join(workers, ","), "Tobi Fenn") {
				t.Errorf("%v worked", workers)
			}
		})
	}
}

// What stands on a sheet is taken as it stands there, also what a walk would not have let
// pass; what is not as planned is noted.
func TestOddPaper(t *testing.T) {
	b := &bench{t: t, sparse: 50}
	b.begin("Mara", "van", nil)
	b.paper()
	to := func(kind checklist.AskKind, step string) {
		t.Helper()
		for range 200 {
			if a := b.ask(); a.Kind == kind && (step == "" || a.Step.ID == step) {
				return
			}
			b.asPlanned()
		}
		t.Fatalf("never asks %s at %s", kind, step)
	}
	refused := func(text string) {
		t.Helper()
		n := len(b.events)
		if _, err := b.state.Answer(checklist.Input{Do: checklist.Enter, Text: text}, b.stamp()); !errors.As(err, new(safety.Refusal)) || len(b.events) != n {
			t.Errorf("%q is taken: %v", text, err)
		}
	}

	to(checklist.AskAcknowledge, "")
	refused("")
	b.answer(checklist.Enter, "-")
	b.noted("nothing stands on the sheet")

	to(checklist.AskPaper, "engine-stop")
	refused2 := checklist.Input{Do: checklist.Skip, Text: "no"}
	if _, err := b.state.Answer(refused2, b.stamp()); err == nil {
		t.Error("skipped without a reason")
	}
	b.answer(checklist.Skip, "not ticked on the sheet")
	b.noted("engine-stop: not ticked on the sheet")

	// What is written beside the box is kept, and proves nothing.
	to(checklist.AskPaper, "pump-dead")
	b.answer(checklist.Enter, "F12 pulled")
	b.noted("pump-dead: F12 pulled")

	// A wet joint is no way into a mending here.
	to(checklist.AskChoice, "rig-look")
	b.answer(checklist.Enter, "wet")
	b.noted("by the sheet: what was done about it is not entered")
	to(checklist.AskRelease, "")
	refused("")
	refused("12")
	b.answer(checklist.Enter, "-")
	b.noted("nobody stands on the sheet")

	to(checklist.AskPaperRun, "")
	refused("nothing") // no level
	b.answer(checklist.Enter, "1340 20")
	for _, text := range []string{"", "1300", "x 1300 20", "2 x 20", "-1 1300 20", "2000 1300 20", "end", "end x"} {
		refused(text)
	}
	b.answer(checklist.Enter, "2.5 1330 21")
	refused("2 1320 21") // before the last
	b.answer(checklist.Enter, "5 900 22")
	b.noted("at minute 5:00 of the run, if its stages went as planned: the level fell by")
	if b.ask().Kind != checklist.AskPaperRun {
		t.Errorf("the run is over after an alarm: %s", b.ask().Kind)
	}
	if _, err := b.state.Answer(checklist.Input{Do: checklist.Skip, Text: "not on the sheet"}, b.stamp()); err == nil {
		t.Error("a run under way is skipped")
	}
	b.answer(checklist.Correct, "r; 1310 22; misread the sheet")
	b.answer(checklist.Enter, "end 12,5")
	b.noted("after 750 s: as it stands on the sheet")
	if b.kinds()[record.KindAlarm] > 0 {
		t.Error("something was called out that nobody heard")
	}

	to(checklist.AskPaper, "cooled")
	refused("380")
	b.answer(checklist.Enter, "38")
	b.noted("cooled: 38 degC")
	to(checklist.AskPaper, "parts-counted")
	b.answer(checklist.Enter, "3")
	b.noted(`by the sheet it is "3" here, and 4 was counted before`)

	// Days later another takes it up: nothing lapses.
	before := b.kinds()[record.KindStepReopened]
	b.wall = b.wall.Add(50 * time.Hour)
	b.direct([]string{"resume", "Ines"})
	b.enterAll()
	if b.kinds()[record.KindStepReopened] != before || b.state.Paper() || !b.state.WasPaper() {
		t.Errorf("%d reopened", b.kinds()[record.KindStepReopened]-before)
	}
}

// A job with a stop is entered as it was done, and that it was done against the stop is
// noted; a job that is finished, or whose engine runs, takes no sheet, and no sheet is
// taken without its photo, a name and a day.
func TestPaperOfAStop(t *testing.T) {
	b := &bench{t: t, sparse: 50}
	b.begin("Mara", "van", []string{"rig.return_cooler=none"})
	if len(b.state.List().Stops) == 0 {
		t.Fatal("the plan has no stop")
	}
	photo, picture := []record.Photo{{File: "a.jpg"}}, []record.Blob{{1}}
	for _, bad := range []struct {
		paper  record.Transcribed
		photos []record.Photo
	}{{sheetOfPaper, nil}, {record.Transcribed{Done: "2026-03-12"}, photo}, {record.Transcribed{Who: "Tobi Fenn"}, photo}} {
		if _, err := b.state.FromPaper(bad.paper, bad.photos, picture[:len(bad.photos)], b.stamp()); err == nil {
			t.Errorf("%+v is taken", bad)
		}
	}
	b.paper()
	b.enterAll()
	b.noted("done by the sheet although the plan says stop: the fluid is expected to reach")
	if _, err := b.state.FromPaper(sheetOfPaper, photo, picture, b.stamp()); err == nil {
		t.Error("a finished job takes a sheet")
	}
}
