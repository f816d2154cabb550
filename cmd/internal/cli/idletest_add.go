package cli

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"daytank/cmd/internal/prompt"
	"daytank/planner"
	"daytank/planner/idletest"
	"daytank/planner/quantity"
	"daytank/procedures/proof"
	"daytank/procedures/record"
	"daytank/procedures/report"
	"daytank/procedures/store"
)

// addOptions are the flags of `daytank test add` and `read`.
type addOptions struct {
	before, after, hot, cold   bool
	on, odometer, hours        string
	ambient                    string
	conditions                 []string
	leakOff, opacity           string
	notMeasurable, keep, fresh bool
	log                        logOptions
	changes                    changes
	asJSON                     bool
}

func (o *addOptions) flags(f *pflag.FlagSet) {
	f.BoolVar(&o.before, "before", false, "a test before the clean")
	f.BoolVar(&o.after, "after", false, "a test after it")
	f.BoolVar(&o.hot, "hot", false, "the engine was warm, coolant at 75 °C or more")
	f.BoolVar(&o.cold, "cold", false, "the engine had stood overnight")
	f.StringVar(&o.on, "on", "", "`DAY` of the test, such as 2026-03-14; today unless set")
	f.StringVar(&o.odometer, "odometer", "", "`DISTANCE` on the odometer, such as '148500 km'")
	f.StringVar(&o.hours, "engine-hours", "", "`HOURS` of the engine, such as '3120 h'")
	f.StringVar(&o.ambient, "ambient", "", "`TEMPERATURE` of the air, for a cold test")
	f.StringArrayVar(&o.conditions, "condition", nil, "`NAME=VALUE` to be the same again, such as gear=neutral")
	f.BoolVar(&o.keep, "keep", false, "keep it also where it cannot be compared")
	o.changes.flags(f)
	f.BoolVar(&o.asJSON, "json", false, "as JSON")
}

// newTestAddCommand makes `daytank test add`.
func newTestAddCommand(a *app) *cobra.Command {
	var o addOptions
	cmd := &cobra.Command{
		Use:   "add JOB [LOG]",
		Short: "add an idle test to a job, from a log or typed",
		Long: `Adds an idle test to the record of a job: from a log, or typed minute by minute
where no log is named. Whether it was before or after the clean is taken from
the record, whether hot or cold from the coolant, unless it is said.

The samples are kept in the record, with the digest of the log as it was. A test
that could not be compared is kept only when that is wanted.`,
		Example: `  daytank test add VAN-07/3 before.csv
  daytank test add VAN-07/3 after.csv --after --condition gear=neutral
  daytank test add VAN-07/3 --after --leak-off '24 mL, 25 mL, 23 mL, 26 mL'`,
		Args:              oneOrTwo("name a job such as VAN-07/3, and the log if there is one"),
		RunE:              func(cmd *cobra.Command, args []string) error { return a.addTest(cmd.Context(), args, o) },
		ValidArgsFunction: a.completeJobOrFile,
	}
	f := cmd.Flags()
	o.flags(f)
	o.log.flags(f)
	f.StringVar(&o.leakOff, "leak-off", "", "`VOLUMES` from the measuring bottles, by cylinder")
	f.StringVar(&o.opacity, "opacity", "", "`VALUE` of a smoke meter, in 1/m")
	f.BoolVar(&o.notMeasurable, "not-measurable", false, "this engine shows nothing that could be compared")
	f.BoolVar(&o.fresh, "fresh", false, "begin anew where a test was left half typed")
	return a.takesShared(cmd)
}

// adding is a test on its way into a record.
type adding struct {
	app    *app
	o      addOptions
	kept   store.Store
	sum    record.Summary
	known  proof.Record
	job    planner.Job
	talk   conversation
	by     string
	source proof.Source
}

// begin opens the job that a test is added to.
func (a *app) begin(ctx context.Context, name string, o addOptions) (*adding, func() error, error) {
	if o.before && o.after || o.hot && o.cold {
		return nil, nil, usage("a test is before or after the clean, and hot or cold")
	}
	kept, err := a.openStore(ctx)
	if err != nil {
		return nil, nil, err
	}
	t := &adding{app: a, o: o, kept: kept, talk: a.talkIfTerminal()}
	err = func() error {
		if t.sum, err = findJob(ctx, kept, name); err != nil {
			return err
		}
		if t.known, err = recordOf(ctx, kept, t.sum); err != nil {
			return err
		}
		bench, err := a.benchOf(kept)
		if err != nil {
			return err
		}
		sitting, err := bench.Read(ctx, t.sum.Job)
		if err != nil {
			return err
		}
		t.job = sitting.State().Job()
		t.by, err = a.operatorOr(ctx, t.talk)
		return err
	}()
	if err != nil {
		return nil, nil, errors.Join(err, kept.Close())
	}
	return t, kept.Close, nil
}

