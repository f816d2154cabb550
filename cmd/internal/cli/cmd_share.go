package cli

import (
	"cmp"
	"context"
	"errors"
	"fmt"

	"github.com/google/uuid"
	"github.com/spf13/cobra"

	"daytank/cmd/internal/prompt"
	"daytank/cmd/internal/settings"
	"daytank/procedures/record"
	"daytank/procedures/report"
	"daytank/procedures/store"
	"daytank/procedures/store/share"
)

// officeName is what the shared store is called in records.
const officeName = "office"

// newShareCommand makes `daytank share`.
func newShareCommand(a *app) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "share",
		Short: "send records to those that several bays share, and take jobs over",
		Long: `A workshop with several bays shares its records in a PostgreSQL database, named
by the setting share. Each bay walks its jobs with its own records and sends
them when the database can be reached: by itself after a walk, or with send. One
store holds a job and adds to it: the bay that began it; the shared one, called
the office, once it is ready for review or released; a bay again, when it is
sent back or taken over. A bay without network goes on.

With --shared the commands jobs, show, review, report, verify, export and test
work on the shared records.`,
		Example: `  daytank share status
  daytank share send
  daytank share release VAN-07/3
  daytank share take VAN-07/3
  daytank share set-up postgres://owner@server/records`,
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) > 0 {
				return unknownCommand(cmd, args)
			}
			return cmd.Help()
		},
	}
	cmd.AddCommand(a.shareStatus(), a.shareSend(), a.shareRelease(), a.shareTake(), a.shareSetUp())
	return cmd
}

// openOffice opens the shared records.
func (a *app) openOffice(ctx context.Context) (share.Office, error) {
	s, err := a.settings()
	if err != nil {
		return share.Office{}, err
	}
	if s.Share == "" {
		return share.Office{}, usage("no records are shared: the setting share names no database", "share: postgres://name@host/database  in the settings file, or DAYTANK_SHARE")
	}
	shared, err := store.OpenPostgres(ctx, s.Share)
	if err != nil {
		return share.Office{}, err
	}
	office, err := share.OpenOffice(ctx, shared, officeName)
	if err != nil {
		return office, errors.Join(err, shared.Close())
	}
	return office, nil
}

// link opens both: the records of this bay and those that are shared.
func (a *app) link(ctx context.Context) (share.Link, func(), error) {
	s, err := a.settings()
	if err != nil {
		return share.Link{}, nil, err
	}
	kept, err := a.openBay(ctx)
	if err != nil {
		return share.Link{}, nil, err
	}
	l, closes, err := a.linkOf(ctx, kept, s.Bay)
	if err != nil {
		return l, nil, errors.Join(err, kept.Close())
	}
	return l, func() { closes(); kept.Close() }, nil
}

// linkBy opens both, and says by whom a job is handed on.
func (a *app) linkBy(ctx context.Context) (share.Link, record.Stamp, func(), error) {
	l, closes, err := a.link(ctx)
	if err != nil {
		return l, record.Stamp{}, nil, err
	}
	stamp, err := a.carrier(l.Bay.Name)
	if err != nil {
		closes()
	}
	return l, stamp, closes, err
}

// linkOf links records of a bay with those that are shared.
func (a *app) linkOf(ctx context.Context, kept store.Store, bay string) (share.Link, func(), error) {
	id, err := kept.Identity(ctx)
	if err != nil {
		return share.Link{}, nil, err
	}
	office, err := a.openOffice(ctx)
	if err != nil {
		return share.Link{}, nil, err
	}
	name := cmp.Or(bay, a.env.Hostname(), "bay "+id.String()[:8])
	l, err := share.Join(ctx, kept, name, office)
	if err != nil {
		return l, nil, errors.Join(err, office.Store.Close())
	}
	return l, func() { office.Store.Close() }, nil
}

// carrier gives when, by which process and by whom a job is handed on.
func (a *app) carrier(by string) (record.Stamp, error) {
	s, err := a.settings()
	if err != nil {
		return record.Stamp{}, err
	}
	process, err := a.env.NewID()
	if err != nil {
		return record.Stamp{}, err
	}
	return a.stamp(process, cmp.Or(a.flags.operator, s.Operator, by)), nil
}

func (a *app) shareSend() *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "send [JOB...]",
		Short: "send jobs, and fetch what was added to them elsewhere",
		Long: `Sends what this bay has more of its jobs, or of those named, and fetches what
was added to them elsewhere. A job that is ready for review is handed to the
office. What was sent once is not sent again, so that it may be called as often
as one likes.`,
		Example: `  daytank share send
  daytank share send VAN-07/3`,
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.sendJobs(cmd.Context(), args, asJSON)
		},
		ValidArgsFunction: a.completeJob,
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "as JSON")
	return cmd
}

