// Package sitting is one person at one job: it makes or opens the record, asks
// the checklist what comes next, and stores what follows from each answer
// before anything is shown. Line mode and screen both work through it and hold
// no state of the job themselves.
package sitting

import (
	"context"
	"errors"
	"fmt"

	"github.com/google/uuid"

	"daytank/planner"
	"daytank/planner/engine"
	"daytank/planner/quantity"
	"daytank/procedures"
	"daytank/procedures/checklist"
	"daytank/procedures/record"
	"daytank/procedures/store"
)

// Bench is what every sitting works with: where records are kept, what is
// known, who works, and the clock.
type Bench struct {
	Store           store.Store
	Procedures      *procedures.Library
	Printer         quantity.Printer
	EmergencyNumber string
	Program         string // version
	Demo            bool
	Walks           []checklist.Times   // of this shop, the latest first; see [Walks]
	Now             func() record.Stamp // when, by which process and by whom
	NewID           func() (uuid.UUID, error)
}

// Sitting is a job being walked.
type Sitting struct {
	bench   Bench
	state   checklist.State
	head    record.Head
	Summary record.Summary
}

// engines gives the layouts and profiles known.
func (b Bench) engines() *engine.Library { return b.Procedures.Engines() }

// Prepare plans a job and composes its checklist with the procedure of its
// layout.
func (b Bench) Prepare(job planner.Job) (checklist.Planned, error) {
	p, ok := b.Procedures.For(job.Engine.Layout.ID)
	if !ok {
		return checklist.Planned{}, fmt.Errorf("there is no procedure yet for the layout %s", job.Engine.Layout.ID)
	}
	basis := checklist.Basis{Procedure: p, Job: job, Printer: b.Printer, EmergencyNumber: b.EmergencyNumber, Walks: b.Walks}
	return basis.Make()
}

// Walks gives how long the steps took in the last walks of a shop that came to their
// end, the latest first. Demonstrations do not count.
func Walks(ctx context.Context, kept store.Store) ([]checklist.Times, error) {
	jobs, err := kept.Jobs(ctx, store.Query{Limit: 3 * checklist.WalksCounted, States: []record.State{
		record.StateToReview, record.StateWaiting, record.StateSigned, record.StateSentBack,
	}})
	if err != nil {
		return nil, err
	}
	var walks []checklist.Times
	for _, sum := range jobs {
		if sum.Demo || len(walks) == checklist.WalksCounted {
			continue
		}
		events, err := kept.Events(ctx, sum.Job)
		if err != nil {
			return nil, err
		}
		times, err := checklist.TimesOf(events)
		if err != nil {
			return nil, fmt.Errorf("job %s/%d: %w", sum.Asset, sum.Number, err)
		}
		if len(times) > 0 {
			walks = append(walks, times)
		}
	}
	return walks, nil
}

// mostNumberTries is how often another bay may take a job number first.
const mostNumberTries = 20

// Begin makes the record of a new job.
func (b Bench) Begin(ctx context.Context, planned checklist.Planned) (*Sitting, error) {
	id, err := b.NewID()
	if err != nil {
		return nil, fmt.Errorf("no identifier for the job: %w", err)
	}
	for range mostNumberTries {
		number, err := b.Store.NextNumber(ctx, planned.Basis.Job.Asset)
		if err != nil {
			return nil, err
		}
		events, head, err := record.Seal(record.Genesis(id), b.Now(), planned.Created(number, b.Program, b.Demo))
		if err != nil {
			return nil, err
		}
		blobs := planned.Blobs()
		err = b.Store.Append(ctx, record.Genesis(id), events, blobs[:]...)
		if errors.Is(err, store.ErrNumberTaken) {
			continue
		}
		if err != nil {
			return nil, err
		}
		return b.open(ctx, planned, id, head, events)
	}
	return nil, fmt.Errorf("no free number for a job of %s: other bays are making jobs of it", planned.Basis.Job.Asset)
}

func (b Bench) open(ctx context.Context, planned checklist.Planned, id uuid.UUID, head record.Head, events []record.Event) (*Sitting, error) {
	state, err := checklist.Replay(planned, id, events)
	if err != nil {
		return nil, err
	}
	s := &Sitting{bench: b, state: state, head: head}
	s.Summary, err = b.Store.Get(ctx, id)
	return s, err
}

// Resume opens the record of a job and takes its walk up again.
func (b Bench) Resume(ctx context.Context, id uuid.UUID) (*Sitting, error) {
	s, err := b.Read(ctx, id)
	if err != nil {
		return nil, err
	}
	return s, s.store(ctx, s.state.Resume(b.Now()))
}

// Read opens the record of a job to look at it; nothing is written.
func (b Bench) Read(ctx context.Context, id uuid.UUID) (*Sitting, error) {
	events, err := b.Store.Events(ctx, id)
	if err != nil {
		return nil, err
	}
	planned, err := b.planned(ctx, events)
	if err != nil {
		return nil, err
	}
	return b.open(ctx, planned, id, events[len(events)-1].Head(), events)
}