func (a *app) addTest(ctx context.Context, args []string, o addOptions) error {
	t, done, err := a.begin(ctx, args[0], o)
	if err != nil {
		return err
	}
	defer a.exchange(ctx, patienceAfter)
	defer done()
	test := idletest.Test{Measure: idletest.Corrections, Unit: idletest.CubicMillimetres}
	forget := func() error { return nil }
	switch {
	case len(args) == 2:
		read, err := a.readLog(ctx, args[1], o.log, t.talk)
		if err != nil {
			return err
		}
		if test, err = o.log.test(read, "", "", 0); err != nil {
			return err
		}
		t.source = read.source
	case o.notMeasurable:
		test.Measure = idletest.None
	case o.leakOff != "" || o.opacity != "":
		if test, err = t.singles(); err != nil {
			return err
		}
	case t.talk == nil:
		return usage("name a log, or type the test at a terminal", fmt.Sprintf("daytank test add %s LOG", args[0]))
	default:
		if test, forget, err = t.typed(ctx, false); err != nil {
			return err
		}
	}
	if err := t.keep(ctx, test); err != nil {
		return err
	}
	return forget()
}

// singles reads the values of measuring bottles or of a smoke meter.
func (t *adding) singles() (idletest.Test, error) {
	test := idletest.Test{Measure: idletest.LeakOff, Unit: idletest.Millilitres, State: idletest.Hot}
	if t.o.leakOff != "" && t.o.opacity != "" {
		return test, usage("one test measures the leak-off or the opacity")
	}
	if t.o.opacity != "" {
		test.Measure, test.Unit = idletest.Opacity, idletest.PerMetre
		var v float64
		text := strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(t.o.opacity), "1/m"))
		if n, err := fmt.Sscanf(text+"\n", "%g\n", &v); n != 1 || err != nil || !(v >= 0 && v <= 20) {
			return test, usage(fmt.Sprintf("--opacity %q is no value from 0 to 20 1/m", prompt.Plain(t.o.opacity)), "such as --opacity '1.2 1/m'")
		}
		test.Single = []float64{v}
		return test, nil
	}
	for text := range strings.SplitSeq(t.o.leakOff, ",") {
		v, err := quantity.ParseVolume(strings.TrimSpace(text))
		if err != nil || v < 0 || v > quantity.Litres(5) {
			return test, usage(fmt.Sprintf("--leak-off: %q is no volume from 0 to 5 L", prompt.Plain(text)), "one volume a cylinder, such as '24 mL, 25 mL, 23 mL, 26 mL'")
		}
		test.Single = append(test.Single, v.Millilitres())
	}
	if n := t.job.Engine.Cylinders; len(test.Single) != n {
		return test, usage(fmt.Sprintf("--leak-off has %d volumes, and the engine %d cylinders", len(test.Single), n))
	}
	return test, nil
}

// keep fills in what was asked about the test, judges it, and stores it.
func (t *adding) keep(ctx context.Context, test idletest.Test) error {
	if err := t.fill(ctx, &test); err != nil {
		return err
	}
	between, err := t.o.changes.list()
	if err != nil {
		return err
	}
	if n, z := len(test.Samples.Corrections), t.job.Engine.Cylinders; test.Measure == idletest.Corrections && n != z && !t.o.keep {
		return usage(fmt.Sprintf("the test has corrections of %d cylinders, and the engine of %s has %d", n, report.Name(t.sum), z),
			"is this the log of another engine? --keep keeps it all the same")
	}
	test.Run = runsLike(t.known.Tests, test.Phase, test.State) + 1
	reduced := idletest.Reduce(test, idletest.Rules{})
	show, err := t.app.printer()
	if err != nil {
		return err
	}
	if bad := len(reduced.Reasons) > 0 && test.Measure != idletest.None; bad && !t.o.keep {
		if err := t.anyway(ctx, reduced, show); err != nil {
			return err
		}
	}
	library, err := t.app.books()
	if err != nil {
		return err
	}
	bench, err := t.app.bench(t.kept, library, t.by)
	if err != nil {
		return err
	}
	body, blob := proof.Added(test, t.source, between)
	var blobs []record.Blob
	if blob != nil {
		blobs = append(blobs, blob)
	}
	if _, err := bench.Add(ctx, t.sum.Job, body, blobs...); err != nil {
		return err
	}
	if t.o.asJSON {
		return writeJSON(t.app.env.Stdout, reduced)
	}
	fmt.Fprintf(t.app.env.Stdout, "%s: %s: kept\n", report.Name(t.sum), testLabel(test))
	report.ReducedText(t.app.env.Stdout, reduced, show)
	return nil
}

