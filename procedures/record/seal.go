package record

import (
	"errors"
	"fmt"
	"time"

	"github.com/google/uuid"
)

// Stamp says who wrote something, and when. Run is the zero UUID, and MonoMS
// is 0, where no process was there to see it.
type Stamp struct {
	At     time.Time // any zone and precision; kept as UTC, cut to the millisecond
	MonoMS int64     // ms on the monotonic clock of Run, from 0
	Run    uuid.UUID // process
	By     string    // 1 to 200 bytes of UTF-8
}

// Seal turns bodies into events that follow head, in their order and under one
// stamp, and gives the head after them. A chain must begin with [Created],
// which stands nowhere else. It refuses an empty By, a zero time, floats,
// numbers beyond ±[MaxInteger], text that is not UTF-8, keys outside the rules
// of the format, and events over [MaxLine].
func Seal(head Head, s Stamp, bodies ...Body) ([]Event, Head, error) {
	if s.At.IsZero() {
		return nil, head, errors.New("event without a time")
	}
	if err := head.check(); err != nil {
		return nil, head, err
	}
	events := make([]Event, 0, len(bodies))
	next := head
	for _, body := range bodies {
		e, err := sealOne(next, s, body)
		if err != nil {
			return nil, head, fmt.Errorf("event %d: %w", next.Seq+1, err)
		}
		events = append(events, e)
		next = e.Head()
	}
	return events, next, nil
}

func (h Head) check() error {
	switch {
	case h.Job == uuid.Nil:
		return errors.New("head without a job")
	case h.Seq < 0 || h.Seq >= MaxInteger:
		return fmt.Errorf("head at event %d, want 0 to 2^53-1", h.Seq)
	case h.Seq == 0 && h != Genesis(h.Job):
		return fmt.Errorf("head of the unbegun job %s is %s, want %s", h.Job, h.Hash, Genesis(h.Job).Hash)
	}
	return nil
}

func sealOne(head Head, s Stamp, body Body) (Event, error) {
	if body == nil {
		return Event{}, errors.New("no body")
	}
	tree, err := treeOf(body)
	if err != nil {
		return Event{}, fmt.Errorf("%s: %w", body.Kind(), err)
	}
	members, ok := tree.(object)
	if !ok {
		return Event{}, fmt.Errorf("%s: body is not a JSON object", body.Kind())
	}
	if err := checkKeys(members); err != nil {
		return Event{}, fmt.Errorf("%s: %w", body.Kind(), err)
	}
	e := Event{
		Job: head.Job, Seq: head.Seq + 1, At: time.UnixMilli(s.At.UnixMilli()).UTC(),
		MonoMS: s.MonoMS, Run: s.Run, By: s.By,
		Kind: body.Kind(), Body: appendTree(nil, members), Prev: head.Hash,
	}
	if err := e.check(); err != nil {
		return Event{}, err
	}
	if err := checkBeginning(e); err != nil {
		return Event{}, err
	}
	e.Hash = e.digest()
	if n := len(e.Line()); n > MaxLine {
		return Event{}, fmt.Errorf("%s: line of %d bytes, want at most %d", e.Kind, n, MaxLine)
	}
	return e, nil
}

// checkBeginning holds created to the first place, and the first place to it.
func checkBeginning(e Event) error {
	switch first := e.Seq == 1; {
	case first && e.Kind != KindCreated:
		return fmt.Errorf("the first event is %s, want %s", e.Kind, KindCreated)
	case !first && e.Kind == KindCreated:
		return fmt.Errorf("%s stands after the first place", e.Kind)
	}
	return nil
}
