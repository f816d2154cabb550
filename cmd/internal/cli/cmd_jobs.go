package cli

import (
	"fmt"
	"slices"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"daytank/cmd/internal/prompt"
	"daytank/procedures/record"
	"daytank/procedures/report"
	"daytank/procedures/store"
)

// jobJSON is a row of `daytank jobs --json`.
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
	Head     string `json:"head"`
}

// newJobsCommand makes `daytank jobs`.
func newJobsCommand(a *app) *cobra.Command {
	var asJSON bool
	var q store.Query
	var states []string
	cmd := &cobra.Command{
		Use:   "jobs",
		Short: "list the jobs that are kept",
		Long:  "Lists the jobs that are kept, the newest first.",
		Example: `  daytank jobs
  daytank jobs --asset VAN-07 --state 'to review'`,
		Args: noArguments,
		RunE: func(cmd *cobra.Command, _ []string) error {
			for _, s := range states {
				if !slices.Contains(record.States(), record.State(s)) {
					return usage(fmt.Sprintf("no state %q", s), "states are "+stateNames())
				}
				q.States = append(q.States, record.State(s))
			}
			kept, err := a.openStore(cmd.Context())
			if err != nil {
				return err
			}
			defer kept.Close()
			jobs, err := kept.Jobs(cmd.Context(), q)
			if err != nil {
				return err
			}
			if asJSON {
				return a.jobsJSON(jobs)
			}
			return a.jobsTable(jobs)
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "as JSON")
	cmd.Flags().StringVar(&q.Asset, "asset", "", "only those of this `ASSET`")
	cmd.Flags().StringVar(&q.Operator, "by", "", "only those of this operator `NAME`")
	cmd.Flags().StringArrayVar(&states, "state", nil, "only those in this `STATE`; may be repeated")
	cmd.Flags().IntVar(&q.Limit, "limit", 50, "at most so many; 0 for all")
	_ = cmd.RegisterFlagCompletionFunc("state", cobra.FixedCompletions(strings.Split(stateNames(), ", "), cobra.ShellCompDirectiveNoFileComp))
	return cmd
}

func stateNames() string {
	var names []string
	for _, s := range record.States() {
		names = append(names, string(s))
	}
	return strings.Join(names, ", ")
}

func (a *app) jobsJSON(jobs []record.Summary) error {
	rows := []jobJSON{}
	for _, j := range jobs {
		rows = append(rows, jobJSON{
			Job: j.Job.String(), Name: report.Name(j), Asset: j.Asset, Number: j.Number, Title: j.Title, State: string(j.State),
			Operator: j.Operator, Created: j.Created.Format(timeForm), Updated: j.Updated.Format(timeForm), Head: report.ShortHead(j.Head),
		})
	}
	return writeJSON(a.env.Stdout, rows)
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