// anyway asks whether a test that could not be compared is kept all the same.
func (t *adding) anyway(ctx context.Context, r idletest.Reduced, show quantity.Printer) error {
	var all []error
	for _, x := range r.Reasons {
		all = append(all, errors.New("it could not be compared: "+show.Phrase(x.Say)))
	}
	nothing := fail(Usage, errors.Join(all...), "nothing was kept; --keep keeps it all the same")
	if t.talk == nil {
		return nothing
	}
	for _, err := range all {
		fmt.Fprintln(t.app.env.Stdout, report.Wrap(err.Error(), "", 79))
	}
	text, err := t.talk.Read(ctx, "keep it all the same? yes or no > ", 0)
	if err != nil {
		return stopped(err, nothingKept)
	}
	if !strings.EqualFold(text, "yes") {
		return fail(Stopped, errors.New(nothingKept))
	}
	return nil
}

// fill says when the test was, hot or cold, and under which conditions.
func (t *adding) fill(ctx context.Context, test *idletest.Test) error {
	o := t.o
	test.Asset = t.sum.Asset
	now := t.app.env.Now()
	test.On = planner.Date{Year: now.Year(), Month: int(now.Month()), Day: now.Day()}.String()
	if o.on != "" {
		day, err := planner.ParseDate(o.on)
		if err != nil {
			return usage("--on: "+err.Error(), "such as --on 2026-03-14")
		}
		test.On = day.String()
	}
	var err error
	if test.Odometer, err = optionalFlag("odometer", o.odometer, quantity.ParseDistance, "such as --odometer '148500 km'"); err != nil {
		return err
	}
	if test.EngineHours, err = optionalFlag("engine-hours", o.hours, quantity.ParseDuration, "such as --engine-hours '3120 h'"); err != nil {
		return err
	}
	if test.Ambient, err = optionalFlag("ambient", o.ambient, quantity.ParseTemperature, "such as --ambient '11 °C'"); err != nil {
		return err
	}
	t.place(test)
	if test.Conditions, err = readConditions(o.conditions); err != nil {
		return err
	}
	return t.ask(ctx, test)
}

// place says whether a test was before or after the clean, hot or cold: as said, else
// as the record and the coolant show.
func (t *adding) place(test *idletest.Test) {
	switch {
	case t.o.before:
		test.Phase = idletest.Before
	case t.o.after, t.known.Ended != nil:
		test.Phase = idletest.After
	default:
		test.Phase = idletest.Before
	}
	if test.Phase == idletest.Before && test.Odometer == nil && test.EngineHours == nil {
		test.Odometer, test.EngineHours = t.job.Odometer, t.job.EngineHours
	}
	coolant := test.Samples.Coolant
	switch {
	case t.o.hot:
		test.State = idletest.Hot
	case t.o.cold:
		test.State = idletest.Cold
	case coolant.Len() > 0 && coolant.V[0] < 50: // half way between: nobody begins a test there on purpose
		test.State = idletest.Cold
	default:
		test.State = idletest.Hot
	}
	if test.State == idletest.Cold && test.Ambient == nil && test.Phase == idletest.Before {
		ambient := t.job.Site.Ambient
		test.Ambient = &ambient
	}
}

// ask asks, at a terminal, for what the follow-up has to meet again.
func (t *adding) ask(ctx context.Context, test *idletest.Test) error {
	var earlier *idletest.Test
	for i := range t.known.Tests {
		if t.known.Tests[i].Phase == idletest.Before || earlier == nil {
			earlier = &t.known.Tests[i]
		}
	}
	if test.Sign == "" && earlier != nil {
		test.Sign = earlier.Sign
	}
	if t.talk == nil || test.Measure == idletest.None || test.Measure.Single() {
		return nil
	}
	if test.Sign == "" && test.Measure == idletest.Corrections && earlier == nil {
		text, err := t.talk.Read(ctx, "a positive correction: adds fuel or takes it away? adds, takes, Enter if not known > ", 0)
		if err != nil {
			return stopped(err, nothingKept)
		}
		test.Sign = signWords[strings.ToLower(text)]
	}
	if len(test.Conditions) > 0 {
		return nil
	}
	question := "conditions, such as gear=neutral air-conditioning=off; Enter for none > "
	if test.Phase == idletest.After && earlier != nil && len(earlier.Conditions) > 0 {
		question = fmt.Sprintf("conditions; Enter if as before, %s > ", conditionsText(earlier.Conditions))
	}
	for {
		text, err := t.talk.Read(ctx, question, 0)
		if err != nil {
			return stopped(err, nothingKept)
		}
		if text == "" {
			if test.Phase == idletest.After && earlier != nil {
				test.Conditions = earlier.Conditions
			}
			return nil
		}
		if test.Conditions, err = readConditions(strings.Fields(text)); err == nil {
			return nil
		}
		fmt.Fprintln(t.app.env.Stdout, err)
	}
}

func conditionsText(conditions map[string]string) string {
	var pairs []string
	for _, name := range conditionNames {
		if v := conditions[name]; v != "" {
			pairs = append(pairs, name+"="+v)
		}
	}
	return strings.Join(pairs, " ")
}
