package cli

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"slices"
	"strings"

	"daytank/cmd/internal/desk"
	"daytank/cmd/internal/settings"
	"daytank/cmd/internal/sitting"
	"daytank/planner/idletest"
	"daytank/procedures/proof"
	"daytank/procedures/record"
	"daytank/procedures/report"
	"daytank/procedures/report/page"
	"daytank/procedures/review"
	"daytank/procedures/store"
)

// press makes reports of the jobs in a store. What all of them rest on is read once: the
// settings, the library and the list of who may sign.
type press struct {
	app      *app
	bench    sitting.Bench
	settings settings.Settings
	signers  *review.Signers
}

func (a *app) press(kept store.Store) (press, error) {
	p := press{app: a}
	var err error
	if p.settings, err = a.settings(); err != nil {
		return p, err
	}
	if p.bench, err = a.benchOf(kept); err != nil {
		return p, err
	}
	p.signers, err = a.signers()
	return p, err
}

// soFar gives the jobs of an asset up to one of them, the newest first.
func (p press) soFar(ctx context.Context, sum record.Summary) ([]record.Summary, error) {
	jobs, err := p.bench.Store.Jobs(ctx, store.Query{Asset: sum.Asset})
	return slices.DeleteFunc(jobs, func(j record.Summary) bool {
		return j.Created.After(sum.Created) || j.Demo != sum.Demo
	}), err
}

// report gives what a report of a job shows. Before are the jobs of its asset, of
// [press.soFar].
func (p press) report(ctx context.Context, sum record.Summary, before []record.Summary) (page.Report, error) {
	r := page.Report{}
	r.Print, r.Shop, r.Stamp = p.bench.Printer, p.settings.Shop, p.stamp(sum, before)
	opened, err := desk.Open(ctx, p.bench, sum, p.signers, p.app.env.Now().Location())
	if err != nil {
		return r, err
	}
	if opened.Damage != nil {
		return r, unverified(report.Name(sum), opened.Damage)
	}
	r.Review, r.Comparison, r.Head = opened.Sheet, opened.Tests, sum.Head.String()
	r.Job, err = p.app.modelOf(r.Print, sum, opened.Events, opened.State)
	if err != nil {
		return r, err
	}
	r.Job.SignOffs = r.Review.SignOffs
	r.RestsOn, err = report.RestsOn(r.Job, opened.State.List(), opened.State.Job().Engine.Layout, r.Comparison, r.Print)
	if err != nil {
		return r, err
	}
	r.Trend = trendOf(ctx, p.bench, sum.Asset, before)
	return r, nil
}

// stamp gives what a report rests on, as the digits by which it is known again: the
// program, the settings, who may sign, and the records of the asset up to the job.
func (p press) stamp(sum record.Summary, before []record.Summary) string {
	s := p.settings
	rests := []string{builtAs(), s.Text("units"), s.Text("decimal"), s.Shop, p.app.env.Now().Location().String(), sum.Head.String()}
	if p.signers != nil {
		rests = append(rests, p.signers.Digest)
	}
	for _, j := range before {
		rests = append(rests, j.Job.String(), j.Head.String())
	}
	digest := sha256.Sum256([]byte(strings.Join(rests, "\x00")))
	return hex.EncodeToString(digest[:])
}

// trendOf gives how an engine went over jobs; nil where they hold no test. What cannot be
// read is left out, and said.
func trendOf(ctx context.Context, bench sitting.Bench, asset string, jobs []record.Summary) *proof.Life {
	var all []proof.Aged
	var unread []string
	for _, sum := range jobs {
		err := oneRecord(ctx, bench, sum, func(r proof.Record, was proof.Use) { all = append(all, agedOf(r, was)...) })
		if err != nil {
			unread = append(unread, report.Name(sum)+": its record does not read")
		}
	}
	if len(all) == 0 {
		return nil
	}
	life := proof.LifeOf(asset, all, idletest.Rules{})
	life.LeftOut = append(life.LeftOut, unread...)
	return &life
}
