package cli

import (
	"context"
	"encoding/csv"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"daytank/cmd/internal/prompt"
	"daytank/procedures/record"
	"daytank/procedures/report"
	"daytank/procedures/store"
)

// jobJSON is a row of `daytank jobs --json` and, in this order, of --csv.
type jobJSON struct {
	Job      string `json:"job"`
	Name     string `json:"name"`
	Asset    string `json:"asset"`
	Number   int64  `json:"number"`
	Title    string `json:"title"`
	State    string `json:"state"`
	Operator string `json:"operator"`
	Created  string `json:"created"`
	Updated  string `json:"updated"`
	Events   int64  `json:"events"`
	Head     string `json:"head"`
}

// jobsOptions are the flags of `daytank jobs`.
type jobsOptions struct {
	query         store.Query
	states        []string
	since, until  string
	asJSON, asCSV bool
}

// newJobsCommand makes `daytank jobs`.
func newJobsCommand(a *app) *cobra.Command {
	var o jobsOptions
	cmd := &cobra.Command{
		Use:   "jobs",
		Short: "list the jobs that are kept",
		Long:  "Lists the jobs that are kept, the newest first.",
		Example: `  daytank jobs
  daytank jobs --asset VAN-07 --state 'to review'
  daytank jobs --since 2026-03-01 --limit 0 --csv`,
		Args: noArguments,
		RunE: func(cmd *cobra.Command, _ []string) error { return a.jobs(cmd.Context(), o) },
	}
	f := cmd.Flags()
	f.BoolVar(&o.asJSON, "json", false, "as JSON")
	f.BoolVar(&o.asCSV, "csv", false, "as CSV")
	f.StringVar(&o.query.Asset, "asset", "", "only those of this `ASSET`")
	f.StringVar(&o.query.Operator, "by", "", "only those of this operator `NAME`")
	f.StringArrayVar(&o.states, "state", nil, "only those in this `STATE`; may be repeated")
	f.StringVar(&o.since, "since", "", "only those made on this `DAY` or later")
	f.StringVar(&o.until, "until", "", "only those made on this `DAY` or earlier")
	f.IntVar(&o.query.Limit, "limit", 50, "at most so many; 0 for all")
	f.IntVar(&o.query.Offset, "skip", 0, "leave out so many first, for the next page")
	cmd.MarkFlagsMutuallyExclusive("json", "csv")
	_ = cmd.RegisterFlagCompletionFunc("state", cobra.FixedCompletions(strings.Split(record.StateNames(), ", "), cobra.ShellCompDirectiveNoFileComp))
	return a.takesShared(cmd)
}

func (a *app) jobs(ctx context.Context, o jobsOptions) error {
	q, err := o.read(a.env.Now().Location())
	if err != nil {
		return err
	}
	kept, err := a.openStore(ctx)
	if err != nil {
		return err
	}
	defer kept.Close()
	jobs, err := kept.Jobs(ctx, q)
	switch {
	case err != nil:
		return err
	case o.asJSON:
		return writeJSON(a.env.Stdout, jobRows(jobs))
	case o.asCSV:
		return a.jobsCSV(jobRows(jobs))
	}
	return a.jobsTable(jobs)
}

// read makes a query of the flags. Days are those of the place.
func (o jobsOptions) read(zone *time.Location) (store.Query, error) {
	q := o.query
	if q.Limit < 0 || q.Offset < 0 {
		return q, usage("--limit and --skip are 0 or more")
	}
	var err error
	if q.States, err = statesOf(o.states); err != nil {
		return q, err
	}
	if q.From, err = dayOf("--since", o.since, zone); err != nil {
		return q, err
	}
	if q.To, err = dayOf("--until", o.until, zone); err == nil && !q.To.IsZero() {
		q.To = q.To.AddDate(0, 0, 1)
	}
	return q, err
}

// statesOf reads states by their names.
func statesOf(names []string) ([]record.State, error) {
	var states []record.State
	for _, s := range names {
		if !slices.Contains(record.States(), record.State(s)) {
			return nil, usage(fmt.Sprintf("no state %q", s), "states are "+record.StateNames())
		}
		states = append(states, record.State(s))
	}
	return states, nil
}

func dayOf(flag, text string, zone *time.Location) (time.Time, error) {
	if text == "" {
		return time.Time{}, nil
	}
	day, err := time.ParseInLocation(time.DateOnly, text, zone)
	if err != nil {
		return time.Time{}, usage(fmt.Sprintf("%s %q is not a day such as 2026-03-14", flag, text))
	}
	return day, nil
}

func jobRows(jobs []record.Summary) []jobJSON {
	rows := []jobJSON{}
	for _, j := range jobs {
		rows = append(rows, jobJSON{
			Job: j.Job.String(), Name: report.Name(j), Asset: j.Asset, Number: j.Number, Title: j.Title, State: string(j.State),
			Operator: j.Operator, Created: j.Created.Format(timeForm), Updated: j.Updated.Format(timeForm), Events: j.Events, Head: report.ShortHead(j.Head),
		})
	}
	return rows
}

// jobsCSV writes rows as RFC 4180 has them.
func (a *app) jobsCSV(rows []jobJSON) error {
	out := csv.NewWriter(a.env.Stdout)
	out.Write([]string{"job", "name", "asset", "number", "title", "state", "operator", "created", "updated", "events", "head"})
	for _, r := range rows {
		out.Write([]string{
			r.Job, report.Cell(r.Name), report.Cell(r.Asset), strconv.FormatInt(r.Number, 10), report.Cell(r.Title), r.State, report.Cell(r.Operator),
			r.Created, r.Updated, strconv.FormatInt(r.Events, 10), r.Head,
		})
	}
	out.Flush()
	return out.Error()
}

// timeForm is RFC 3339 in UTC.
const timeForm = "2006-01-02T15:04:05Z07:00"

func (a *app) jobsTable(jobs []record.Summary) error {
	if len(jobs) == 0 {
		fmt.Fprintln(a.env.Stderr, "no jobs; daytank walk FILE makes one")
		return nil
	}
	table := tabwriter.NewWriter(a.env.Stdout, 0, 0, 2, ' ', 0)
	fmt.Fprint(table, "job\tstate\tby\tlast entry\ttitle\n")
	for _, j := range jobs {
		fmt.Fprintf(table, "%s\t%s\t%s\t%s\t%s\n", report.Name(j), j.State, prompt.Plain(j.Operator),
			j.Updated.In(a.env.Now().Location()).Format("2006-01-02 15:04"), prompt.Plain(j.Title))
	}
	return table.Flush()
}
