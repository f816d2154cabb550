package cli

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"daytank/cmd/internal/prompt"
	"daytank/planner"
	"daytank/procedures/checklist"
	"daytank/procedures/report"
	"daytank/procedures/report/page"
	"daytank/safety"
)

// newPlanCommand makes `daytank plan`.
func newPlanCommand(a *app) *cobra.Command {
	var o planOptions
	cmd := &cobra.Command{
		Use:   "plan FILE|JOB",
		Short: "plan a clean: how much fluid, until when, how hot",
		Long: `Plans the clean that a job file describes, or one that is kept as a job, and
judges the plan. Nothing is asked and nothing is stored. The status is 0 also
when the plan is not ready; walk is what refuses.`,
		Example: `  daytank plan van.yaml
  daytank plan van.yaml --set 'rig.charge=2.4 L' --set run.0.for=8min
  daytank plan van.yaml --needs
  daytank plan van.yaml --compare 'rig.charge=1.8 L,2.4 L,3 L'
  daytank plan van.yaml --fit packs=2
  daytank plan van.yaml --sheet sheet.html
  daytank plan VAN-07/3 --json`,
		Args: oneArgument("name a job file, or a job such as VAN-07/3"),
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.plan(cmd.Context(), args[0], o)
		},
		ValidArgsFunction: a.completeJobOrFile,
	}
	f := cmd.Flags()
	f.BoolVar(&o.asJSON, "json", false, "as JSON")
	f.StringArrayVar(&o.set, "set", nil, "`PATH=VALUE` to change in the job first; may be repeated")
	f.BoolVar(&o.needs, "needs", false, "what to have ready, and nothing else")
	f.StringVar(&o.compare, "compare", "", "`VALUES` of one thing, side by side: PATH=A,B,C")
	f.StringVar(&o.fit, "fit", "", "longest run for an `AMOUNT`: packs=N or charge=V")
	f.StringVar(&o.sheet, "sheet", "", "`FILE` to write the plan to as a page to print, for a bay without a laptop")
	f.BoolVar(&o.over, "over", false, "write over a sheet that is there already")
	cmd.MarkFlagsMutuallyExclusive("needs", "compare", "fit", "sheet")
	return cmd
}

// planOptions are the flags of `daytank plan`.
type planOptions struct {
	set           []string
	asJSON, needs bool
	compare, fit  string
	sheet         string
	over          bool
}

func (a *app) plan(ctx context.Context, name string, o planOptions) error {
	job, err := a.jobOrFile(ctx, name, o.set)
	if err != nil {
		return err
	}
	show, err := a.printer()
	if err != nil {
		return err
	}
	switch {
	case o.compare != "":
		return a.comparePlans(job, o.compare, o.asJSON, show)
	case o.fit != "":
		var changes []string
		if job, changes, err = fitted(job, o.fit); err != nil {
			return err
		}
		a.tellFitted(changes)
	}
	plan := planner.Compute(job)
	judged := safety.Assess(job, plan)
	list, err := a.checklistFor(ctx, job)
	if err != nil {
		return err
	}
	switch {
	case o.sheet != "":
		return a.writeSheet(o, job, report.OfPlan(job, plan, judged, list, show), list)
	case o.asJSON && o.needs:
		return writeJSON(a.env.Stdout, report.OfNeeds(job.Needs(plan), show))
	case o.asJSON:
		return writeJSON(a.env.Stdout, report.OfPlan(job, plan, judged, list, show))
	case o.needs:
		report.NeedsText(a.env.Stdout, job, plan, show)
		return nil
	}
	report.PlanText(a.env.Stdout, job, plan, judged, list, show)
	return nil
}

// writeSheet writes the plan as it is printed.
func (a *app) writeSheet(o planOptions, job planner.Job, plan report.Plan, list *checklist.Checklist) error {
	if list == nil {
		return fail(Refused, errors.New("there is no procedure for this layout, so there is no sheet"))
	}
	s, err := a.settings()
	if err != nil {
		return err
	}
	var text bytes.Buffer
	sheet := page.Sheet{List: *list, Plan: plan, Asset: job.Asset, Emergency: s.EmergencyCall(), Shop: s.Shop, Print: s.Printer(), Mark: sheetMark(job)}
	if err := sheet.Write(&text); err != nil {
		return err
	}
	if o.sheet == "-" {
		_, err := text.WriteTo(a.env.Stdout)
		return err
	}
	if err := writeNew(o.sheet, text.Bytes(), o.over); err != nil {
		return err
	}
	fmt.Fprintf(a.env.Stdout, "%s: the sheet of %s, %s\n", prompt.Plain(o.sheet), prompt.Plain(cmp.Or(job.Title, job.Asset)), report.Counted(len(list.Sitting()), "step"))
	return nil
}

// jobOrFile reads the job that a name means: a file, or a job that is kept.
func (a *app) jobOrFile(ctx context.Context, name string, set []string) (planner.Job, error) {
	library, err := a.books()
	if err != nil {
		return planner.Job{}, err
	}
	if !looksLikeJob(name) {
		return a.readJob(library, name, set)
	}
	kept, err := a.openStore(ctx)
	if err != nil {
		return planner.Job{}, err
	}
	defer kept.Close()
	sum, err := findJob(ctx, kept, name)
	if err != nil {
		return planner.Job{}, err
	}
	bench, err := a.bench(kept, library, "")
	if err != nil {
		return planner.Job{}, err
	}
	s, err := bench.Read(ctx, sum.Job)
	if err != nil {
		return planner.Job{}, err
	}
	job, err := safety.Apply(s.State().Job(), set)
	return job, fail(Usage, err)
}

// checklistFor composes the checklist of a job; nil where its layout has no
// procedure yet.
func (a *app) checklistFor(ctx context.Context, job planner.Job) (*checklist.Checklist, error) {
	library, err := a.books()
	if err != nil {
		return nil, err
	}
	if _, ok := library.For(job.Engine.Layout.ID); !ok {
		fmt.Fprintf(a.env.Stderr, "%s: there is no procedure yet for the layout %s: it can be planned, not walked\n", program, job.Engine.Layout.ID)
		return nil, nil
	}
	bench, err := a.planningBench(ctx, nil, library, "")
	if err != nil {
		return nil, err
	}
	planned, err := bench.Prepare(job)
	return &planned.List, err
}
