package cli

import (
	"context"

	"github.com/spf13/cobra"

	"daytank/cmd/internal/sitting"
	"daytank/planner"
	"daytank/planner/quantity"
	"daytank/procedures/checklist"
	"daytank/procedures/record"
	"daytank/procedures/report"
	"daytank/procedures/review"
	"daytank/procedures/store"
	"daytank/safety"
)

// newShowCommand makes `daytank show`.
func newShowCommand(a *app) *cobra.Command {
	var asJSON, timeline bool
	cmd := &cobra.Command{
		Use:   "show JOB",
		Short: "show one record: steps, values, planned and taken time",
		Long: `Shows one record: every step with its planned and taken time, every value and
proof that was entered, readings, notes and deviations. Values that a later one
replaced stay visible.`,
		Example: `  daytank show VAN-07/3
  daytank show VAN-07/3 --timeline
  daytank show VAN-07/3 --json`,
		Args: oneArgument("name a job such as VAN-07/3; daytank jobs lists them"),
		RunE: func(cmd *cobra.Command, args []string) error {
			kept, err := a.openStore(cmd.Context())
			if err != nil {
				return err
			}
			defer kept.Close()
			sum, err := findJob(cmd.Context(), kept, args[0])
			if err != nil {
				return err
			}
			job, err := a.showJob(cmd.Context(), kept, sum)
			if err != nil {
				return err
			}
			if asJSON {
				return writeJSON(a.env.Stdout, job)
			}
			show, err := a.printer()
			if err != nil {
				return err
			}
			report.JobText(a.env.Stdout, job, timeline, show)
			return nil
		},
		ValidArgsFunction: a.completeJob,
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "as JSON")
	cmd.Flags().BoolVar(&timeline, "timeline", false, "also every event, one a line")
	return a.takesShared(cmd)
}

// showJob gives the model of a record that is kept.
func (a *app) showJob(ctx context.Context, kept store.Store, sum record.Summary) (report.Job, error) {
	library, err := a.books()
	if err != nil {
		return report.Job{}, err
	}
	bench, err := a.bench(kept, library, "")
	if err != nil {
		return report.Job{}, err
	}
	return showSitting(ctx, bench, sum, a)
}

func showSitting(ctx context.Context, bench sitting.Bench, sum record.Summary, a *app) (report.Job, error) {
	events, err := bench.Store.Events(ctx, sum.Job)
	if err != nil {
		return report.Job{}, err
	}
	s, err := bench.Read(ctx, sum.Job)
	if err != nil {
		return report.Job{}, err
	}
	shown, err := a.modelOf(bench.Printer, sum, events, s.State())
	if err != nil {
		return shown, err
	}
	signers, err := a.signers()
	if err != nil {
		return shown, err
	}
	standings, err := review.Standings(events, signers)
	for _, one := range standings {
		shown.SignOffs = append(shown.SignOffs, report.OfSignOff(one, a.env.Now().Location()))
	}
	return shown, err
}

// modelOf gives the model of a record, with the plan that its job makes, without who has
// signed it.
func (a *app) modelOf(show quantity.Printer, sum record.Summary, events []record.Event, state checklist.State) (report.Job, error) {
	list, job := state.List(), state.Job()
	plan := planner.Compute(job)
	model := report.OfPlan(job, plan, safety.Assess(job, plan), &list, show)
	return report.OfJob(sum, events, state, &model, a.env.Now().Location())
}
