package cli

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"daytank/cmd/internal/sitting"
	"daytank/planner"
	"daytank/planner/idletest"
	"daytank/planner/quantity"
	"daytank/procedures/proof"
	"daytank/procedures/record"
	"daytank/procedures/report"
	"daytank/procedures/store"
)

// newTestDueCommand makes `daytank test due`.
func newTestDueCommand(a *app) *cobra.Command {
	var asJSON, all bool
	var asset, odometer, hours string
	cmd := &cobra.Command{
		Use:   "due",
		Short: "list the jobs whose after-test is due",
		Long: `Lists the jobs whose clean was run, whose test after it is not in, and whose
time has come: by the settings followup_days, followup_distance and
followup_hours. How far a vehicle has gone is known from its later jobs and
tests, or from --odometer. With each stand the conditions that the test has to
meet again.`,
		Example: `  daytank test due
  daytank test due --asset VAN-07 --odometer '148500 km'`,
		Args: noArguments,
		RunE: func(cmd *cobra.Command, _ []string) error {
			var is proof.Use
			var err error
			if is.Odometer, err = optionalFlag("odometer", odometer, quantity.ParseDistance, "such as --odometer '148500 km'"); err != nil {
				return err
			}
			if is.EngineHours, err = optionalFlag("engine-hours", hours, quantity.ParseDuration, "such as --engine-hours '3120 h'"); err != nil {
				return err
			}
			if asset == "" && (is.Odometer != nil || is.EngineHours != nil) {
				return usage("say whose odometer or engine hours these are", "such as --asset VAN-07 --odometer '148500 km'")
			}
			return a.dueTests(cmd.Context(), asset, is, all, asJSON)
		},
	}
	f := cmd.Flags()
	f.BoolVar(&asJSON, "json", false, "as JSON")
	f.BoolVar(&all, "all", false, "also those whose time has not come")
	f.StringVar(&asset, "asset", "", "only those of this `ASSET`")
	f.StringVar(&odometer, "odometer", "", "`DISTANCE` on the odometer of the asset now")
	f.StringVar(&hours, "engine-hours", "", "`HOURS` of the asset's engine now")
	return a.takesShared(cmd)
}

func (a *app) dueTests(ctx context.Context, asset string, now proof.Use, all, asJSON bool) error {
	s, err := a.settings()
	if err != nil {
		return err
	}
	limits := proof.Limits{Days: s.FollowupDays, Distance: s.FollowupDistance, Hours: s.FollowupHours}
	latest := map[string]proof.Use{}
	list := []proof.Due{}
	// The newest first: what is known of an asset later stands before.
	err = a.eachRecord(ctx, asset, func(r proof.Record, was proof.Use) {
		sum := r.Summary
		if sum.Demo {
			return
		}
		is := furthest(latest[sum.Asset], was)
		for _, t := range r.Tests {
			is = furthest(is, proof.Use{Odometer: t.Odometer, EngineHours: t.EngineHours})
		}
		latest[sum.Asset] = is
		if d, wanted := proof.DueOf(r, report.Name(sum), was, furthest(is, now), limits, a.env.Now(), s.Printer()); wanted && (d.Due || all) {
			list = append(list, d)
		}
	})
	if err != nil {
		return err
	}
	if asJSON {
		return writeJSON(a.env.Stdout, list)
	}
	a.dueText(list)
	return nil
}

func (a *app) dueText(list []proof.Due) {
	out := a.env.Stdout
	if len(list) == 0 {
		fmt.Fprintln(out, "No test after a clean is due.")
	}
	for _, d := range list {
		state := "due: " + d.Why
		if !d.Due {
			state = fmt.Sprintf("not yet due: %d days", d.Days)
		}
		fmt.Fprintf(out, "%s  clean ended %.10s; %s\n", d.Name, d.Ended, state)
		for _, c := range d.Conditions {
			fmt.Fprintln(out, report.Wrap(c, "  again ", 79))
		}
		if len(d.Conditions) == 0 {
			fmt.Fprintln(out, "  no test before the clean is kept: a test now has nothing to be compared with")
		}
	}
}

