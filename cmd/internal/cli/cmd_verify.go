package cli

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"github.com/google/uuid"
	"github.com/spf13/cobra"

	"daytank/cmd/internal/prompt"
	"daytank/procedures/record"
	"daytank/procedures/report"
	"daytank/procedures/review"
	"daytank/procedures/store"
)

// newVerifyCommand makes `daytank verify`.
func newVerifyCommand(a *app) *cobra.Command {
	var head string
	cmd := &cobra.Command{
		Use:   "verify [JOB|FILE]",
		Short: "recompute the chain of a record, or of all",
		Long: `Recomputes the chain of a record: every event against the one before it, and
everything it rests on against its digest; and checks every sign-off against the
list of signers, whose digest is said. Without a job, all records. An exported
file is verified by itself, without the database. The status is 5 when one does
not verify, and the first bad event is named.

Every report prints the first digits of the record's head. With --head they are
held against the record: one that was rewritten as a whole has other heads.`,
		Example: `  daytank verify
  daytank verify VAN-07/3
  daytank verify friday.jsonl`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) > 1 {
				return usage(fmt.Sprintf("%s takes one job or file, or none, not %d", cmd.CommandPath(), len(args)))
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			if cmd.Flags().Changed("head") && strings.TrimSpace(head) == "" {
				return usage("--head is empty")
			}
			return a.verify(cmd.Context(), args, head)
		},
		ValidArgsFunction: a.completeJob,
	}
	cmd.Flags().StringVar(&head, "head", "", "`DIGITS` of a head that was printed, 16 or more")
	return a.takesShared(cmd)
}

func (a *app) verify(ctx context.Context, args []string, head string) error {
	head = strings.ToLower(strings.TrimSpace(head))
	switch {
	case head != "" && len(args) == 0:
		return usage("--head is that of one job: name it")
	case head != "" && (len(head) < 16 || strings.Trim(head, "0123456789abcdef") != ""):
		return usage("--head takes the digits that a report prints, 16 or more of 0 to 9 and a to f")
	}
	if len(args) == 1 && !looksLikeJob(args[0]) {
		return a.verifyFile(args[0], head)
	}
	kept, err := a.openStore(ctx)
	if err != nil {
		return err
	}
	defer kept.Close()
	return a.verifyIn(ctx, kept, args, head)
}

// verifyFile verifies an exported record.
func (a *app) verifyFile(file, head string) error {
	x, err := readExported(file)
	if err != nil {
		return err
	}
	sum := record.Summary{}
	for _, e := range x.Events {
		if sum, err = sum.Apply(e); err != nil {
			return unverified(file, err)
		}
	}
	fmt.Fprintf(a.env.Stdout, "%s: %s  intact, %d events, head %s\n", prompt.Plain(file), prompt.Plain(report.Name(sum)), sum.Events, report.ShortHead(sum.Head))
	signers, err := a.signers()
	if err != nil {
		return err
	}
	bad, err := a.verifySignOffs(x.Events, signers)
	if err == nil && (bad > 0 || !a.hasHead(x.Events, head)) {
		return end(Unverified)
	}
	return err
}

// hasHead says of which event a printed head is; false where it is of none.
func (a *app) hasHead(events []record.Event, head string) bool {
	if head == "" {
		return true
	}
	for _, e := range events {
		if strings.HasPrefix(e.Hash.String(), head) {
			fmt.Fprintf(a.env.Stdout, "  the head printed, %s, is that of event %d of %d\n", head, e.Seq, len(events))
			return true
		}
	}
	fmt.Fprintf(a.env.Stdout, "  REWRITTEN, or another job: no event of this record has the head printed, %s\n", head)
	return false
}

// verifySignOffs says what the sign-offs of a record are worth, and how many are not to
// be trusted; without a list of signers, none is.
func (a *app) verifySignOffs(events []record.Event, signers *review.Signers) (bad int, err error) {
	standings, err := review.Standings(events, signers)
	if err != nil {
		return 0, err
	}
	for _, s := range standings {
		fmt.Fprintln(a.env.Stdout, report.Wrap(prompt.Plain(s.Words()), "  ", 79))
		if s.Problem != "" {
			bad++
		}
	}
	if len(standings) > 0 && signers != nil {
		fmt.Fprintf(a.env.Stdout, "  list of signers %s, sha256 %s\n", prompt.Plain(signers.File), signers.Digest)
	}
	return bad, nil
}

// verifyIn verifies one job of a store, or all.
func (a *app) verifyIn(ctx context.Context, kept store.Store, args []string, head string) error {
	var jobs []record.Summary
	if len(args) == 1 {
		sum, err := findJob(ctx, kept, args[0])
		if err != nil {
			return err
		}
		jobs = []record.Summary{sum}
	} else {
		var err error
		if jobs, err = kept.Jobs(ctx, store.Query{}); err != nil {
			return err
		}
		if len(jobs) == 0 { // which says nothing of records that were here before
			fmt.Fprintln(a.env.Stdout, "no jobs: nothing to verify")
		}
	}
	signers, err := a.signers()
	if err != nil {
		return err
	}
	damaged := 0
	for _, sum := range jobs {
		events, err := verifyOne(ctx, kept, sum.Job)
		var damage *record.Damage
		switch {
		case errors.As(err, &damage):
			damaged++
			fmt.Fprintf(a.env.Stdout, "%s  DAMAGED at event %d: %s\n", report.Name(sum), damage.Seq, damage.Reason)
		case err != nil:
			return err
		default:
			fmt.Fprintf(a.env.Stdout, "%s  intact, %d events, head %s\n", report.Name(sum), sum.Events, report.ShortHead(sum.Head))
			bad, err := a.verifySignOffs(events, signers)
			if err != nil {
				return err
			}
			if damaged += bad; !a.hasHead(events, head) {
				damaged++
			}
		}
	}
	if damaged > 0 {
		return end(Unverified)
	}
	return nil
}

func verifyOne(ctx context.Context, kept store.Store, job uuid.UUID) ([]record.Event, error) {
	events, err := kept.Events(ctx, job)
	if err != nil {
		return nil, err
	}
	if err := record.Verify(job, events, func(digest record.Hash) ([]byte, error) { return kept.Blob(ctx, digest) }); err != nil {
		return events, err
	}
	row, err := kept.Get(ctx, job)
	if err != nil {
		return events, err
	}
	return events, record.CheckRow(row, events)
}
