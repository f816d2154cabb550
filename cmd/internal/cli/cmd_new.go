package cli

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"slices"

	"github.com/spf13/cobra"

	"daytank/cmd/internal/prompt"
	"daytank/cmd/internal/sitting"
	"daytank/cmd/internal/wizard"
	"daytank/planner"
	"daytank/procedures"
	"daytank/procedures/checklist"
	"daytank/procedures/record"
	"daytank/procedures/report"
	"daytank/procedures/store"
	"daytank/safety"
)

// newNewCommand makes `daytank new`.
func newNewCommand(a *app) *cobra.Command {
	return &cobra.Command{
		Use:   "new",
		Short: "answer questions and get a plan: the way to a first job",
		Long: `Asks what a plan needs, at most fifteen questions, and plans the clean. Every
answer is kept at once; leaving part way keeps the draft, and the next start
offers to go on with it. What is known from the vehicle's last job is filled in.

At the end the plan can be saved as a job, written as a job file, or walked at
once. The status is 4 when a draft was left, and 3 when it was left at a plan
that has a stop.`,
		Example: `  daytank new
  daytank new --line`,
		Args: noArguments,
		RunE: func(cmd *cobra.Command, _ []string) error { return a.newJob(cmd.Context(), nil, false) },
	}
}

// newJob runs the wizard and, where that is wished, walks what came of it. Talk is the
// conversation so far, in lines; nil where there was none. Offer has jobs that can be walked
// on offered first.
func (a *app) newJob(ctx context.Context, talk *prompt.Line, offer bool) error {
	library, err := a.books()
	if err != nil {
		return err
	}
	kept, err := a.openStore(ctx)
	if err != nil {
		return err
	}
	defer kept.Close()
	c, err := a.wizardConfig(ctx, kept, library)
	if err != nil {
		return err
	}
	if offer {
		if c.Open, err = jobsToOffer(ctx, kept); err != nil {
			return err
		}
	}
	run := wizard.RunScreen
	if a.lineMode() {
		run = wizard.RunLine
		if c.Talk = talk; talk == nil {
			c.Talk = prompt.New(a.env.Stdin, a.env.Stdout, a.env.Sleep)
		}
	}
	result, err := run(ctx, c)
	if err != nil || !result.Walk {
		return a.endOfWizard(ctx, result, err)
	}
	if c.Talk == nil {
		a.flags.operator = cmp.Or(result.Operator, a.flags.operator)
		return a.walk(ctx, result.Job, nil, nil)
	}
	return a.walkOn(ctx, kept, library, c.Talk, result)
}

// mostOpenJobs is how many jobs are offered before the questions; the walk lists all.
const mostOpenJobs = 5

// jobsToOffer gives the jobs that can be walked on, the newest first.
func jobsToOffer(ctx context.Context, kept store.Store) ([]wizard.OpenJob, error) {
	jobs, err := kept.Jobs(ctx, store.Query{States: openStates, Limit: mostOpenJobs})
	if err != nil {
		return nil, err
	}
	var all []wizard.OpenJob
	for _, j := range jobs {
		all = append(all, wizard.OpenJob{Name: report.Name(j), Title: j.Title, How: leftAs[j.State]})
	}
	return all, nil
}

// walkOn walks the job that was saved or chosen, with the reader that the wizard read
// from: a second one would miss what the first has read ahead.
func (a *app) walkOn(ctx context.Context, kept store.Store, library *procedures.Library, talk *prompt.Line, result wizard.Result) error {
	s, err := a.settings()
	if err != nil {
		return err
	}
	sum, err := findJob(ctx, kept, result.Job)
	if err != nil {
		return err
	}
	w := walker{app: a, talk: talk, store: kept, library: library, whys: s.Whys, operator: cmp.Or(result.Operator, s.Operator), told: map[string]bool{}, rings: ringer(ctx, s.AlarmCommand)}
	if err := w.resume(ctx, sum); err != nil {
		return err
	}
	return w.walk(ctx)
}

