package cli

import (
	"bytes"
	"context"
	"fmt"

	"github.com/spf13/cobra"

	"daytank/cmd/internal/prompt"
	"daytank/planner/quantity"
	"daytank/procedures/report"
	"daytank/procedures/report/page"
)

// reportOptions are the flags of `daytank report`.
type reportOptions struct {
	to, audience, form, all string
	over                    bool
}

// newReportCommand makes `daytank report`.
func newReportCommand(a *app) *cobra.Command {
	var o reportOptions
	cmd := &cobra.Command{
		Use:   "report JOB | report --all FOLDER",
		Short: "a job as a page to keep, with pictures",
		Long: `Writes a job as one page of HTML that needs nothing else: what was done, the
verdict, what is open, who signed it, the run and the tests as pictures and as
tables, every entry. It opens from any folder, prints, and can be mailed. With
--for customer it is one page for whoever owns the vehicle.

As --form csv it is one fact a row, as json all that it says: for other
programs.

With --all the reports of all jobs are written into a folder, with an index that
opens from there without a server, is sorted by a click and filtered by asset,
state and result. A report of which the record has not changed is left as it is.

A file that is there already is otherwise left alone unless --over is given.`,
		Example: `  daytank report VAN-07/3
  daytank report VAN-07/3 --for customer --to van-07.html
  daytank report VAN-07/3 --form text --to -
  daytank report VAN-07/3 --form csv
  daytank report --all /srv/reports`,
		Args: func(cmd *cobra.Command, args []string) error {
			if (len(args) == 1) == (o.all != "") || len(args) > 1 {
				return usage("name one job such as VAN-07/3, or a folder by --all", "daytank jobs lists the jobs")
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			if o.all != "" {
				return a.reportAll(cmd.Context(), o.all)
			}
			return a.report(cmd.Context(), args[0], o)
		},
		ValidArgsFunction: a.completeJob,
	}
	f := cmd.Flags()
	f.StringVar(&o.to, "to", "", "`FILE` to write; - for standard output")
	f.StringVar(&o.audience, "for", "workshop", "`WHOM` it is for: workshop or customer")
	f.StringVar(&o.form, "form", "html", "`FORM`: html, text, json or csv")
	f.StringVar(&o.all, "all", "", "`FOLDER` for the reports of all jobs, and an index")
	cmd.MarkFlagsMutuallyExclusive("all", "to")
	cmd.MarkFlagsMutuallyExclusive("all", "for")
	cmd.MarkFlagsMutuallyExclusive("all", "form")
	f.BoolVar(&o.over, "over", false, "write over a file that is there already")
	_ = cmd.RegisterFlagCompletionFunc("for", cobra.FixedCompletions([]string{"workshop", "customer"}, cobra.ShellCompDirectiveNoFileComp))
	_ = cmd.RegisterFlagCompletionFunc("form", cobra.FixedCompletions([]string{"html", "text", "json", "csv"}, cobra.ShellCompDirectiveNoFileComp))
	return a.takesShared(cmd)
}

// endings are the forms of a report, each with the end of its file's name.
var endings = map[string]string{"html": "html", "text": "txt", "json": "json", "csv": "csv"}

func (a *app) report(ctx context.Context, name string, o reportOptions) error {
	switch {
	case o.audience != "workshop" && o.audience != "customer":
		return usage(fmt.Sprintf("--for %q is neither workshop nor customer", o.audience))
	case endings[o.form] == "":
		return usage(fmt.Sprintf("--form %q is none of html, text, json and csv", o.form))
	case o.audience == "customer" && o.form != "html":
		return usage("the customer's copy is a page: --form html")
	}
	kept, err := a.openStore(ctx)
	if err != nil {
		return err
	}
	defer kept.Close()
	sum, err := findJob(ctx, kept, name)
	if err != nil {
		return err
	}
	if o.form == "csv" || o.form == "json" { // for programs: units and decimal sign are for people
		a.forPrograms()
	}
	press, err := a.press(kept)
	if err != nil {
		return err
	}
	before, err := press.soFar(ctx, sum)
	if err != nil {
		return err
	}
	r, err := press.report(ctx, sum, before)
	if err != nil {
		return err
	}
	text, err := o.written(r)
	if err != nil {
		return err
	}
	if o.to == "-" {
		_, err := a.env.Stdout.Write(text)
		return err
	}
	if o.to == "" {
		o.to = fmt.Sprintf("%s.%s", fileOf(sum), endings[o.form])
		if o.audience == "customer" {
			o.to = fileOf(sum) + "-customer.html"
		}
	}
	if err := writeNew(o.to, text, o.over); err != nil {
		return err
	}
	fmt.Fprintf(a.env.Stdout, "%s: %s, head %s\n", prompt.Plain(o.to), prompt.Plain(report.Name(sum)), report.ShortHead(sum.Head))
	return nil
}

// written gives a report in the form that was asked for.
func (o reportOptions) written(r page.Report) ([]byte, error) {
	var text bytes.Buffer
	var err error
	switch {
	case o.form == "text":
		r.Text(&text, r.Print)
	case o.form == "json":
		err = writeJSON(&text, r.Report)
	case o.form == "csv":
		err = r.CSV(&text)
	case o.audience == "customer":
		err = r.WriteCustomer(&text)
	default:
		err = r.Write(&text)
	}
	return text.Bytes(), err
}

// forPrograms takes metric units and the decimal point, whatever is set.
func (a *app) forPrograms() {
	if s, err := a.settings(); err == nil {
		s.Units, s.DecimalComma = quantity.Metric, false
		a.loaded = &s
	}
}
