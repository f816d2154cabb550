package record

import (
	"context"
	"errors"
	"fmt"

	"github.com/google/uuid"
)

// Damage is the first place at which a chain is not what was sealed.
type Damage struct {
	Seq    int64 // place in the chain, from 1
	Reason string
}

// Error names the place and the reason.
func (d *Damage) Error() string { return fmt.Sprintf("event %d: %s", d.Seq, d.Reason) }

// Verify recomputes the chain of a job. The error is a [*Damage] naming the
// first place that is not sound, also when a blob named there is missing,
// cannot be read, or has another digest. Blob gives a blob by its digest; when
// it is nil the blobs are not looked at. A context's end inside blob is handed
// back as it is. Verify cannot see that events are missing at the end; compare
// the last hash with a head known from elsewhere.
func Verify(job uuid.UUID, events []Event, blob func(Hash) ([]byte, error)) error {
	if len(events) == 0 {
		return &Damage{Seq: 1, Reason: "the record has no events"}
	}
	head := Genesis(job)
	for _, e := range events {
		next, err := head.Follow(e)
		if err != nil {
			return err
		}
		if err := verifyBlobs(e, blob); err != nil {
			return err
		}
		head = next
	}
	return nil
}

// Follow checks that an event is sound and stands where head says the next one
// must, and gives the head after it. The error is a [*Damage] naming that place.
func (h Head) Follow(e Event) (Head, error) {
	if reason := h.misfit(e); reason != "" {
		return h, &Damage{Seq: h.Seq + 1, Reason: reason}
	}
	return e.Head(), nil
}

func (h Head) misfit(e Event) string {
	switch {
	case e.Job != h.Job:
		return fmt.Sprintf("belongs to the job %s, not to %s", e.Job, h.Job)
	case e.Seq != h.Seq+1:
		return fmt.Sprintf("event %d stands in its place", e.Seq)
	case e.Prev != h.Hash && h.Seq == 0:
		return fmt.Sprintf("follows %s, but a first event follows the hash of its job, %s", e.Prev, h.Hash)
	case e.Prev != h.Hash:
		return fmt.Sprintf("follows %s, but event %d has the hash %s", e.Prev, h.Seq, h.Hash)
	}
	if err := e.sound(); err != nil {
		return err.Error()
	}
	return ""
}

// sound checks an event on its own: its line reads back as itself, its kind
// may stand in its place, and its body fits its kind.
func (e Event) sound() error {
	read, err := ParseLine(e.Line())
	if err != nil {
		return err
	}
	if !read.At.Equal(e.At) {
		return fmt.Errorf("at is finer than a millisecond: %s", e.At)
	}
	if err := checkBeginning(e); err != nil {
		return err
	}
	if _, err := e.Decode(); err != nil {
		return fmt.Errorf("body does not fit: %w", errors.Unwrap(err))
	}
	return nil
}

func verifyBlobs(e Event, blob func(Hash) ([]byte, error)) error {
	if blob == nil {
		return nil
	}
	for _, want := range e.Blobs() {
		data, err := blob(want)
		if errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) {
			return err
		}
		if err != nil {
			return &Damage{e.Seq, fmt.Sprintf("blob %s: %v", want, err)}
		}
		if got := Blob(data).Digest(); got != want {
			return &Damage{e.Seq, fmt.Sprintf("blob %s is altered: its bytes have the digest %s", want, got)}
		}
	}
	return nil
}