// furthest gives the higher of two uses.
func furthest(x, y proof.Use) proof.Use {
	if x.Odometer == nil || y.Odometer != nil && *y.Odometer > *x.Odometer {
		x.Odometer = y.Odometer
	}
	if x.EngineHours == nil || y.EngineHours != nil && *y.EngineHours > *x.EngineHours {
		x.EngineHours = y.EngineHours
	}
	return x
}

// benchOf gives a bench that only reads.
func (a *app) benchOf(kept store.Store) (sitting.Bench, error) {
	library, err := a.books()
	if err != nil {
		return sitting.Bench{}, err
	}
	return a.bench(kept, library, "")
}

// eachRecord gives the jobs of an asset, or all, the newest first, each with its tests
// and how far the engine had run when it was made.
func (a *app) eachRecord(ctx context.Context, asset string, do func(r proof.Record, was proof.Use)) error {
	kept, err := a.openStore(ctx)
	if err != nil {
		return err
	}
	defer kept.Close()
	jobs, err := kept.Jobs(ctx, store.Query{Asset: asset})
	if err != nil {
		return err
	}
	bench, err := a.benchOf(kept)
	if err != nil {
		return err
	}
	for _, sum := range jobs {
		if err := oneRecord(ctx, bench, sum, do); err != nil {
			return fmt.Errorf("%s: %w", report.Name(sum), err)
		}
	}
	return nil
}

// oneRecord gives a job with its tests and how far the engine had run when it was made.
func oneRecord(ctx context.Context, bench sitting.Bench, sum record.Summary, do func(r proof.Record, was proof.Use)) error {
	r, err := recordOf(ctx, bench.Store, sum)
	if err != nil {
		return err
	}
	read, err := bench.Read(ctx, sum.Job)
	if err != nil {
		return err
	}
	job := read.State().Job()
	do(r, proof.Use{Odometer: job.Odometer, EngineHours: job.EngineHours})
	return nil
}

// agedOf gives the tests of a job with their places in the life of the engine.
func agedOf(r proof.Record, was proof.Use) []proof.Aged {
	var all []proof.Aged
	for _, t := range r.Tests {
		if t.Odometer == nil && t.EngineHours == nil && t.Phase == idletest.Before {
			t.Odometer, t.EngineHours = was.Odometer, was.EngineHours
		}
		all = append(all, proof.Aged{Job: report.Name(r.Summary), Test: t, Day: days(t.On, r.Summary)})
	}
	return all
}

// newTestTrendCommand makes `daytank test trend`.
func newTestTrendCommand(a *app) *cobra.Command {
	var asJSON bool
	var o judging
	cmd := &cobra.Command{
		Use:   "trend ASSET",
		Short: "an engine's idle tests over all its jobs",
		Long: `Shows the spread of the corrections of every test of an asset, over all its
jobs, against odometer, engine hours or date. From five tests in one state on it
gives the slope, and when the limit would be reached, where that can be said.`,
		Example: `  daytank test trend VAN-07`,
		Args:    oneArgument("name an asset such as VAN-07"),
		RunE: func(cmd *cobra.Command, args []string) error {
			rules, err := o.rules()
			if err != nil {
				return err
			}
			return a.trend(cmd.Context(), args[0], rules, asJSON)
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "as JSON")
	o.flags(cmd.Flags())
	return a.takesShared(cmd)
}

func (a *app) trend(ctx context.Context, asset string, rules idletest.Rules, asJSON bool) error {
	show, err := a.printer()
	if err != nil {
		return err
	}
	var all []proof.Aged
	err = a.eachRecord(ctx, asset, func(r proof.Record, was proof.Use) { all = append(all, agedOf(r, was)...) })
	if err != nil {
		return err
	}
	if len(all) == 0 {
		return usage("no job of "+strconv.Quote(asset)+" holds an idle test", "daytank jobs --asset "+asset+" lists its jobs")
	}
	life := proof.LifeOf(asset, all, rules)
	if asJSON {
		return writeJSON(a.env.Stdout, life)
	}
	report.LifeText(a.env.Stdout, life, show)
	return nil
}

// days counts the days of a test from 2000-01-01.
func days(on string, sum record.Summary) float64 {
	if on == "" {
		on = sum.Created.Format("2006-01-02")
	}
	day, err := planner.ParseDate(strings.TrimSpace(on))
	if err != nil {
		return 0
	}
	return float64(day.DaysSince(planner.Date{Year: 2000, Month: 1, Day: 1}))
}
