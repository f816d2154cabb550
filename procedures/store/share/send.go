package share

import (
	"context"
	"errors"
	"fmt"

	"daytank/procedures/record"
	"daytank/procedures/store"

	"github.com/google/uuid"
)

// attempts is how often a step is tried again because somebody else was first.
const attempts = 5

// most is how much of a job goes at once, so that a slow network that is cut now and then
// gets on.
const (
	mostBytes  = 8 << 20 // of blobs; one blob may have more
	mostEvents = 1000
)

// Send brings the two copies of a job to the same events: what the bay has more goes to
// the office, what the office has more comes to the bay. It needs no holder, and writes no
// event. Errors are a [*Fork]; a *record.Damage of either copy; those of the stores, of
// which store.ErrUnreachable says that it goes on from where it was when it is called
// again.
func (l Link) Send(ctx context.Context, job uuid.UUID) (Outcome, error) {
	out := Outcome{Job: job}
	for attempt := 1; ; attempt++ {
		c, err := l.read(ctx, job)
		if err != nil {
			return out, err
		}
		out.Name = c.name()
		if err = c.check(); err == nil {
			err = l.level(ctx, c, &out)
		}
		if err == nil {
			out.Holder, err = HolderOf(c.longer())
		}
		// Two programs of one bay, or another bay that takes over, may be first.
		if !errors.Is(err, store.ErrMoved) || attempt == attempts {
			return out, err
		}
	}
}

// level appends what one copy has more to the other.
func (l Link) level(ctx context.Context, c copies, out *Outcome) error {
	if len(c.here) > len(c.there) {
		return carry(ctx, l.Kept, c.here, len(c.there), l.Office.Store.Copy, &out.Sent)
	}
	if len(c.there) > len(c.here) {
		lost, err := l.forgot(c)
		if err != nil {
			return err
		}
		if err := carry(ctx, l.Office.Store, c.there, len(c.here), l.Kept.Append, &out.Fetched); err != nil {
			return fmt.Errorf("%s: %w", out.Name, err)
		}
		out.Restored = out.Restored || lost
	}
	return nil
}

// forgot tells whether the bay itself has written what the office has more: it held the
// job where its copy ends.
func (l Link) forgot(c copies) (bool, error) {
	if len(c.here) == 0 {
		return false, nil
	}
	holder, err := HolderOf(c.here)
	return holder.ID == uuid.Nil || holder.ID == l.Bay.ID, err
}

type appender func(context.Context, record.Head, []record.Event, ...record.Blob) error

// carry appends the events from a place on, with the blobs that they name, in parts of
// which each leaves a whole beginning of the chain behind.
func carry(ctx context.Context, from store.Store, events []record.Event, start int, to appender, done *int64) error {
	for start < len(events) {
		var blobs []record.Blob
		end, bytes := start, 0
		for end < len(events) && end-start < mostEvents && bytes < mostBytes {
			for _, digest := range events[end].Blobs() {
				data, err := from.Blob(ctx, digest)
				if err != nil {
					return fmt.Errorf("event %d: %w", events[end].Seq, err)
				}
				blobs = append(blobs, data)
				bytes += len(data)
			}
			end++
		}
		if err := to(ctx, headOf(events[0].Job, events[:start]), events[start:end], blobs...); err != nil {
			return err
		}
		*done += int64(end - start)
		start = end
	}
	return nil
}

// Release sends a job and makes the office its holder: the bay's last event says so. A job
// that the office holds already is only sent. Besides the errors of [Link.Send] it is a
// [*NotHeld] where another bay holds the job, and store.ErrMoved where somebody works on
// the job here meanwhile.
func (l Link) Release(ctx context.Context, job uuid.UUID, stamp record.Stamp) (Outcome, error) {
	out, err := l.Send(ctx, job)
	if err != nil || out.Holder.ID == l.Office.ID {
		return out, err
	}
	events, err := whole(ctx, l.Kept, job)
	if err != nil {
		return out, err
	}
	if holder, err := HolderOf(events); err != nil || !l.held(holder) {
		return out, errors.Join(err, &NotHeld{out.Name, holder})
	}
	head := headOf(job, events)
	sealed, _, err := record.Seal(head, stamp, transferred(l.Bay, l.Office.Place))
	if err != nil {
		return out, err
	}
	if err := l.Kept.Append(ctx, head, sealed); err != nil {
		return out, err
	}
	again, err := l.Send(ctx, job)
	again.Sent, again.Fetched, again.Restored = again.Sent+out.Sent, again.Fetched+out.Fetched, again.Restored || out.Restored
	return again, err
}