// endOfWizard says what became of the answers, and gives the status.
func (a *app) endOfWizard(ctx context.Context, r wizard.Result, err error) error {
	switch {
	case r.Job != "" && err == nil:
		fmt.Fprintf(a.env.Stdout, "%s is ready. Walk it with: %s\n", r.Job, a.command("walk", r.Job))
		return nil
	case r.File != "" && err == nil:
		fmt.Fprintf(a.env.Stdout, "The job file is %s. Walk it with: %s\n", r.File, a.command("walk", r.File))
		return nil
	case !errors.Is(err, wizard.ErrLeft):
		return err
	}
	if r.Draft == "" {
		return fail(Stopped, errors.New("left before anything was answered; nothing new is kept"))
	}
	const hint = "daytank new goes on with it"
	if signal, ok := StoppedBy(ctx); ok {
		return fail(Stopped, fmt.Errorf("left part way (signal: %s); the draft is kept", signal), hint)
	}
	if r.NotReady {
		return fail(Refused, errors.New("the plan has a stop, so there is no job of it; the draft is kept"), hint)
	}
	return fail(Stopped, errors.New("left part way; the draft is kept"), hint)
}

// wizardConfig gives what a wizard works with.
func (a *app) wizardConfig(ctx context.Context, kept store.Store, library *procedures.Library) (wizard.Config, error) {
	s, err := a.settings()
	if err != nil {
		return wizard.Config{}, err
	}
	folder, err := a.draftFolder(s.Text("store"))
	if err != nil {
		return wizard.Config{}, err
	}
	planning, err := a.planningBench(ctx, kept, library, "")
	if err != nil {
		return wizard.Config{}, err
	}
	terminal := a.env.StdinIsTerminal() && a.env.StdoutIsTerminal()
	return wizard.Config{
		Engines: library.Engines(), Printer: s.Printer(), Now: a.env.Now, Drafts: folder,
		NewName: func() (string, error) {
			id, err := a.env.NewID()
			return id.String(), err
		},
		Last: func(ctx context.Context, asset string) (wizard.Last, bool, error) {
			return a.lastJob(ctx, kept, library, asset)
		},
		Prepare: func(job planner.Job) (checklist.Planned, bool, error) {
			return prepareNew(planning, job)
		},
		Save: func(ctx context.Context, planned checklist.Planned, operator string) (string, error) {
			bench, err := a.bench(kept, library, operator)
			if err != nil {
				return "", err
			}
			made, err := bench.Begin(ctx, planned)
			if err != nil {
				return "", err
			}
			return report.Name(made.Summary), nil
		},
		Operator: s.Operator, CanWalk: terminal,
		In: a.env.Stdin, Out: a.screen(), Columns: a.env.Width, Colour: a.colour(),
	}, nil
}

// draftFolder gives where drafts are kept.
func (a *app) draftFolder(records string) (string, error) { return a.dataFolder(records, "drafts") }

// dataFolder gives where something besides the records is kept: in the user's folder
// for data, or beside the records where the environment names none.
func (a *app) dataFolder(records, name string) (string, error) {
	s, err := a.settings()
	switch {
	case err != nil:
		return "", err
	case s.DataFolder() != "":
		return filepath.Join(s.DataFolder(), name), nil
	case records == "":
		return "", fail(Failed, errors.New("there is no place to keep "+name+": the environment names no home folder"))
	}
	return filepath.Join(filepath.Dir(records), name), nil
}

// prepareNew plans a job, also one whose layout has no procedure yet.
func prepareNew(bench sitting.Bench, job planner.Job) (checklist.Planned, bool, error) {
	if _, known := bench.Procedures.For(job.Engine.Layout.ID); !known {
		plan := planner.Compute(job)
		return checklist.Planned{
			Basis: checklist.Basis{Job: job, Printer: bench.Printer}, Plan: plan, Assessment: safety.Assess(job, plan),
		}, false, nil
	}
	planned, err := bench.Prepare(job)
	return planned, true, err
}

// doneStates are those of a job that was walked to its end.
var doneStates = []record.State{record.StateToReview, record.StateWaiting, record.StateSigned}

// lastJob gives the last job of an asset as a job file.
func (a *app) lastJob(ctx context.Context, kept store.Store, library *procedures.Library, asset string) (wizard.Last, bool, error) {
	jobs, err := kept.Jobs(ctx, store.Query{Asset: asset, Limit: 1})
	if err != nil || len(jobs) == 0 {
		return wizard.Last{}, false, err
	}
	bench, err := a.bench(kept, library, "")
	if err != nil {
		return wizard.Last{}, false, err
	}
	made, err := bench.Read(ctx, jobs[0].Job)
	if err != nil {
		return wizard.Last{}, false, err
	}
	return wizard.Last{
		Name: report.Name(jobs[0]), File: made.State().Job().File(), Done: slices.Contains(doneStates, jobs[0].State),
	}, true, nil
}
