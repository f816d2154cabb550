package store

import (
	"database/sql"
	"errors"
	"fmt"

	"daytank/procedures/record"
)

// batch is an append that was checked as far as it can be without the store.
type batch struct {
	head, next record.Head
	events     []record.Event
	blobs      map[record.Hash]record.Blob
}

// newBatch refuses events that do not follow head or are not sound.
func newBatch(head record.Head, events []record.Event, blobs []record.Blob) (batch, error) {
	b := batch{head: head, next: head, events: events, blobs: make(map[record.Hash]record.Blob, len(blobs))}
	if len(events) == 0 {
		return b, errors.New("append of no events")
	}
	if head.Seq == 0 && head != record.Genesis(head.Job) {
		return b, fmt.Errorf("job %s: head of a job without events is %s", head.Job, head.Hash)
	}
	for _, e := range events {
		next, err := b.next.Follow(e)
		if err != nil {
			return b, fmt.Errorf("job %s: %w", head.Job, err)
		}
		b.next = next
	}
	for _, blob := range blobs {
		b.blobs[blob.Digest()] = blob
	}
	return b, nil
}

// fold applies the events to the summary at the head, after making sure that
// the summary stands there.
func (b batch) fold(s record.Summary) (record.Summary, error) {
	if s.Events != b.head.Seq || (s.Events > 0 && s.Head != b.head.Hash) {
		return s, fmt.Errorf("job %s is at event %d (%.16s), not %d (%.16s): %w",
			b.head.Job, s.Events, s.Head, b.head.Seq, b.head.Hash, ErrMoved)
	}
	for _, e := range b.events {
		next, err := s.Apply(e)
		if err != nil {
			return s, err
		}
		s = next
	}
	return s, nil
}

// foldRow is fold with the row of the job as a database gave it, or said that there
// is none.
func (b batch) foldRow(row record.Summary, err error) (record.Summary, error) {
	switch {
	case errors.Is(err, sql.ErrNoRows) && b.head.Seq > 0:
		return row, unknownJob("job " + b.head.Job.String())
	case errors.Is(err, sql.ErrNoRows):
		row = record.Summary{}
	case err != nil:
		return row, err
	}
	return b.fold(row)
}

// missing looks for a blob that an event names and that is neither given with
// the events nor kept already.
func (b batch) missing(kept func(record.Hash) (bool, error)) error {
	for _, e := range b.events {
		for _, digest := range e.Blobs() {
			if _, given := b.blobs[digest]; given {
				continue
			}
			here, err := kept(digest)
			if err != nil {
				return err
			}
			if !here {
				return fmt.Errorf("job %s: event %d (%s) names blob %s, which was not given: %w", e.Job, e.Seq, e.Kind, digest, ErrNoBlob)
			}
		}
	}
	return nil
}

// chain gathers the lines of a job in order.
type chain struct {
	head   record.Head
	events []record.Event
}

// add reads the line kept at a place of the chain.
func (c *chain) add(seq int64, line string) error {
	want := int64(len(c.events)) + 1
	if seq != want {
		return &record.Damage{Seq: want, Reason: fmt.Sprintf("event %d stands in its place", seq)}
	}
	e, err := record.ParseLine([]byte(line))
	if err != nil {
		return &record.Damage{Seq: want, Reason: err.Error()}
	}
	if e.Job != c.head.Job || e.Seq != seq {
		return &record.Damage{Seq: want, Reason: fmt.Sprintf("event %d of job %s stands in its place", e.Seq, e.Job)}
	}
	c.events = append(c.events, e)
	return nil
}

// end refuses a chain that does not end at the head.
func (c *chain) end() error {
	n := int64(len(c.events))
	if n < c.head.Seq {
		return &record.Damage{Seq: n + 1, Reason: fmt.Sprintf("missing: the job has %d events, %d are here", c.head.Seq, n)}
	}
	if n > c.head.Seq {
		return &record.Damage{Seq: c.head.Seq + 1, Reason: fmt.Sprintf("stands after the last event, %d", c.head.Seq)}
	}
	if n > 0 && c.events[n-1].Hash != c.head.Hash {
		return &record.Damage{Seq: n, Reason: fmt.Sprintf("hash is %s, the job's head is %s", c.events[n-1].Hash, c.head.Hash)}
	}
	return nil
}

func unknownJob(what string) error { return fmt.Errorf("%s: %w", what, ErrUnknown) }

func numberTaken(s record.Summary) error {
	return fmt.Errorf("%s/%d: %w", s.Asset, s.Number, ErrNumberTaken)
}

func checkBlob(digest record.Hash, data []byte) ([]byte, error) {
	if got := record.Blob(data).Digest(); got != digest {
		return nil, fmt.Errorf("blob %s is altered: its bytes have the digest %s", digest, got)
	}
	return data, nil
}