// held tells whether a holder, as the bay's own copy names it, is the bay.
func (l Link) held(holder Place) bool { return holder.ID == l.Bay.ID || holder.ID == uuid.Nil }

func transferred(from, to Place) record.Transferred {
	return record.Transferred{From: from.Name, To: to.Name, FromID: from.ID.String(), ToID: to.ID.String()}
}

// TakeOver makes the bay the holder of a job that the office holds, and fetches it. A job
// that the bay holds already is only fetched, so that a take-over that was cut off can be
// made again. Errors are a [*NotHeld] with who holds the job, who may have been first just
// now; store.ErrNumberTaken where another job of the bay has its number; and those of
// [Link.Send].
func (l Link) TakeOver(ctx context.Context, job uuid.UUID, stamp record.Stamp) (Outcome, error) {
	for attempt := 1; ; attempt++ {
		err := l.takeOver(ctx, job, stamp)
		if errors.Is(err, store.ErrMoved) && attempt < attempts {
			continue
		}
		if err != nil {
			return Outcome{Job: job}, err
		}
		return l.Send(ctx, job)
	}
}

func (l Link) takeOver(ctx context.Context, job uuid.UUID, stamp record.Stamp) error {
	c, err := l.read(ctx, job)
	if err != nil {
		return err
	}
	if err := c.check(); err != nil {
		return err
	}
	holder, err := HolderOf(c.longer())
	switch {
	case err != nil:
		return err
	case holder.ID == l.Bay.ID, holder.ID == uuid.Nil && len(c.here) > 0:
		return nil
	case holder.ID != l.Office.ID:
		return &NotHeld{c.name(), holder}
	case len(c.here) > len(c.there):
		_, err := l.Send(ctx, job) // released here, and not sent yet
		return errors.Join(err, store.ErrMoved)
	case len(c.here) == 0:
		if err := l.numberFree(ctx, c.there); err != nil {
			return err
		}
	}
	head := headOf(job, c.there)
	sealed, _, err := record.Seal(head, stamp, transferred(l.Office.Place, l.Bay))
	if err != nil {
		return err
	}
	return l.Office.Store.Append(ctx, head, sealed)
}

// numberFree refuses a job whose number another job of the bay has, before it is taken over.
func (l Link) numberFree(ctx context.Context, events []record.Event) error {
	created, err := record.As[record.Created](events[0])
	if err != nil {
		return err
	}
	other, err := l.Kept.Find(ctx, created.Asset, created.Number)
	switch {
	case errors.Is(err, store.ErrUnknown):
		return nil
	case err != nil:
		return err
	}
	return fmt.Errorf("%s/%d is another job here, %s: %w", created.Asset, created.Number, other.Job, store.ErrNumberTaken)
}

// HandBack makes the bay the holder of a job again that it came from: one that was sent
// back, for whoever did the work. The bay fetches it when it asks next. Errors are a
// [*NotHeld] where the office does not hold the job, and store.ErrMoved where somebody
// took it over meanwhile.
func (o Office) HandBack(ctx context.Context, job uuid.UUID, stamp record.Stamp) (Place, error) {
	events, err := whole(ctx, o.Store, job)
	if err != nil {
		return Place{}, err
	}
	if len(events) == 0 {
		return Place{}, fmt.Errorf("job %s: %w", job, store.ErrUnknown)
	}
	last, given, err := record.LastTransfer(events)
	if err != nil {
		return Place{}, err
	}
	holder, err := HolderOf(events)
	if err != nil || !given || holder.ID != o.ID {
		return Place{}, errors.Join(err, &NotHeld{nameOf(events), holder})
	}
	id, err := uuid.Parse(last.FromID)
	if err != nil {
		return Place{}, fmt.Errorf("%s came from %q, without an identity that reads: %w", nameOf(events), last.From, err)
	}
	to := Place{id, last.From}
	head := headOf(job, events)
	sealed, _, err := record.Seal(head, stamp, transferred(o.Place, to))
	if err != nil {
		return Place{}, err
	}
	return to, o.Store.Append(ctx, head, sealed)
}
