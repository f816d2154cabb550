package checklist

import (
	"testing"
	"time"

	"daytank/procedures/record"
)

// How long the engine ran is counted over all runs, without the soaks, and until an
// emergency, not until the work was taken up again.
func TestRan(t *testing.T) {
	began := time.Date(2026, 3, 14, 9, 0, 0, 0, time.UTC)
	plan := Planned{List: Checklist{Run: Run{
		Idle:   &Estimate{ExpULMin: 10000},
		Stages: []Stage{{What: "idle", FactorPPM: 1e6}, {What: "soak", Soak: true}, {What: "idle", FactorPPM: 1e6}},
	}}}
	s := State{planned: plan, steps: map[string]progress{}}
	at := func(minutes float64, bodies ...record.Body) {
		for _, b := range bodies {
			s.apply(record.Stamp{At: began.Add(time.Duration(minutes * float64(time.Minute)))}, b)
		}
	}
	hold := func(engine, soak float64, ended bool) {
		t.Helper()
		r, ok := s.Ran()
		if !ok || r.EngineMS != int64(engine*60000) || r.SoakMS != int64(soak*60000) || r.Ended != ended {
			t.Errorf("ran %+v, %t; want %g min and %g min of soak, ended %t", r, ok, engine, soak, ended)
		}
	}
	if r, ok := s.Ran(); ok {
		t.Errorf("before the start it ran %+v", r)
	}
	at(0, record.RunStarted{}, record.Stage{Stage: 1})
	at(3, record.Note{})
	hold(3, 0, false)
	at(5, record.Emergency{})
	at(65, record.Note{})
	hold(5, 0, false)
	at(70, record.RunEnded{RunMS: 70 * minute})
	hold(5, 0, true)
	if r, _ := s.Ran(); r.To != began.Add(5*time.Minute) {
		t.Errorf("it ended at %v", r.To)
	}
	at(100, record.RunStarted{}, record.Stage{Stage: 1})
	at(112, record.Stage{Stage: 2})
	at(122, record.Stage{Stage: 3})
	at(132.5, record.RunEnded{RunMS: 32*minute + 30*second})
	hold(5+22.5, 10, true)
	at(140, record.Note{})
	if r, _ := s.Ran(); r.BurnedUL == nil || *r.BurnedUL != 275000 { // 27.5 min of 10 mL
		t.Errorf("burned %v", r.BurnedUL)
	}
	if r, _ := s.Ran(); r.From != began || r.To != began.Add(132*time.Minute+30*time.Second) {
		t.Errorf("from %v to %v", r.From, r.To)
	}
}

// What is entered from a sheet has run until its last reading, however long entering takes; a
// stage that the plan does not have counts as one with the engine on.
func TestRanByItsReadings(t *testing.T) {
	began := time.Date(2026, 3, 14, 9, 0, 0, 0, time.UTC)
	s := State{planned: Planned{List: Checklist{Run: Run{Stages: []Stage{
		{What: "idle", LengthMS: 10 * minute}, {What: "soak", Soak: true, LengthMS: 5 * minute},
	}}}}, steps: map[string]progress{}}
	for _, c := range []struct {
		what         string
		entered      int64 // so many minutes after the first
		body         record.Body
		engine, soak int64 // minutes
	}{
		{"the sheet", 0, record.Transcribed{}, 0, 0},
		{"the start", 0, record.RunStarted{}, 0, 0},
		{"its first stage", 0, record.Stage{Stage: 1}, 0, 0},
		{"minute 8", 20, record.Reading{RunMS: 8 * minute}, 8, 0},
		{"a remark", 45, record.Note{}, 8, 0},
		{"the soak", 50, record.Stage{Stage: 2}, 8, 0},
		{"minute 13", 60, record.Reading{RunMS: 13 * minute}, 10, 3},
		{"a stage more", 60, record.Stage{Stage: 3}, 10, 3},
		{"minute 19", 60, record.Reading{RunMS: 19 * minute}, 14, 5},
		{"the end", 70, record.RunEnded{RunMS: 20 * minute}, 15, 5},
	} {
		s.apply(record.Stamp{At: began.Add(time.Duration(c.entered) * time.Minute)}, c.body)
		if r, _ := s.Ran(); r.EngineMS != c.engine*minute || r.SoakMS != c.soak*minute {
			t.Errorf("after %s: %d ms and %d ms of soak, want %d min, %d min", c.what, r.EngineMS, r.SoakMS, c.engine, c.soak)
		}
	}
}

// A reading of before a change of stage is not overdue until half a minute after it; one at
// the very moment of the change counts as one of the new stage.
func TestDueInStage(t *testing.T) {
	for _, c := range []struct {
		name                string
		stage               int
		stageMS, lastMS, at int64
	}{
		{"at the start", 0, 0, 0, 30 * second},
		{"not read before the change", 1, 10 * minute, 4 * minute, 10*minute + 30*second},
		{"read at the change", 1, 230 * second, 230 * second, 4 * minute},
		{"read after it", 1, 10 * minute, 12 * minute, 15 * minute},
	} {
		r := engineRun{stage: c.stage, stageMS: c.stageMS, lastMS: c.lastMS}
		if got := r.dueInStage(325150); got != c.at {
			t.Errorf("%s: due at %s, want %s", c.name, Clock(got), Clock(c.at))
		}
	}
}
