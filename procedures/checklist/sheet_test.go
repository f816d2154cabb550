package checklist_test

import (
	"fmt"
	"strings"
	"testing"

	"daytank/procedures/checklist"
	"daytank/procedures/record"
)

// What a sheet says of the vehicle is written into the job as in a walk, by a choice or a
// tick; what was as planned plans nothing again.
func TestSheetSetsTheJob(t *testing.T) {
	b := &bench{t: t, sparse: 50}
	b.begin("Mara", "van", []string{"rig.return_fastened=false"})
	b.paper()
	b.at(checklist.AskChoice, "oil-read")
	b.answer(checklist.Enter, "high")
	if got := b.state.Job().Condition.OilLevel; got != "high" {
		t.Errorf("the oil stands %q in the job", got)
	}
	b.at(checklist.AskPaper, "return-fastened")
	if b.state.Job().Rig.Fastened() {
		t.Error("the return is fastened before it is ticked")
	}
	b.answer(checklist.Enter, "")
	if !b.state.Job().Rig.Fastened() || !b.state.List().Fastened {
		t.Error("the return is ticked and not fastened")
	}
	n := len(b.events)
	b.at(checklist.AskPaperRun, "")
	for _, e := range b.events[n:] {
		if e.Kind == record.KindReplanned {
			r, err := record.As[record.Replanned](e)
			t.Errorf("%s=%s is planned again, %v", r.Path, r.Value, err)
		}
	}
}

// The lines of a sheet's run: a level at the stop level is noted, one just above it is not. A
// minute belongs to the stage that the plan begins at it, 10 min of idling, 2 min at 1500 rpm
// and 15 min of soak in the van's job file; minutes go from 0 to those of a day.
func TestSheetOfARun(t *testing.T) {
	const below = "by the sheet the run began at or below the stop level"
	notes := func(b *bench) (n int) {
		for _, e := range b.events {
			if body, err := e.Decode(); err == nil && strings.Contains(detail(body), below) {
				n++
			}
		}
		return n
	}
	begin := func(above int64) *bench {
		b := &bench{t: t, sparse: 200}
		b.begin("Mara", "van", nil)
		b.paper()
		b.at(checklist.AskPaperRun, "")
		if a := b.ask(); a.Run.Part != checklist.RunBaseline {
			t.Errorf("before the start it asks for %+v", a.Run)
		}
		b.answer(checklist.Enter, fmt.Sprintf("%.3f mL 18", float64(b.state.List().Run.StopUL+above)/1000))
		return b
	}
	if n := notes(begin(0)); n != 1 {
		t.Errorf("at the stop level it is noted %d times", n)
	}
	b := begin(1)
	if n := notes(b); n != 0 {
		t.Errorf("above the stop level it is noted %d times", n)
	}
	for _, c := range []struct {
		minute string
		stage  int
	}{{"0", 1}, {"9.9", 1}, {"10", 2}, {"11.9", 2}, {"12", 3}, {"27", 4}, {"1440", 4}} {
		b.answer(checklist.Enter, c.minute+" 1300 21")
		a := b.ask()
		readings := b.state.Readings()
		if a.Run.Part != checklist.RunReading || a.Run.Stage != c.stage || a.Run.Stages != 4 || readings[len(readings)-1].Stage != int64(c.stage) {
			t.Errorf("minute %s is in stage %d of %d, want %d of 4", c.minute, a.Run.Stage, a.Run.Stages, c.stage)
		}
		if got, want := fmt.Sprintf("%g", float64(a.Run.ElapsedMS)/60_000), c.minute; got != want {
			t.Errorf("the last line is of minute %s, want %s", got, want)
		}
	}
	b.refuses(checklist.Enter, "1440.1 1300 21", "no minute of the run")
	b.refuses(checklist.Enter, "-0.1 1300 21", "no minute of the run")

	long := begin(1)
	long.answer(checklist.Enter, "13 1300 21")
	if got := long.ask().Run.Stage; got != 3 {
		t.Errorf("the first line, of minute 13, is in stage %d", got)
	}
}
