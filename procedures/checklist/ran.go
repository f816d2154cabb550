package checklist

import (
	"math"
	"time"

	"daytank/procedures/record"
)

// Ran is what a record says of how long the engine ran on the fluid. Where the work was
// entered from paper the stages began by the plan.
type Ran struct {
	EngineMS int64     // of all runs, without the soaks
	SoakMS   int64     // engine off between stages
	From, To time.Time // start of the first run; end of the last, or its last entry so far
	Ended    bool      // the last one
	Paper    bool      // entered from a sheet: from and to are when it was entered
	BurnedUL *int64    // by the expected burn, in µL; nil where the return went to waste, or before this was kept
}

// Ran gives how long the engine ran on the fluid; false where it has not.
func (s State) Ran() (Ran, bool) {
	out := s.ran
	if s.run.running {
		until := s.run.elapsed(s.last)
		if n := len(s.run.readings); s.paper && n > 0 { // entering it is not running
			until = s.run.readings[n-1].RunMS
		}
		out = out.and(s.run, s.planned.List.Run, until, s.last.At)
		out.Paper = s.paper
	}
	return out, !out.From.IsZero()
}

// and adds a run that was so long.
func (r Ran) and(run engineRun, plan Run, untilMS int64, at time.Time) Ran {
	if run.cut != nil && run.cut.ms <= untilMS {
		untilMS, at = run.cut.ms, run.cut.at
	}
	for i, begun := range run.starts {
		ended := untilMS
		if i+1 < len(run.starts) {
			ended = min(ended, run.starts[i+1])
		}
		if i < len(plan.Stages) && plan.Stages[i].Soak {
			r.SoakMS += max(0, ended-begun)
		} else {
			r.EngineMS += max(0, ended-begun)
		}
	}
	if plan.Idle != nil {
		ul := int64(math.Round(run.idleMinutes(plan, untilMS) * float64(plan.Idle.ExpULMin)))
		if r.BurnedUL != nil {
			ul += *r.BurnedUL
		}
		r.BurnedUL = &ul
	}
	if r.From.IsZero() {
		r.From = run.started.At
	}
	r.To, r.Ended = at, !run.running
	return r
}

// ranUntil counts a run that has ended.
func (s *State) ranUntil(b record.RunEnded, at time.Time) {
	s.ran = s.ran.and(s.run, s.planned.List.Run, b.RunMS, at)
	s.ran.Paper = s.paper
}

// cutOff is when an emergency switched the engine off. The end of the run is written only
// when the work is taken up again.
type cutOff struct {
	ms int64 // of the run
	at time.Time
}

func (r *engineRun) cutBy(at record.Stamp) {
	if r.running && r.cut == nil {
		r.cut = &cutOff{r.elapsed(at), at.At}
	}
}
