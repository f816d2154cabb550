package desk

import (
	"context"
	"errors"
	"runtime"
	"sync"
	"time"

	"daytank/cmd/internal/sitting"
	"daytank/planner/idletest"
	"daytank/procedures/checklist"
	"daytank/procedures/proof"
	"daytank/procedures/record"
	"daytank/procedures/report"
	"daytank/procedures/review"
	"daytank/procedures/store"
)

const damagedResult = "RECORD DAMAGED"

// Rows gives the rows of jobs as the queue shows them.
func Rows(ctx context.Context, kept store.Store, jobs []record.Summary, zone *time.Location) ([]report.ReviewRow, error) {
	rows, failures := make([]report.ReviewRow, len(jobs)), make([]error, len(jobs))
	var all sync.WaitGroup
	turns := make(chan struct{}, runtime.GOMAXPROCS(0))
	for i, sum := range jobs {
		turns <- struct{}{}
		all.Go(func() {
			defer func() { <-turns }()
			result, err := resultOf(ctx, kept, sum)
			var damage *record.Damage
			if errors.As(err, &damage) {
				result, err = damagedResult, nil
			}
			rows[i], failures[i] = report.OfQueue(sum, result, zone), err
			if result == damagedResult {
				rows[i].Worst = "record does not verify"
			}
		})
	}
	all.Wait()
	return rows, errors.Join(failures...)
}

func resultOf(ctx context.Context, kept store.Store, sum record.Summary) (string, error) {
	events, err := kept.Events(ctx, sum.Job)
	if err != nil {
		return "", err
	}
	c, err := comparison(ctx, kept, sum, events)
	return report.TestResult(c), err
}

func comparison(ctx context.Context, kept store.Store, sum record.Summary, events []record.Event) (idletest.Comparison, error) {
	tested := false
	for _, e := range events {
		tested = tested || e.Kind == record.KindTestAdded
	}
	if !tested {
		return idletest.Comparison{}, nil
	}
	r, err := proof.Of(sum, events, func(h record.Hash) ([]byte, error) { return kept.Blob(ctx, h) })
	if err != nil {
		return idletest.Comparison{}, err
	}
	return idletest.Compare(r.All(), r.Between, idletest.Rules{}), nil
}

// Opened is a job as it lies on the desk: its record, and all that a reviewer sees of it.
type Opened struct {
	Summary record.Summary
	Events  []record.Event
	State   checklist.State
	Sheet   report.ReviewSheet
	Tests   idletest.Comparison
	Damage  *record.Damage // of the record; then there are only the events before it
}

// Open reads a job and what is to be seen of it.
func Open(ctx context.Context, bench sitting.Bench, sum record.Summary, signers *review.Signers, zone *time.Location) (Opened, error) {
	o := Opened{Summary: sum}
	s := report.ReviewSheet{
		Name: report.Name(sum), Title: sum.Title, State: string(sum.State), Head: report.ShortHead(sum.Head), Events: sum.Events, Demo: sum.Demo,
		Workers: []string{}, Items: []report.ReviewItem{}, Remarks: []report.ReviewRemark{}, SignOffs: []report.SignOff{}, Differs: []string{}, Intact: true,
	}
	if signers != nil {
		s.Signers, s.SignersID = signers.File, signers.Digest
	}
	var err error
	o.Events, err = bench.Store.Events(ctx, sum.Job)
	if err == nil {
		err = record.Verify(sum.Job, o.Events, func(h record.Hash) ([]byte, error) { return bench.Store.Blob(ctx, h) })
	}
	if err == nil {
		err = record.CheckRow(sum, o.Events)
	}
	if errors.As(err, &o.Damage) {
		s.Intact, s.Damage = false, o.Damage.Error()
		o.Sheet = s
		return o, nil
	}
	if err != nil {
		return o, err
	}
	read, err := bench.Read(ctx, sum.Job)
	if err != nil {
		return o, err
	}
	o.State = read.State()
	list := o.State.List()
	s.Planned = float64(list.PlannedMS()) / 60000
	for _, step := range list.Everything() {
		s.Taken += float64(o.State.TakenMS(step.ID)) / 60000
	}
	s.Workers = append(s.Workers, review.Workers(o.Events)...)
	if err := o.fill(&s, signers, zone); err != nil {
		return o, err
	}
	if o.Tests, err = comparison(ctx, bench.Store, sum, o.Events); err != nil {
		return o, err
	}
	s.Result = report.TestResult(o.Tests)
	if len(o.Tests.States) > 0 && s.Result != report.OneSided {
		s.Verdict = bench.Printer.Phrase(o.Tests.Sentence)
	}
	err = o.differ(ctx, bench, &s)
	o.Sheet = s
	return o, err
}

// fill takes from the events what is to be looked at, what it was sent back for, and who
// has signed.
func (o *Opened) fill(s *report.ReviewSheet, signers *review.Signers, zone *time.Location) error {
	items, err := review.Items(o.Events, o.State)
	if err != nil {
		return err
	}
	for _, i := range items {
		s.Items = append(s.Items, report.ReviewItem{Weight: int64(i.Rank), Seq: i.Seq, Step: i.Step, Text: i.Text})
	}
	remarks, err := review.Remarks(o.Events)
	if err != nil {
		return err
	}
	for _, r := range remarks {
		s.Remarks = append(s.Remarks, report.ReviewRemark{Step: r.Step, Text: r.Text, By: r.By, Explained: append([]string{}, r.Explained...)})
	}
	standings, err := review.Standings(o.Events, signers)
	if err != nil {
		return err
	}
	for _, one := range standings {
		s.SignOffs = append(s.SignOffs, report.OfSignOff(one, zone))
	}
	s.Due = review.Due(o.Summary.State, standings)
	return nil
}

// differ says in what the job differs from the last one of its asset that was signed.
func (o *Opened) differ(ctx context.Context, bench sitting.Bench, s *report.ReviewSheet) error {
	jobs, err := bench.Store.Jobs(ctx, store.Query{Asset: o.Summary.Asset, States: []record.State{record.StateSigned}})
	if err != nil {
		return err
	}
	last, ok := review.LastSigned(jobs, o.Summary)
	if !ok {
		return nil
	}
	before, err := bench.Read(ctx, last.Job)
	if err != nil {
		return err
	}
	s.Than, s.Differs = report.Name(last), append([]string{}, review.Differences(o.State, before.State())...)
	return nil
}
