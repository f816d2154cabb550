package share

import (
	"context"
	"sync"

	"daytank/procedures/record"
	"daytank/procedures/store"

	"github.com/google/uuid"
)

// HoldingBay gives a bay's store as walks, reviews and tests are to use it: an append to a
// job that somebody else holds is refused, with a [*NotHeld]. Events of others come in
// past it, by [Link.Send] and imports, which use the store itself.
func HoldingBay(ctx context.Context, kept store.Store) (store.Store, error) {
	id, err := kept.Identity(ctx)
	return &holding{Store: kept, id: id, begins: true}, err
}

// HoldingOffice gives the office's store as reviews are to use it; see [HoldingBay]. Jobs
// that were never transferred belong to bays.
func HoldingOffice(o Office) store.Store { return &holding{Store: o.Store, id: o.ID} }

// holding refuses appends to jobs that the store does not hold. It reads the chain with
// the first append to a job, and not again while nobody else writes to it.
type holding struct {
	store.Store
	id     uuid.UUID
	begins bool // jobs that were never transferred were begun here

	mu   sync.Mutex
	last record.Head // of a job that is held, as it was left
}

func (h *holding) Append(ctx context.Context, head record.Head, events []record.Event, blobs ...record.Blob) error {
	if head.Seq > 0 {
		if err := h.check(ctx, head); err != nil {
			return err
		}
	}
	if err := h.Store.Append(ctx, head, events, blobs...); err != nil {
		return err
	}
	h.mu.Lock()
	defer h.mu.Unlock()
	h.last = record.Head{}
	_, moved, err := record.LastTransfer(events)
	if err == nil && !moved && (head.Seq > 0 || h.begins) {
		h.last = headOf(head.Job, events)
	}
	return nil
}

// check looks who holds the job at the head; that the head is still the last, the append
// itself finds out.
func (h *holding) check(ctx context.Context, head record.Head) error {
	h.mu.Lock()
	known := head == h.last
	h.mu.Unlock()
	if known {
		return nil
	}
	events, err := h.Store.Events(ctx, head.Job)
	if err != nil {
		return err
	}
	holder, err := HolderOf(events[:min(head.Seq, int64(len(events)))])
	if err != nil {
		return err
	}
	if holder.ID == h.id || holder.ID == uuid.Nil && h.begins {
		return nil
	}
	return &NotHeld{nameOf(events), holder}
}

// Writable passes the question on to a store that can tell; of another it says nothing.
func (h *holding) Writable(ctx context.Context) error {
	if w, ok := h.Store.(interface{ Writable(context.Context) error }); ok {
		return w.Writable(ctx)
	}
	return nil
}
