package cli

import (
	"context"
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"daytank/cmd/internal/demo"
	"daytank/cmd/internal/prompt"
	"daytank/planner"
	"daytank/procedures"
	"daytank/procedures/checklist/rehearsal"
	"daytank/procedures/report"
	"daytank/procedures/store"
)

// newDemoCommand makes `daytank demo`.
func newDemoCommand(a *app) *cobra.Command {
	var whys, byHand bool
	cmd := &cobra.Command{
		Use:   "demo",
		Short: "plan and walk the demo van, in a store that is thrown away",
		Long: `Plans the clean of an invented van, walks its checklist with an invented person
who answers, and shows and verifies the record. Waits pass at once. Everything
is kept in a store that is thrown away, and is marked as a demonstration; with
--store FILE it is kept there.

With --by-hand you walk it yourself, at a terminal, with a clock that runs sixty
times as fast.`,
		Example: `  daytank demo
  daytank demo --by-hand`,
		Args: noArguments,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return a.demo(cmd.Context(), whys, byHand)
		},
	}
	cmd.Flags().BoolVar(&whys, "whys", false, "also why each step is done")
	cmd.Flags().BoolVar(&byHand, "by-hand", false, "walk it yourself")
	return cmd
}

// fastClock is how much faster the clock runs when the demo is walked by hand.
const fastClock = 60

func (a *app) demo(ctx context.Context, whys, byHand bool) error {
	if byHand && (!a.env.StdinIsTerminal() || !a.env.StdoutIsTerminal()) {
		return fail(Refused, fmt.Errorf("a checklist is walked at a terminal"), "daytank demo, without --by-hand, plays it")
	}
	library, err := procedures.Shipped()
	if err != nil {
		return err
	}
	kept, err := a.demoStore(ctx)
	if err != nil {
		return err
	}
	defer kept.Close()
	w := walker{app: a, store: kept, library: library, whys: whys || byHand, told: map[string]bool{}}
	if byHand {
		s, err := a.settings()
		if err != nil {
			return err
		}
		w.operator = s.Operator
		a.hasten(fastClock)
		w.seat()
	} else {
		clock := demo.NewClock(a.env.Now())
		a.env.Now, a.env.Mono = clock.Now, clock.Mono
		w.operator, w.talk = demo.Operator, &actor{walker: &w, clock: clock}
	}
	return w.demonstrate(ctx)
}

// demoStore gives where the demonstration keeps its record: nowhere beyond its end, unless
// a place is named.
func (a *app) demoStore(ctx context.Context) (store.Store, error) {
	if a.flags.store == "" {
		return store.OpenMemory(), nil
	}
	return store.OpenSQLite(ctx, a.flags.store)
}

// hasten makes the clock run faster.
func (a *app) hasten(times time.Duration) {
	now, mono, sleep := a.env.Now, a.env.Mono, a.env.Sleep
	start, from := now(), mono()
	a.env.Now = func() time.Time { return start.Add((mono() - from) * times) }
	a.env.Mono = func() time.Duration { return from + (mono()-from)*times }
	a.env.Sleep = func(ctx context.Context, d time.Duration) { sleep(ctx, d/times) }
}

// demonstrate plans, walks, shows and verifies.
func (w *walker) demonstrate(ctx context.Context) error {
	out := w.app.env.Stdout
	job, err := planner.ReadJob(demo.VanFile, demo.Van, w.library.Engines(), planner.Date{})
	if err != nil {
		return err
	}
	if err := w.askOperator(ctx); err != nil {
		return err
	}
	w.bench.Demo = true
	planned, err := w.bench.Prepare(job)
	if err != nil {
		return err
	}
	report.PlanText(out, job, planned.Plan, planned.Assessment, &planned.List, w.bench.Printer)
	if w.sitting, err = w.bench.Begin(ctx, planned); err != nil {
		return err
	}
	w.greet()
	if err := w.walk(ctx); err != nil {
		return err
	}
	model, err := showSitting(ctx, w.bench, w.sitting.Summary, w.app)
	if err != nil {
		return err
	}
	fmt.Fprintln(out, "\nThe record:")
	report.JobText(out, model, false, w.bench.Printer)
	if err := w.app.verifyIn(ctx, w.store, nil, ""); err != nil {
		return err
	}
	fmt.Fprintf(out, "\nThat was a demonstration. %s new plans a job of your own; %s demo --by-hand lets you walk this one.\n", program, program)
	return nil
}

// actor is the invented person: it answers as the demonstration would, and lets
// the time pass that an answer takes.
type actor struct {
	walker *walker
	clock  *demo.Clock
}

// ReadFresh is Read: an actor types nothing beforehand.
func (t *actor) ReadFresh(ctx context.Context, question string, wake time.Duration, _ func() time.Duration) (string, error) {
	return t.Read(ctx, question, wake)
}

// Read answers the question that was asked last.
func (t *actor) Read(_ context.Context, question string, wake time.Duration) (string, error) {
	text, takes := rehearsal.Answer(t.walker.asked, t.walker.sitting.State().List())
	if wake > 0 && takes == 0 {
		t.clock.Advance(wake)
		return "", prompt.ErrWake
	}
	t.clock.Advance(takes)
	fmt.Fprintf(t.walker.app.env.Stdout, "%s%s\n", question, text)
	return text, nil
}
