// Package share lets several bays of a workshop share their records: each walks its jobs
// with the store it has at hand, and sends them to one that all can reach.
//
// # Words
//
// A bay is a store where jobs are begun and walked; the office is the shared store. To
// send is to bring the office's copy of a job up to what the bay has, to fetch the other
// way round. The holder of a job is the store that may append to it. To release is to make
// the office the holder, to take over to make a bay it, to hand back to make the bay it
// that the job came from.
//
// # One holder
//
// A job is held by the store that began it, until an event transferred in its chain names
// another. That event is the last that the old holder appends. Since it is in the chain,
// whoever has the chain up to there knows the holder, and nobody else appends: two stores'
// copies of a job are always the same up to the end of the shorter one. Nothing can fork
// but by a store that has forgotten what it once had: one brought back from a backup, or
// copied to a second machine. Then the copies are held against each other, event by event:
//
//   - where the bay's is the beginning of the office's, it is brought up to date, and
//     [Outcome.Restored] says that it had been older than what was sent from it;
//   - where both go on differently, nothing is sent or fetched: the error is a [*Fork], and
//     both keep what they have.
//
// # When the network goes
//
// Each step is an append on one side, which is kept as a whole or not at all, and each may
// be made again: what is there already is not sent again, a job taken over already is only
// fetched. A bay appends its own transferred before it sends it; where it is cut off in
// between, the job is on its way, held by the office as soon as the next sending gets
// there. A take-over is an append at the office: of two bays one is first, and the other
// is told who.
//
// The package reads no clock: whoever writes an event hands its stamp in.
package share

import (
	"context"
	"errors"
	"fmt"

	"daytank/procedures/record"
	"daytank/procedures/store"

	"github.com/google/uuid"
)

// Place is a store as people call it: bay 1, office.
type Place struct {
	ID   uuid.UUID // its identity
	Name string    // 1 to 200 bytes; empty for a bay whose name is not in the chain
}

// Words gives the name, or what else can be said of the place.
func (p Place) Words() string {
	switch {
	case p.Name != "":
		return p.Name
	case p.ID == uuid.Nil:
		return "the bay that began it"
	}
	return "the store " + p.ID.String()
}

// HolderOf gives who holds a job by its chain. It is the zero Place for one that was never
// transferred: the store that began it.
func HolderOf(events []record.Event) (Place, error) {
	last, given, err := record.LastTransfer(events)
	if err != nil || !given {
		return Place{}, err
	}
	id, err := uuid.Parse(last.ToID)
	if err != nil {
		return Place{}, fmt.Errorf("transferred to %q, without an identity that reads: %w", last.To, err)
	}
	return Place{id, last.To}, nil
}

// Office is the shared store.
type Office struct {
	Place
	Store store.Shared
}

// Link is a bay and the office.
type Link struct {
	Bay    Place
	Kept   store.Store // of the bay
	Office Office
}

const longestName = 200 // bytes

func place(ctx context.Context, s store.Store, name string) (Place, error) {
	if name == "" || len(name) > longestName {
		return Place{}, fmt.Errorf("name of a bay or an office is %.210q, want 1 to %d bytes", name, longestName)
	}
	id, err := s.Identity(ctx)
	return Place{id, name}, err
}

// OpenOffice names a shared store.
func OpenOffice(ctx context.Context, s store.Shared, name string) (Office, error) {
	p, err := place(ctx, s, name)
	return Office{p, s}, err
}

// Join links a bay with the office. Names are for people, and may change; two bays of one
// name are still two. The error says that a name is missing, or that a store does not
// answer.
func Join(ctx context.Context, kept store.Store, name string, office Office) (Link, error) {
	bay, err := place(ctx, kept, name)
	if err == nil && bay.ID == office.ID {
		err = errors.New("the bay's store and the shared one are the same")
	}
	return Link{bay, kept, office}, err
}

// NotHeld says who holds a job that somebody else wants to append to. It is a
// store.ErrNotHeld.
type NotHeld struct {
	Job string // as VAN-07/3
	By  Place
}