// planned gives the plan that is valid at the end of a record, with the
// checklist that was kept.
func (b Bench) planned(ctx context.Context, events []record.Event) (checklist.Planned, error) {
	var p checklist.Planned
	job, list, err := kept(events)
	if err != nil {
		return p, err
	}
	text, err := b.Store.Blob(ctx, job)
	if err != nil {
		return p, err
	}
	read, err := planner.ReadJob("the job of this record", text, b.engines(), planner.Date{})
	if err != nil {
		return p, err
	}
	p.Basis = checklist.Basis{Job: read, Printer: b.Printer, EmergencyNumber: b.EmergencyNumber, Walks: b.Walks}
	text, err = b.Store.Blob(ctx, list)
	if err != nil {
		return p, err
	}
	if p.List, err = checklist.Decode(text); err != nil {
		return p, err
	}
	p.Basis.Procedure, _ = b.Procedures.ByID(p.List.Procedure)
	return p, nil
}

// kept gives the digests of the job and the checklist that are valid at the end
// of a record.
func kept(events []record.Event) (job, list record.Hash, err error) {
	for _, e := range events {
		switch e.Kind {
		case record.KindCreated:
			c, err := record.As[record.Created](e)
			if err != nil {
				return job, list, err
			}
			job, list = c.Job, c.Checklist
		case record.KindReplanned:
			r, err := record.As[record.Replanned](e)
			if err != nil {
				return job, list, err
			}
			job, list = r.Job, r.Checklist
		}
	}
	if job.IsZero() {
		return job, list, errors.New("the record does not say what it rests on")
	}
	return job, list, nil
}

// FirstJob gives the digest of the job file that a record began with.
func FirstJob(events []record.Event) record.Hash {
	if len(events) == 0 {
		return record.Hash{}
	}
	c, _ := record.As[record.Created](events[0])
	return c.Job
}

// FromPaper begins to enter what was done on paper; see [checklist.State.FromPaper].
func (s *Sitting) FromPaper(ctx context.Context, paper record.Transcribed, sheets []record.Photo, pictures []record.Blob) error {
	out, err := s.state.FromPaper(paper, sheets, pictures, s.bench.Now())
	if err != nil {
		return err
	}
	return s.store(ctx, out)
}

// State gives how far the walk is.
func (s *Sitting) State() checklist.State { return s.state }

// Ask gives what is to be asked now. What time alone has brought is stored
// first.
func (s *Sitting) Ask(ctx context.Context) (checklist.Ask, error) {
	at := s.bench.Now()
	if err := s.store(ctx, s.state.Look(at)); err != nil {
		return checklist.Ask{}, err
	}
	return s.state.Ask(at), nil
}

// Answer judges what was typed and stores what follows, in one commit. A
// [safety.Refusal] changes nothing and says why.
func (s *Sitting) Answer(ctx context.Context, in checklist.Input) error {
	out, err := s.state.Answer(in, s.bench.Now())
	if err != nil && len(out.Bodies) == 0 {
		return err
	}
	return errors.Join(s.store(ctx, out), err)
}

// mostMoves is how often somebody else may write to a job in between.
const mostMoves = 20

// Add adds to a record something that the checklist does not ask for, such as an idle
// test.
func (b Bench) Add(ctx context.Context, id uuid.UUID, body record.Body, blobs ...record.Blob) (record.Summary, error) {
	for range mostMoves {
		sum, err := b.Store.Get(ctx, id)
		if err != nil {
			return sum, err
		}
		head := record.Head{Job: id, Seq: sum.Events, Hash: sum.Head}
		events, _, err := record.Seal(head, b.Now(), body)
		if err != nil {
			return sum, err
		}
		err = b.Store.Append(context.WithoutCancel(ctx), head, events, blobs...)
		if errors.Is(err, store.ErrMoved) {
			continue
		}
		if err != nil {
			return sum, err
		}
		return sum.Apply(events[0])
	}
	return record.Summary{}, fmt.Errorf("the record of job %s is being written to all the time", id)
}

// store writes the events of an outcome and then, not before, takes its state.
func (s *Sitting) store(ctx context.Context, out checklist.Outcome) error {
	if len(out.Bodies) == 0 {
		s.state = out.State
		return nil
	}
	events, head, err := record.Seal(s.head, out.At, out.Bodies...)
	if err != nil {
		return err
	}
	// A signal must not tear an answer that was given: what began to be stored is
	// stored to its end.
	if err := s.bench.Store.Append(context.WithoutCancel(ctx), s.head, events, out.Blobs...); err != nil {
		return err
	}
	s.head, s.state = head, out.State
	for _, e := range events {
		if s.Summary, err = s.Summary.Apply(e); err != nil {
			return err
		}
	}
	return nil
}