func (a *app) sendJobs(ctx context.Context, names []string, asJSON bool) error {
	l, stamp, closes, err := a.linkBy(ctx)
	if err != nil {
		return err
	}
	defer closes()
	var all []share.Outcome
	if len(names) == 0 {
		all, err = l.SendAll(ctx, stamp)
	}
	for _, name := range names {
		var out share.Outcome
		if out, err = sendOne(ctx, l, name, stamp); err != nil {
			break
		}
		all = append(all, out)
	}
	if asJSON {
		err = errors.Join(writeJSON(a.env.Stdout, outcomesJSON(all)), err)
	} else {
		a.tellOutcomes(all)
		if len(all) == 0 && err == nil {
			fmt.Fprintln(a.env.Stdout, "nothing to send: both have the same")
		}
	}
	return errors.Join(err, worstOf(all))
}

// sendOne sends a job of this bay, and hands it to the office where it is ready for review.
func sendOne(ctx context.Context, l share.Link, name string, stamp record.Stamp) (share.Outcome, error) {
	sum, err := findJob(ctx, l.Kept, name)
	if err != nil {
		return share.Outcome{}, err
	}
	if sum.State == record.StateToReview {
		out, err := l.Release(ctx, sum.Job, stamp)
		var elsewhere *share.NotHeld
		if errors.As(err, &elsewhere) { // by another bay: what it added was fetched
			return out, nil
		}
		return out, err
	}
	return l.Send(ctx, sum.Job)
}

func (a *app) shareRelease() *cobra.Command {
	return &cobra.Command{
		Use:   "release JOB",
		Short: "hand a job to the office, so that another bay can take it over",
		Long: `Sends a job of this bay and hands it to the office, whatever its state: another
bay may then take it over and go on with it. What is ready for review is handed
over by itself.`,
		Example: `  daytank share release VAN-07/3`,
		Args:    oneArgument("name a job such as VAN-07/3; daytank jobs lists them"),
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.handOn(cmd.Context(), args[0], func(l share.Link) store.Store { return l.Kept }, share.Link.Release)
		},
		ValidArgsFunction: a.completeJob,
	}
}

func (a *app) shareTake() *cobra.Command {
	return &cobra.Command{
		Use:   "take JOB",
		Short: "take a job over that the office holds, to go on with it here",
		Long: `Takes a job over that the office holds and fetches it, so that this bay may go
on with it. Where two bays want it, one is first, and the other is told.`,
		Example: `  daytank share take VAN-07/3`,
		Args:    oneArgument("name a job such as VAN-07/3; daytank jobs --shared lists them"),
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.handOn(cmd.Context(), args[0], func(l share.Link) store.Store { return l.Office.Store }, share.Link.TakeOver)
		},
	}
}

// handOn finds a job in one of the two stores, makes another the holder of it, and says what
// came of it.
func (a *app) handOn(ctx context.Context, name string, in func(share.Link) store.Store, step func(share.Link, context.Context, uuid.UUID, record.Stamp) (share.Outcome, error)) error {
	l, stamp, closes, err := a.linkBy(ctx)
	if err != nil {
		return err
	}
	defer closes()
	sum, err := findJob(ctx, in(l), name)
	if err != nil {
		return err
	}
	out, err := step(l, ctx, sum.Job, stamp)
	if err != nil {
		return err
	}
	a.tellOutcomes([]share.Outcome{out})
	return nil
}

func (a *app) shareSetUp() *cobra.Command {
	return &cobra.Command{
		Use:   "set-up ADDRESS",
		Short: "make the shared records in a database, once",
		Long: `Makes the tables of the shared records in a database, or brings those of an
older version up to this one. The address is that of a login which may make
schemas and roles; the password stands in PGPASSWORD or the password file. Bays
then log in with roles of their own, made by whoever runs the server:

  CREATE ROLE bay1 LOGIN PASSWORD '...' IN ROLE daytank_bay;
  CREATE ROLE desk LOGIN PASSWORD '...' IN ROLE daytank_reader;

A bay may read and add, never change or remove; a reader may only read.`,
		Example: `  daytank share set-up postgres://owner@server/records`,
		Args:    oneArgument("name the database, postgres://owner@server/records"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := settings.CheckAddress(args[0]); err != nil {
				return usage(err.Error(), "write it as postgres://owner@server/records")
			}
			if err := store.SetUpPostgres(cmd.Context(), args[0]); err != nil {
				return err
			}
			fmt.Fprintln(a.env.Stdout, "The shared records are set up; bays log in as members of daytank_bay.")
			return nil
		},
	}
}

func (a *app) shareStatus() *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:     "status",
		Short:   "how this bay and the shared records stand to each other",
		Long:    `Compares the jobs of this bay with those that are shared, and changes nothing.`,
		Example: `  daytank share status`,
		Args:    noArguments,
		RunE: func(cmd *cobra.Command, _ []string) error {
			ctx := cmd.Context()
			l, closes, err := a.link(ctx)
			if err != nil {
				return err
			}
			defer closes()
			status, err := l.Status(ctx)
			if err != nil {
				return err
			}
			if asJSON {
				return writeJSON(a.env.Stdout, statusJSON(l, status))
			}
			a.tellStatus(l, status)
			return nil
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "as JSON")
	return cmd
}

