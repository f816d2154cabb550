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

// opened is a job as it lies on the desk.
type opened struct {
	sum    record.Summary
	events []record.Event
	state  checklist.State
	sheet  report.ReviewSheet
	tests  idletest.Comparison
}

// Sheet gives all that a reviewer sees of a job.
func Sheet(ctx context.Context, bench sitting.Bench, sum record.Summary, signers *review.Signers, zone *time.Location) (report.ReviewSheet, error) {
	o, err := open(ctx, bench, sum, signers, zone)
	return o.sheet, err
}

// SheetAndTests is Sheet, with the comparison of the job's idle tests.
func SheetAndTests(ctx context.Context, bench sitting.Bench, sum record.Summary, signers *review.Signers, zone *time.Location) (report.ReviewSheet, idletest.Comparison, error) {
	o, err := open(ctx, bench, sum, signers, zone)
	return o.sheet, o.tests, err
}

func open(ctx context.Context, bench sitting.Bench, sum record.Summary, signers *review.Signers, zone *time.Location) (opened, error) {
	o := opened{sum: sum}
	s := report.ReviewSheet{
		Name: report.Name(sum), Title: sum.Title, State: string(sum.State), Head: report.ShortHead(sum.Head), Events: sum.Events, Demo: sum.Demo,
		Workers: []string{}, Items: []report.ReviewItem{}, Remarks: []report.ReviewRemark{}, SignOffs: []report.SignOff{}, Differs: []string{}, Intact: true,
	}
	if signers != nil {
		s.Signers, s.SignersID = signers.File, signers.Digest
	}
	var err error
	o.events, err = bench.Store.Events(ctx, sum.Job)
	if err == nil {
		err = record.Verify(sum.Job, o.events, func(h record.Hash) ([]byte, error) { return bench.Store.Blob(ctx, h) })
	}
	if err == nil {
		err = record.CheckRow(sum, o.events)
	}
	var damage *record.Damage
	if errors.As(err, &damage) {
		s.Intact, s.Damage = false, damage.Error()
		o.sheet = s
		return o, nil
	}
	if err != nil {
		return o, err
	}
	read, err := bench.Read(ctx, sum.Job)
	if err != nil {
		return o, err
	}
	o.state = read.State()
	list := o.state.List()
	s.Planned = float64(list.PlannedMS()) / 60000
	for _, step := range list.Everything() {
		s.Taken += float64(o.state.TakenMS(step.ID)) / 60000
	}
	s.Workers = append(s.Workers, review.Workers(o.events)...)
	if err := o.fill(&s, signers, zone); err != nil {
		return o, err
	}
	if o.tests, err = comparison(ctx, bench.Store, sum, o.events); err != nil {
		return o, err
	}
	s.Result = report.TestResult(o.tests)
	if len(o.tests.States) > 0 && s.Result != report.OneSided {
		s.Verdict = bench.Printer.Phrase(o.tests.Sentence)
	}
	err = o.differ(ctx, bench, &s)
	o.sheet = s
	return o, err
}

// fill takes from the events what is to be looked at, what it was sent back for, and who
// has signed.
func (o *opened) fill(s *report.ReviewSheet, signers *review.Signers, zone *time.Location) error {
	items, err := review.Items(o.events, o.state)
	if err != nil {
		return err
	}
	for _, i := range items {
		s.Items = append(s.Items, report.ReviewItem{Weight: int64(i.Rank), Seq: i.Seq, Step: i.Step, Text: i.Text})
	}
	remarks, err := review.Remarks(o.events)
	if err != nil {
		return err
	}
	for _, r := range remarks {
		s.Remarks = append(s.Remarks, report.ReviewRemark{Step: r.Step, Text: r.Text, By: r.By, Explained: append([]string{}, r.Explained...)})
	}
	standings, err := review.Standings(o.events, signers)
	if err != nil {
		return err
	}
	for _, one := range standings {
		s.SignOffs = append(s.SignOffs, report.OfSignOff(one, zone))
	}
	s.Due = review.Due(o.sum.State, standings)
	return nil
}

// differ says in what the job differs from the last one of its asset that was signed.
func (o *opened) differ(ctx context.Context, bench sitting.Bench, s *report.ReviewSheet) error {
	jobs, err := bench.Store.Jobs(ctx, store.Query{Asset: o.sum.Asset, States: []record.State{record.StateSigned}})
	if err != nil {
		return err
	}
	last, ok := review.LastSigned(jobs, o.sum)
	if !ok {
		return nil
	}
	before, err := bench.Read(ctx, last.Job)
	if err != nil {
		return err
	}
	s.Than, s.Differs = report.Name(last), append([]string{}, review.Differences(o.state, before.State())...)
	return nil
}
