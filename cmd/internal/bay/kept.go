package bay

import (
	"context"
	"time"

	"daytank/procedures/record"
)

// keptEvents is what the screen shows of the record beside what is asked: the
// last alarm of the run, what was seen in it, and when the step under way was begun.
// It is read from the record and from nowhere else.
type keptEvents struct {
	seen      int64        // events read
	lastAlarm record.Alarm // since the last reading
	alarms    int
	looks     int    // observations of the run
	step      string // under way
	since     time.Time
}

// read takes in the events that have come since.
func (k *keptEvents) read(ctx context.Context, events func(context.Context) ([]record.Event, error), total int64) error {
	if total == k.seen || events == nil {
		return nil
	}
	all, err := events(ctx)
	if err != nil {
		return err
	}
	for _, e := range all[min(int(k.seen), len(all)):] {
		body, err := e.Decode()
		if err != nil {
			return err
		}
		k.apply(e.At, body)
	}
	k.seen = int64(len(all))
	return nil
}

func (k *keptEvents) apply(at time.Time, body record.Body) {
	switch b := body.(type) {
	case record.StepStarted:
		k.step, k.since = b.Step, at
	case record.Resumed:
		k.since = at
	case record.Reading:
		k.lastAlarm = record.Alarm{}
	case record.Observation:
		k.looks++
		if k.lastAlarm.Name == "return unseen" {
			k.lastAlarm = record.Alarm{}
		}
	case record.Alarm:
		k.lastAlarm = b
		k.alarms++
	}
}

// last gives the last reading of a level, and the one before it, as they are right.
func (s *Screen) last() (now, before record.Reading, readings int) {
	all := s.Sitting.State().Readings()
	n := len(all)
	if n > 0 {
		now = all[n-1]
	}
	if n > 1 {
		before = all[n-2]
	}
	return now, before, n
}

// lastWarmth gives the last temperature that was read, in mK.
func (s *Screen) lastWarmth() (int64, bool) {
	all := s.Sitting.State().Readings()
	for i := len(all) - 1; i >= 0; i-- {
		if t := all[i].TemperatureMK; t != nil {
			return *t, true
		}
	}
	return 0, false
}