// shareJSON is `daytank share status --json`.
type shareJSON struct {
	Bay    string         `json:"bay"`
	BayID  string         `json:"bay_id"`
	Office string         `json:"office"`
	Same   int            `json:"same"`
	Unsent []shareRowJSON `json:"unsent"` // the bay has more
	Behind []shareRowJSON `json:"behind"` // the office has more
	Forked []shareRowJSON `json:"forked"` // both go on differently
	Broken []shareRowJSON `json:"broken"` // one of the copies does not verify
	Coming []shareRowJSON `json:"coming"` // held by this bay, and not here yet
	Free   []shareRowJSON `json:"free"`   // sent back, and held by the office
}

// shareRowJSON is a job of it.
type shareRowJSON struct {
	Job   string `json:"job"`
	Name  string `json:"name"`
	State string `json:"state"`
	Here  int64  `json:"events_here"`
	There int64  `json:"events_there"`
}

func statusJSON(l share.Link, s share.Status) shareJSON {
	rows := func(all []share.Row) []shareRowJSON {
		out := []shareRowJSON{}
		for _, r := range all {
			out = append(out, shareRowJSON{r.Job.String(), report.Name(r.Summary), string(r.State), r.Events, r.There})
		}
		return out
	}
	there := func(all []record.Summary) []shareRowJSON {
		out := []shareRowJSON{}
		for _, r := range all {
			out = append(out, shareRowJSON{r.Job.String(), report.Name(r), string(r.State), 0, r.Events})
		}
		return out
	}
	return shareJSON{
		Bay: l.Bay.Name, BayID: l.Bay.ID.String(), Office: l.Office.Name, Same: s.Same,
		Unsent: rows(s.Unsent), Behind: rows(s.Behind), Forked: rows(s.Forked), Broken: rows(s.Broken), Coming: there(s.Coming), Free: there(s.Free),
	}
}

func (a *app) tellStatus(l share.Link, s share.Status) {
	out, j := a.env.Stdout, statusJSON(l, s)
	fmt.Fprintf(out, "this bay is %s, %s\n%d jobs are the same here and in the shared records\n", prompt.Plain(j.Bay), j.BayID[:8], j.Same)
	for _, part := range []struct {
		says string
		rows []shareRowJSON
	}{
		{"to be sent", j.Unsent},
		{"to be fetched", j.Behind},
		{"handed to this bay, to be fetched", j.Coming},
		{"sent back, to be taken over", j.Free},
		{"GO ON DIFFERENTLY here and there; both are kept", j.Forked},
		{"DO NOT VERIFY here or there", j.Broken},
	} {
		for _, r := range part.rows {
			fmt.Fprintf(out, "%s: %s, %s, %d events here, %d there\n", part.says, prompt.Plain(r.Name), r.State, r.Here, r.There)
		}
	}
}

// outcomeJSON is a job of `daytank share send --json`.
type outcomeJSON struct {
	Job      string `json:"job"`
	Name     string `json:"name"`
	Sent     int64  `json:"events_sent"`
	Fetched  int64  `json:"events_fetched"`
	Holder   string `json:"holder"`
	Restored bool   `json:"restored"` // this bay had less than had been sent from it
	Problem  string `json:"problem,omitempty"`
}

func outcomesJSON(all []share.Outcome) []outcomeJSON {
	rows := []outcomeJSON{}
	for _, o := range all {
		row := outcomeJSON{Job: o.Job.String(), Name: o.Name, Sent: o.Sent, Fetched: o.Fetched, Holder: o.Holder.Words(), Restored: o.Restored}
		if o.Err != nil {
			row.Problem = o.Err.Error()
		}
		rows = append(rows, row)
	}
	return rows
}

// tellOutcomes says what came of each job; what went wrong goes to standard error.
func (a *app) tellOutcomes(all []share.Outcome) {
	for _, o := range all {
		if o.Err != nil {
			fmt.Fprintf(a.env.Stderr, "%s: %s is left as it is: %s\n", program, prompt.Plain(o.Name), prompt.Plain(o.Err.Error()))
			continue
		}
		fmt.Fprintf(a.env.Stdout, "%s: %d events sent, %d fetched; held by %s\n", prompt.Plain(o.Name), o.Sent, o.Fetched, prompt.Plain(o.Holder.Words()))
		if o.Restored {
			fmt.Fprintf(a.env.Stderr, "%s: warning: %s was older here than what had been sent: these records seem to come from a backup\n", program, prompt.Plain(o.Name))
		}
	}
}

// worstOf gives the status that outcomes end with.
func worstOf(all []share.Outcome) error {
	code := Done
	for _, o := range all {
		var damage *record.Damage
		switch {
		case errors.As(o.Err, &damage):
			code = Unverified
		case o.Err != nil && code == Done:
			code = Failed
		}
	}
	return end(code)
}
