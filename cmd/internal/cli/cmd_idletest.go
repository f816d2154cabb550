package cli

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"
	"unicode"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"daytank/cmd/internal/prompt"
	"daytank/planner/idletest"
	"daytank/procedures/proof"
	"daytank/procedures/record"
	"daytank/procedures/store"
	"daytank/safety"
)

// newTestCommand makes `daytank test` and what is below it.
func newTestCommand(a *app) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "test",
		Short: "idle tests: did the clean do anything",
		Long: `Idle tests before and after a clean. Let the engine idle for ten minutes, cold
and again warm, before the clean and some days and a few hundred kilometres
after it; each cylinder's correction is compared with itself, hot with hot and
cold with cold.

A test comes from a log (add), is typed minute by minute (add without a file),
or is read live (read). What cannot be compared is said to be so, and why.`,
	}
	cmd.AddCommand(newTestAddCommand(a), newTestReadCommand(a), newTestCompareCommand(a), newTestDueCommand(a), newTestTrendCommand(a))
	return cmd
}

// judging are the flags about what is compared and by which rules.
type judging struct {
	delta, limit, fine float64
}

func (j *judging) flags(f *pflag.FlagSet) {
	f.Float64Var(&j.delta, "delta", 0, "the `CHANGE` that matters; 0.5 mm3/stroke unless set")
	f.Float64Var(&j.limit, "limit", 0, "the engine maker's `LIMIT`; 5 mm3/stroke unless set")
	f.Float64Var(&j.fine, "fine", 0, "up to this `VALUE` it is fine; 3 mm3/stroke unless set")
}

func (j judging) rules() (idletest.Rules, error) {
	for name, v := range map[string]float64{"delta": j.delta, "limit": j.limit, "fine": j.fine} {
		if !(v >= 0 && v <= 1e4) {
			return idletest.Rules{}, usage(fmt.Sprintf("--%s %g is not above zero", name, v))
		}
	}
	return idletest.Rules{Margin: j.delta, Limit: j.limit, Fine: j.fine, Makers: j.limit > 0}, nil
}

// changes are the flags about what else was changed between the tests.
type changes struct {
	changed, resets []string
	driven          bool
}

func (c *changes) flags(f *pflag.FlagSet) {
	f.StringArrayVar(&c.changed, "changed", nil, "`WHAT` else was changed between the tests, such as 'oil changed'; may be repeated")
	f.StringArrayVar(&c.resets, "reset", nil, "`WHAT` made the control unit forget, such as 'battery off'; may be repeated")
	f.BoolVar(&c.driven, "driven", false, "it was driven since the --reset")
}

func (c changes) list() ([]idletest.Intervening, error) {
	if c.driven && len(c.resets) == 0 {
		return nil, usage("--driven goes with --reset", "such as --reset 'battery off' --driven")
	}
	var all []idletest.Intervening
	for _, what := range c.changed {
		all = append(all, idletest.Intervening{What: what})
	}
	for _, what := range c.resets {
		all = append(all, idletest.Intervening{What: what, Reset: true, Drive: c.driven})
	}
	for _, x := range all {
		if strings.TrimSpace(x.What) == "" || len(x.What) > 200 || prompt.Plain(x.What) != x.What {
			return nil, usage(fmt.Sprintf("%q is no short text that says what was changed", prompt.Plain(x.What)))
		}
	}
	return all, nil
}

// operatorOr gives who is at work: by flag or setting, else asked for.
func (a *app) operatorOr(ctx context.Context, talk conversation) (string, error) {
	s, err := a.settings()
	if err != nil {
		return "", err
	}
	if name := cmp.Or(a.flags.operator, s.Operator); name != "" {
		return name, nil
	}
	if talk == nil {
		return "", usage("nobody is named as the one at work", "--operator NAME, or the setting operator")
	}
	name, err := a.askName(ctx, talk, "Who does the work?")
	if err != nil {
		return "", stopped(err, nothingKept)
	}
	return name, nil
}

// askName asks who is there. A word that is no name, such as yes, is none.
func (a *app) askName(ctx context.Context, talk conversation, question string) (string, error) {
	fmt.Fprintln(a.env.Stdout, question+" Your name stands in the record.")
	for {
		name, err := talk.Read(ctx, "your name > ", 0)
		if err != nil {
			return "", err
		}
		if name = prompt.Plain(name); !safety.TooEasy(name) && strings.ContainsFunc(name, unicode.IsLetter) {
			return name, nil
		}
	}
}

// recordOf reads a job with its tests.
func recordOf(ctx context.Context, kept store.Store, sum record.Summary) (proof.Record, error) {
	events, err := kept.Events(ctx, sum.Job)
	if err != nil {
		return proof.Record{}, err
	}
	return proof.Of(sum, events, func(h record.Hash) ([]byte, error) { return kept.Blob(ctx, h) })
}

// optionalFlag reads a flag with a unit; empty gives nil.
func optionalFlag[T any](name, text string, parse func(string) (T, error), hint string) (*T, error) {
	if text == "" {
		return nil, nil
	}
	v, err := parse(text)
	if err != nil {
		return nil, usage(fmt.Sprintf("--%s: %v", name, err), hint)
	}
	return &v, nil
}

// testLabel names a test as people say it.
func testLabel(t idletest.Test) string {
	return fmt.Sprintf("%s, %s, run %d", t.Phase, t.State, t.Run)
}

// runsLike counts the tests of a phase and state.
func runsLike(tests []idletest.Test, phase idletest.Phase, state idletest.State) int {
	n := 0
	for _, t := range tests {
		if t.Phase == phase && t.State == state {
			n++
		}
	}
	return n
}

// conditionNames are the conditions of a test, in the order they are said.
var conditionNames = []string{"gear", "air-conditioning", "fuel", "filter", "oil", "lights"}

// readConditions reads NAME=VALUE pairs.
func readConditions(pairs []string) (map[string]string, error) {
	conditions := map[string]string{}
	for _, pair := range pairs {
		name, value, ok := strings.Cut(pair, "=")
		name, value = strings.TrimSpace(name), strings.TrimSpace(value)
		switch {
		case !ok || name == "" || value == "" || len(value) > 100 || prompt.Plain(value) != value:
			return nil, usage(fmt.Sprintf("condition %q is not NAME=VALUE", prompt.Plain(pair)), "such as gear=neutral")
		case !slices.Contains(conditionNames, name):
			return nil, usage(fmt.Sprintf("condition %q is not known", prompt.Plain(name)), "conditions are "+strings.Join(conditionNames, ", "))
		}
		conditions[name] = value
	}
	return conditions, nil
}

// talkIfTerminal gives a conversation where a person sits at both ends.
func (a *app) talkIfTerminal() conversation {
	if !a.env.StdinIsTerminal() || !a.env.StdoutIsTerminal() {
		return nil
	}
	if a.talk == nil {
		a.talk = prompt.New(a.env.Stdin, a.env.Stdout, a.env.Sleep)
	}
	return a.talk
}
