package store

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"

	"daytank/procedures/record"

	"github.com/google/uuid"
)

// OpenMemory gives an empty store that is gone when the program ends. It is for
// tests and demonstrations.
func OpenMemory() Store {
	return &memory{id: uuid.New(), jobs: map[uuid.UUID]*kept{}, blobs: map[record.Hash][]byte{}}
}

// memory keeps lines, not events, so that what it gives back has gone through
// the same reading as what comes from a file, and shares no bytes with anyone.
type memory struct {
	id     uuid.UUID
	mu     sync.Mutex
	closed bool
	jobs   map[uuid.UUID]*kept
	blobs  map[record.Hash][]byte
}

type kept struct {
	summary record.Summary
	lines   []string
}

var errClosed = errors.New("record store is closed")

// enter takes the lock, unless the store or the context is at its end.
func (m *memory) enter(ctx context.Context) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	m.mu.Lock()
	if m.closed {
		m.mu.Unlock()
		return errClosed
	}
	return nil
}

func (m *memory) Append(ctx context.Context, head record.Head, events []record.Event, blobs ...record.Blob) error {
	b, err := newBatch(head, events, blobs)
	if err != nil {
		return err
	}
	if err := m.enter(ctx); err != nil {
		return err
	}
	defer m.mu.Unlock()
	job := m.jobs[head.Job]
	if job == nil {
		if head.Seq > 0 {
			return unknownJob("job " + head.Job.String())
		}
		job = &kept{}
	}
	summary, err := b.fold(job.summary)
	if err != nil {
		return err
	}
	if taken := m.numbered(summary.Asset, summary.Number); taken != nil && taken != job {
		return numberTaken(summary)
	}
	if err := b.missing(func(h record.Hash) (bool, error) { _, here := m.blobs[h]; return here, nil }); err != nil {
		return err
	}
	m.keep(job, summary, b)
	return nil
}

func (m *memory) keep(job *kept, summary record.Summary, b batch) {
	for digest, blob := range b.blobs {
		if _, here := m.blobs[digest]; !here {
			m.blobs[digest] = bytes.Clone(blob)
		}
	}
	for _, e := range b.events {
		job.lines = append(job.lines, string(e.Line()))
	}
	job.summary = summary
	m.jobs[b.head.Job] = job
}

func (m *memory) numbered(asset string, number int64) *kept {
	for _, job := range m.jobs {
		if job.summary.Asset == asset && job.summary.Number == number {
			return job
		}
	}
	return nil
}

func (m *memory) Events(ctx context.Context, job uuid.UUID) ([]record.Event, error) {
	if err := m.enter(ctx); err != nil {
		return nil, err
	}
	defer m.mu.Unlock()
	k := m.jobs[job]
	if k == nil {
		return nil, unknownJob("job " + job.String())
	}
	c := chain{head: record.Head{Job: job, Seq: k.summary.Events, Hash: k.summary.Head}}
	for i, line := range k.lines {
		if err := c.add(int64(i+1), line); err != nil {
			return c.events, err
		}
	}
	return c.events, c.end()
}

func (m *memory) Blob(ctx context.Context, digest record.Hash) ([]byte, error) {
	if err := m.enter(ctx); err != nil {
		return nil, err
	}
	defer m.mu.Unlock()
	data, here := m.blobs[digest]
	if !here {
		return nil, fmt.Errorf("blob %s: %w", digest, ErrNoBlob)
	}
	return checkBlob(digest, bytes.Clone(data))
}

func (m *memory) Find(ctx context.Context, asset string, number int64) (record.Summary, error) {
	if err := m.enter(ctx); err != nil {
		return record.Summary{}, err
	}
	defer m.mu.Unlock()
	if k := m.numbered(asset, number); k != nil {
		return k.summary, nil
	}
	return record.Summary{}, unknownJob(fmt.Sprintf("%s/%d", asset, number))
}

func (m *memory) Get(ctx context.Context, job uuid.UUID) (record.Summary, error) {
	if err := m.enter(ctx); err != nil {
		return record.Summary{}, err
	}
	defer m.mu.Unlock()
	if k := m.jobs[job]; k != nil {
		return k.summary, nil
	}
	return record.Summary{}, unknownJob("job " + job.String())
}

func (m *memory) Jobs(ctx context.Context, q Query) ([]record.Summary, error) {
	if err := q.check(); err != nil {
		return nil, err
	}
	if err := m.enter(ctx); err != nil {
		return nil, err
	}
	defer m.mu.Unlock()
	var found []record.Summary
	for _, k := range m.jobs {
		if q.fits(k.summary) {
			found = append(found, k.summary)
		}
	}
	order := newestFirst
	if q.WorstFirst {
		order = worstFirst
	}
	slices.SortFunc(found, order)
	found = found[min(q.Offset, len(found)):]
	if q.Limit > 0 {
		found = found[:min(q.Limit, len(found))]
	}
	return found, nil
}

func (q Query) fits(s record.Summary) bool {
	return (len(q.Jobs) == 0 || slices.Contains(q.Jobs, s.Job)) &&
		(q.Asset == "" || q.Asset == s.Asset) &&
		(q.Operator == "" || q.Operator == s.Operator) &&
		(len(q.States) == 0 || slices.Contains(q.States, s.State)) &&
		!s.Created.Before(q.From) &&
		(q.To.IsZero() || s.Created.Before(q.To))
}

// newestFirst orders by creation; jobs of the same millisecond by their ids, so
// that pages of a list do not overlap.
func newestFirst(a, b record.Summary) int {
	return cmp.Or(b.Created.Compare(a.Created), strings.Compare(b.Job.String(), a.Job.String()))
}

// worstFirst orders by weight, and as [newestFirst] where that is the same.
func worstFirst(a, b record.Summary) int {
	return cmp.Or(cmp.Compare(b.Weight, a.Weight), newestFirst(a, b))
}

func (m *memory) NextNumber(ctx context.Context, asset string) (int64, error) {
	if err := m.enter(ctx); err != nil {
		return 0, err
	}
	defer m.mu.Unlock()
	highest := int64(0)
	for _, k := range m.jobs {
		if k.summary.Asset == asset {
			highest = max(highest, k.summary.Number)
		}
	}
	return highest + 1, nil
}

func (m *memory) Identity(ctx context.Context) (uuid.UUID, error) {
	if err := m.enter(ctx); err != nil {
		return uuid.Nil, err
	}
	defer m.mu.Unlock()
	return m.id, nil
}

func (m *memory) Close() error {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.closed = true
	return nil
}
