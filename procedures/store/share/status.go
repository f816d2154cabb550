package share

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"daytank/procedures/record"
	"daytank/procedures/store"

	"github.com/google/uuid"
)

// Row is a job of the bay beside the office's copy of it.
type Row struct {
	record.Summary       // of the bay
	There          int64 // events of the office's copy; 0: it has none
}

// Status is how a bay and the office stand.
type Status struct {
	Same   int              // jobs of which both have the same
	Unsent []Row            // the bay has more
	Behind []Row            // the office has more
	Forked []Row            // both go on differently
	Broken []Row            // one of the copies does not verify
	Coming []record.Summary // held by this bay, as the office has it, and not here yet
	Free   []record.Summary // sent back and held by the office: can be taken over
}

// page is how many rows are compared at once.
const page = 500

// Status compares the bay's jobs with the office's. It changes nothing.
func (l Link) Status(ctx context.Context) (Status, error) {
	var s Status
	here := map[uuid.UUID]bool{}
	for offset := 0; ; offset += page {
		rows, err := l.Kept.Jobs(ctx, store.Query{Limit: page, Offset: offset})
		if err != nil {
			return s, err
		}
		if len(rows) == 0 {
			break
		}
		for _, row := range rows {
			here[row.Job] = true
		}
		if err := l.compare(ctx, rows, &s); err != nil {
			return s, err
		}
	}
	coming, err := l.Office.Store.Held(ctx, l.Bay.ID, store.Query{})
	if err != nil {
		return s, err
	}
	for _, row := range coming {
		if !here[row.Job] {
			s.Coming = append(s.Coming, row)
		}
	}
	s.Free, err = l.Office.Store.Held(ctx, l.Office.ID, store.Query{States: []record.State{record.StateSentBack}})
	return s, err
}

// compare sorts rows of the bay by how they stand to the office's. Chains are read only
// where the rows differ.
func (l Link) compare(ctx context.Context, rows []record.Summary, s *Status) error {
	ids := make([]uuid.UUID, len(rows))
	for i, row := range rows {
		ids[i] = row.Job
	}
	found, err := l.Office.Store.Jobs(ctx, store.Query{Jobs: ids})
	if err != nil {
		return err
	}
	there := map[uuid.UUID]record.Summary{}
	for _, row := range found {
		there[row.Job] = row
	}
	for _, row := range rows {
		other, sent := there[row.Job]
		r := Row{row, other.Events}
		switch {
		case !sent:
			s.Unsent = append(s.Unsent, r)
			continue
		case other.Head == row.Head:
			s.Same++
			continue
		}
		c, err := l.read(ctx, row.Job)
		var fork *Fork
		var damage *record.Damage
		switch {
		case errors.As(err, &damage):
			s.Broken = append(s.Broken, r)
		case err != nil:
			return err
		case errors.As(c.check(), &fork):
			s.Forked = append(s.Forked, r)
		case len(c.here) > len(c.there):
			s.Unsent = append(s.Unsent, r)
		default:
			s.Behind = append(s.Behind, r)
		}
	}
	return nil
}

// SendAll sends and fetches whatever differs, and releases what is ready for review here,
// with the stamp. A job that cannot be is left as it is, with the reason in its
// [Outcome.Err]; the others go on. The error is one that stops all: the office cannot be
// reached, or refuses this login.
func (l Link) SendAll(ctx context.Context, stamp record.Stamp) ([]Outcome, error) {
	s, err := l.Status(ctx)
	if err != nil {
		return nil, err
	}
	var jobs []record.Summary
	for _, rows := range [][]Row{s.Unsent, s.Behind, s.Forked, s.Broken} {
		for _, row := range rows {
			jobs = append(jobs, row.Summary)
		}
	}
	jobs = append(jobs, s.Coming...)
	ready, err := l.readyHere(ctx)
	if err != nil {
		return nil, err
	}
	var all []Outcome
	for _, job := range jobs {
		if slices.ContainsFunc(ready, func(r record.Summary) bool { return r.Job == job.Job }) {
			continue
		}
		out, err := l.Send(ctx, job.Job)
		if all, err = gather(all, job, out, err); err != nil {
			return all, err
		}
	}
	for _, job := range ready {
		out, err := l.Release(ctx, job.Job, stamp)
		if all, err = gather(all, job, out, err); err != nil {
			return all, err
		}
	}
	return all, nil
}

// readyHere gives the jobs that are ready for review and held by the bay.
func (l Link) readyHere(ctx context.Context) ([]record.Summary, error) {
	rows, err := l.Kept.Jobs(ctx, store.Query{States: []record.State{record.StateToReview}})
	if err != nil {
		return nil, err
	}
	var ready []record.Summary
	for _, row := range rows {
		events, err := whole(ctx, l.Kept, row.Job)
		if err != nil {
			continue // sending it says so
		}
		if holder, err := HolderOf(events); err == nil && l.held(holder) {
			ready = append(ready, row)
		}
	}
	return ready, nil
}

// gather adds an outcome, or hands an error on that the next job would meet with too.
func gather(all []Outcome, job record.Summary, out Outcome, err error) ([]Outcome, error) {
	for _, stops := range []error{store.ErrUnreachable, store.ErrLogin, store.ErrTLS, store.ErrReadOnly, store.ErrNoRights, context.Canceled, context.DeadlineExceeded} {
		if errors.Is(err, stops) {
			return all, err
		}
	}
	if out.Name == "" {
		out.Name = fmt.Sprintf("%s/%d", job.Asset, job.Number)
	}
	out.Err = err
	return append(all, out), nil
}
