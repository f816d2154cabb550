package cli

import (
	"context"
	"fmt"

	"github.com/spf13/cobra"

	"daytank/planner/idletest"
	"daytank/planner/idletest/logfile"
	"daytank/planner/quantity"
	"daytank/procedures/report"
)

// compareOptions are the flags of `daytank test compare`.
type compareOptions struct {
	beforeHot, afterHot, beforeCold, afterCold []string
	log                                        logOptions
	judging                                    judging
	changes                                    changes
	ambient                                    string
	asJSON, details                            bool
}

// newTestCompareCommand makes `daytank test compare`.
func newTestCompareCommand(a *app) *cobra.Command {
	var o compareOptions
	cmd := &cobra.Command{
		Use:   "compare JOB | compare --before-hot LOG --after-hot LOG ...",
		Short: "compare the idle tests before and after",
		Long: `Compares the idle tests of a job, or logs as they are: hot with hot, cold with
cold. First stands the verdict in a sentence, then the numbers, then what would
make it firmer. Each of the four flags may be repeated: two or three runs on
different days say how much an idle differs by itself, and only then is anything
more than suggested.`,
		Example: `  daytank test compare VAN-07/3
  daytank test compare --before-hot before.csv --after-hot after.csv
  daytank test compare --before-hot a.csv --before-hot b.csv --after-hot c.csv`,
		RunE:              func(cmd *cobra.Command, args []string) error { return a.compareTests(cmd.Context(), args, o) },
		ValidArgsFunction: a.completeJob,
	}
	f := cmd.Flags()
	f.StringArrayVar(&o.beforeHot, "before-hot", nil, "`LOG` of a hot test before the clean")
	f.StringArrayVar(&o.afterHot, "after-hot", nil, "`LOG` of a hot test after it")
	f.StringArrayVar(&o.beforeCold, "before-cold", nil, "`LOG` of a cold test before the clean")
	f.StringArrayVar(&o.afterCold, "after-cold", nil, "`LOG` of a cold test after it")
	f.StringVar(&o.ambient, "ambient", "", "`TEMPERATURE` of the air at the cold tests")
	o.log.flags(f)
	o.judging.flags(f)
	o.changes.flags(f)
	f.BoolVar(&o.details, "details", false, "also the numbers of the statistics")
	f.BoolVar(&o.asJSON, "json", false, "as JSON")
	return a.takesShared(cmd)
}

// comparisonJSON is a comparison with what was read for it.
type comparisonJSON struct {
	idletest.Comparison
	Logs []logJSON `json:"logs"`
}

type logJSON struct {
	File string `json:"file"`
	*logfile.Log
}

func (a *app) compareTests(ctx context.Context, args []string, o compareOptions) error {
	show, err := a.printer()
	if err != nil {
		return err
	}
	rules, err := o.judging.rules()
	if err != nil {
		return err
	}
	between, err := o.changes.list()
	if err != nil {
		return err
	}
	var tests []idletest.Test
	logs := []logJSON{}
	files := len(o.beforeHot) + len(o.afterHot) + len(o.beforeCold) + len(o.afterCold)
	switch {
	case len(args) == 1 && files == 0:
		var more []idletest.Intervening
		if tests, more, err = a.testsOfJob(ctx, args[0]); err != nil {
			return err
		}
		between = append(more, between...)
	case len(args) == 0 && files > 0:
		if tests, logs, err = a.testsOfFiles(ctx, o); err != nil {
			return err
		}
	default:
		return usage("name one job, or logs by --before-hot, --after-hot, --before-cold and --after-cold", "such as: daytank test compare --before-hot before.csv --after-hot after.csv")
	}
	c := idletest.Compare(tests, between, rules)
	if o.asJSON {
		return writeJSON(a.env.Stdout, comparisonJSON{Comparison: c, Logs: logs})
	}
	report.ComparisonText(a.env.Stdout, c, o.details, show)
	return nil
}

// testsOfJob gives the tests that a job's record holds.
func (a *app) testsOfJob(ctx context.Context, name string) ([]idletest.Test, []idletest.Intervening, error) {
	kept, err := a.openStore(ctx)
	if err != nil {
		return nil, nil, err
	}
	defer kept.Close()
	sum, err := findJob(ctx, kept, name)
	if err != nil {
		return nil, nil, err
	}
	r, err := recordOf(ctx, kept, sum)
	if err != nil {
		return nil, nil, err
	}
	if len(r.All()) == 0 {
		return nil, nil, usage(name+" holds no idle test yet", fmt.Sprintf("daytank test add %s LOG adds one", name))
	}
	return r.All(), r.Between, nil
}

// testsOfFiles reads the logs named by flags.
func (a *app) testsOfFiles(ctx context.Context, o compareOptions) ([]idletest.Test, []logJSON, error) {
	var tests []idletest.Test
	var logs []logJSON
	ambient, err := optionalFlag("ambient", o.ambient, quantity.ParseTemperature, "such as --ambient '11 °C'")
	if err != nil {
		return nil, nil, err
	}
	for _, group := range []struct {
		files []string
		phase idletest.Phase
		state idletest.State
	}{
		{o.beforeHot, idletest.Before, idletest.Hot},
		{o.afterHot, idletest.After, idletest.Hot},
		{o.beforeCold, idletest.Before, idletest.Cold},
		{o.afterCold, idletest.After, idletest.Cold},
	} {
		for i, file := range group.files {
			read, err := a.readLog(ctx, file, o.log, a.talkIfTerminal())
			if err != nil {
				return nil, nil, err
			}
			t, err := o.log.test(read, group.phase, group.state, i+1)
			if err != nil {
				return nil, nil, err
			}
			t.Ambient = ambient
			tests = append(tests, t)
			logs = append(logs, logJSON{file, read.log})
		}
	}
	return tests, logs, nil
}
