package cli

import (
	"context"
	"errors"
	"fmt"
	"os"
	"regexp"
	"strconv"
	"strings"
	"sync"

	"github.com/google/uuid"
	"github.com/spf13/cobra"

	"daytank/procedures/record"
	"daytank/procedures/report"
	"daytank/procedures/store"
)

var jobName = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`^([A-Za-z0-9][A-Za-z0-9._-]*)/([1-9][0-9]{0,8})$`) })

// looksLikeJob tells whether a word names a job rather than a file: asset and
// number, or a job id. A file of that name wins.
func looksLikeJob(name string) bool {
	if _, err := os.Stat(name); err == nil {
		return false
	}
	return jobName().MatchString(name) || uuid.Validate(name) == nil
}

// findJob gives the job that a name means.
func findJob(ctx context.Context, kept store.Store, name string) (record.Summary, error) {
	sum, err := lookUp(ctx, kept, name)
	if errors.Is(err, store.ErrUnknown) {
		return sum, fail(Usage, fmt.Errorf("no job %s", name), "daytank jobs lists them")
	}
	return sum, err
}

func lookUp(ctx context.Context, kept store.Store, name string) (record.Summary, error) {
	if id, err := uuid.Parse(name); err == nil {
		return kept.Get(ctx, id)
	}
	m := jobName().FindStringSubmatch(name)
	if m == nil {
		return record.Summary{}, usage(fmt.Sprintf("%q is not a job", name), "a job is asset and number, such as VAN-07/3, or a job id")
	}
	number, err := strconv.ParseInt(m[2], 10, 64)
	if err != nil {
		return record.Summary{}, err
	}
	return kept.Find(ctx, m[1], number)
}

// oneArgument wants one argument and says which.
func oneArgument(hint string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		if len(args) == 1 {
			return nil
		}
		return usage(fmt.Sprintf("%s takes one argument, not %d", cmd.CommandPath(), len(args)), hint)
	}
}

// oneOrTwo wants one argument or two and says which.
func oneOrTwo(hint string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		if len(args) == 1 || len(args) == 2 {
			return nil
		}
		return usage(fmt.Sprintf("%s takes one argument or two, not %d", cmd.CommandPath(), len(args)), hint)
	}
}

// completeJobOrFile offers the jobs that are kept, and files.
func (a *app) completeJobOrFile(cmd *cobra.Command, args []string, begun string) ([]string, cobra.ShellCompDirective) {
	names, _ := a.completeJob(cmd, args, begun)
	return names, cobra.ShellCompDirectiveDefault
}

// mostOffered is how many jobs completion offers.
const mostOffered = 50

// completeJob offers the jobs that are kept.
func (a *app) completeJob(cmd *cobra.Command, args []string, begun string) ([]string, cobra.ShellCompDirective) {
	if len(args) > 0 {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	kept, err := a.openStore(cmd.Context())
	if err != nil {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	defer kept.Close()
	jobs, err := kept.Jobs(cmd.Context(), store.Query{Limit: mostOffered})
	if err != nil {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	var names []string
	for _, j := range jobs {
		if name := report.Name(j); strings.HasPrefix(name, begun) {
			names = append(names, name+"\t"+report.Plain(j.Title))
		}
	}
	return names, cobra.ShellCompDirectiveNoFileComp
}