func (e *NotHeld) Error() string {
	return fmt.Sprintf("%s is held by %s, not here", e.Job, e.By.Words())
}

// Is makes it a store.ErrNotHeld.
func (e *NotHeld) Is(target error) bool { return target == store.ErrNotHeld }

// Fork says that two copies of a job go on differently. Nothing was changed; both keep
// what they have, and either can be exported.
type Fork struct {
	Job   string // as VAN-07/3
	ID    uuid.UUID
	Seq   int64 // the first event that differs
	Here  int64 // events of the bay
	There int64 // events of the office
}

func (e *Fork) Error() string {
	return fmt.Sprintf("%s goes on differently here and in the shared store from event %d on (%d events here, %d there): nothing was changed, both are kept; was this store brought back from a backup, or copied?",
		e.Job, e.Seq, e.Here, e.There)
}

// Outcome is what came of sending or fetching one job.
type Outcome struct {
	Job      uuid.UUID
	Name     string // as VAN-07/3
	Sent     int64  // events
	Fetched  int64  // events
	Holder   Place  // afterwards; zero: the bay that began it
	Restored bool   // the bay's copy was older than what had been sent from it
	Err      error  // why this job was left as it is: a [*Fork], damage, a number taken
}

// copies are the two copies of a job; each may be empty.
type copies struct{ here, there []record.Event }

func (l Link) read(ctx context.Context, job uuid.UUID) (copies, error) {
	var c copies
	var err error
	if c.here, err = whole(ctx, l.Kept, job); err != nil {
		return c, err
	}
	if len(c.here) > 0 {
		// Mostly they are the same, which one row of the office tells.
		row, err := l.Office.Store.Get(ctx, job)
		if err == nil && row.Head == c.here[len(c.here)-1].Hash {
			c.there = c.here
			return c, nil
		}
		if errors.Is(err, store.ErrUnknown) {
			return c, nil
		}
		if err != nil {
			return c, err
		}
	}
	if c.there, err = whole(ctx, l.Office.Store, job); err != nil {
		return c, err
	}
	if len(c.here)+len(c.there) == 0 {
		return c, fmt.Errorf("job %s: %w", job, store.ErrUnknown)
	}
	return c, nil
}

// whole gives the verified chain of a job, empty if the store does not know the job.
func whole(ctx context.Context, s store.Store, job uuid.UUID) ([]record.Event, error) {
	events, err := s.Events(ctx, job)
	if errors.Is(err, store.ErrUnknown) {
		return nil, nil
	}
	if err == nil {
		err = record.Verify(job, events, nil)
	}
	if err != nil {
		return nil, fmt.Errorf("job %s: %w", job, err)
	}
	return events, nil
}

// longer gives the copy that has more.
func (c copies) longer() []record.Event {
	if len(c.there) > len(c.here) {
		return c.there
	}
	return c.here
}

// same gives how many events both copies begin with.
func (c copies) same() int {
	n := 0
	for n < min(len(c.here), len(c.there)) && c.here[n].Hash == c.there[n].Hash {
		n++
	}
	return n
}

// name gives the job's asset and number.
func (c copies) name() string { return nameOf(c.longer()) }

func nameOf(events []record.Event) string {
	created, err := record.As[record.Created](events[0])
	if err != nil {
		return "job " + events[0].Job.String()
	}
	return fmt.Sprintf("%s/%d", created.Asset, created.Number)
}

// check refuses copies that have forked.
func (c copies) check() error {
	same := c.same()
	if same == min(len(c.here), len(c.there)) {
		return nil
	}
	return &Fork{c.name(), c.here[0].Job, int64(same) + 1, int64(len(c.here)), int64(len(c.there))}
}

func headOf(job uuid.UUID, events []record.Event) record.Head {
	if len(events) == 0 {
		return record.Genesis(job)
	}
	return events[len(events)-1].Head()
}
