// Package cli is the program as a function: [Run] takes a context, arguments,
// streams and environment and gives the status to end with.
//
// A command is a file of its own with a constructor that takes the [app] and
// gives a cobra command; [constructors] lists them. Commands write results to
// standard output and everything else to standard error. They return errors
// and never print them: a [Failure] where the status is other than 1 or a hint
// helps. What goes wrong before a command starts (flags, arguments, names) is
// wrong usage without its doing.
//
// Settings are read when a command first asks for them, so that --version,
// help and completion work whatever the settings file says, and at once.
package cli

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/signal"
	"slices"
	"strings"
	"syscall"

	"github.com/spf13/cobra"

	"daytank/cmd/internal/prompt"
	"daytank/cmd/internal/settings"
	"daytank/planner/quantity"
	"daytank/planner/strict"
)

// program is the name in messages, whatever the file is called.
const program = "daytank"

// constructors makes the commands, in the order that help shows them.
var constructors = []func(*app) *cobra.Command{
	newNewCommand,
	newPlanCommand,
	newWalkCommand,
	newDoseCommand,
	newJobsCommand,
	newShowCommand,
	newReviewCommand,
	newReportCommand,
	newTestCommand,
	newVerifyCommand,
	newExportCommand,
	newImportCommand,
	newShareCommand,
	newLibraryCommand,
	newDemoCommand,
	newPeopleCommand,
	newSettingsCommand,
	newCheckCommand,
	newCompletionCommand,
}

// Main runs the program in this process and gives the status to end with.
func Main() int {
	cobra.MousetrapHelpText = "" // started by a double click is as good as any
	ctx, stop := untilSignal(context.Background())
	defer stop()
	return Run(ctx, realEnv())
}

// untilSignal gives a context that a signal to stop ends, with a [Signalled]
// as its cause. The second signal does what the system does by default, so
// that a command that hangs can be got rid of. A hangup that the parent process
// chose to ignore stays ignored.
func untilSignal(parent context.Context) (context.Context, func()) {
	ctx, cancel := context.WithCancelCause(parent)
	got := make(chan os.Signal, 1)
	for _, s := range []os.Signal{os.Interrupt, syscall.SIGTERM, syscall.SIGHUP, syscall.SIGQUIT} {
		if s == syscall.SIGQUIT || !signal.Ignored(s) {
			signal.Notify(got, s)
		}
	}
	go func() {
		select {
		case s := <-got:
			cancel(Signalled{s})
		case <-ctx.Done():
		}
		signal.Stop(got)
		signal.Ignore(syscall.SIGQUIT) // which would dump the program, by default
	}()
	return ctx, func() { cancel(nil) }
}

// Run runs one command and gives the status to end with; see [Code].
func Run(ctx context.Context, env Env) int {
	return run(ctx, env, constructors)
}

func run(ctx context.Context, env Env, commands []func(*app) *cobra.Command) int {
	a := &app{env: env.filled()}
	out := &output{Writer: a.env.Stdout}
	a.env.Stdout = out
	if slices.Equal(a.env.Args, []string{"--version"}) { // without building every command first
		fmt.Fprintln(a.env.Stdout, versionLine())
		return int(out.judge(a.env.Stderr))
	}
	a.root = a.newRoot(commands)
	failure := judge(ctx, a.execute(ctx))
	if failure == nil {
		return int(out.judge(a.env.Stderr))
	}
	failure.report(a.env.Stderr)
	return int(failure.Code)
}

// app is what all commands share.
type app struct {
	env     Env
	root    *cobra.Command
	flags   globalFlags
	started bool // the command itself runs: its arguments were good

	loaded *settings.Settings
	talk   *prompt.Line // with the person at the terminal; nil: not begun
}

// globalFlags are the flags that every command takes.
type globalFlags struct {
	config, store, units, operator string
	line, noColor                  bool
	shared                         bool // of the commands that take it: see [app.takesShared]
}

// execute runs the command that the arguments name.
func (a *app) execute(ctx context.Context) error {
	a.root.SetArgs(a.env.Args)
	command, err := a.root.ExecuteContextC(ctx)
	if err == nil || a.started {
		return err
	}
	return misuse(command, err)
}

// newRoot builds the whole tree of commands.
func (a *app) newRoot(commands []func(*app) *cobra.Command) *cobra.Command {
	root := &cobra.Command{
		Use:           program,
		Short:         "plans, walks and proves a concentrate clean of a diesel's injection system",
		Long:          about,
		Version:       versionLine(),
		SilenceErrors: true,
		SilenceUsage:  true,
	}
	root.SetIn(a.env.Stdin)
	root.SetOut(a.env.Stdout)
	root.SetErr(a.env.Stderr)
	a.addGlobalFlags(root)
	dress(root)
	for _, construct := range commands {
		root.AddCommand(construct(a))
	}
	root.RunE = func(cmd *cobra.Command, _ []string) error {
		if a.env.StdinIsTerminal() && a.env.StdoutIsTerminal() {
			return a.start(cmd.Context())
		}
		return cmd.Help()
	}
	root.Args = unknownCommand
	a.prepare(root)
	return root
}

// Commands gives the tree of commands as it is, for whoever describes it. They are
// not for running: there is nothing outside them.
func Commands() *cobra.Command {
	a := &app{env: Env{}.filled()}
	a.root = a.newRoot(constructors)
	return a.root
}

func (a *app) addGlobalFlags(root *cobra.Command) {
	f := root.PersistentFlags()
	f.StringVar(&a.flags.config, "config", "", "settings `FILE` to read instead of the usual one")
	f.StringVar(&a.flags.store, "store", "", "`FILE` that the records are kept in")
	f.StringVar(&a.flags.units, "units", "", "`metric|us`: units that amounts are shown in")
	f.StringVar(&a.flags.operator, "operator", "", "`NAME` of the person at work")
	f.BoolVar(&a.flags.line, "line", false, "plain lines, one question at a time, no full screen")
	f.BoolVar(&a.flags.noColor, "no-color", false, "no colours, as with the variable NO_COLOR")
	f.BoolP("help", "h", false, "show this help")
	root.Flags().Bool("version", false, "show the version")
	_ = root.RegisterFlagCompletionFunc("units", cobra.FixedCompletions([]string{"metric", "us"}, cobra.ShellCompDirectiveNoFileComp))
	_ = root.RegisterFlagCompletionFunc("operator", cobra.NoFileCompletions)
	_ = root.MarkPersistentFlagFilename("config", "yaml", "yml")
}

// settings reads the settings, the first time it is called.
func (a *app) settings() (settings.Settings, error) {
	if a.loaded != nil {
		return *a.loaded, nil
	}
	s, err := settings.Load(settings.Sources{
		Flags:   a.settingFlags(),
		File:    a.flags.config,
		Getenv:  a.env.Getenv,
		Environ: a.env.Environ,
	})
	if err != nil {
		return settings.Settings{}, a.unreadableSettings(err)
	}
	for _, warning := range s.Warnings() {
		fmt.Fprintf(a.env.Stderr, "%s: warning: %s\n", program, prompt.Plain(warning))
	}
	a.loaded = &s
	return s, nil
}

// command gives a command as it is typed to go on with the same records: with the store and
// the settings file that were named for this one.
func (a *app) command(words ...string) string {
	line := program
	for _, w := range words {
		line += " " + shellWord(w)
	}
	for _, flag := range []struct{ name, value string }{{"store", a.flags.store}, {"config", a.flags.config}} {
		if flag.value != "" {
			line += " --" + flag.name + " " + shellWord(flag.value)
		}
	}
	if a.flags.shared {
		line += " --shared"
	}
	return line
}

// takesShared gives a command the flag --shared: it then works on the records that the bays
// share, not on those of this bay.
func (a *app) takesShared(cmd *cobra.Command) *cobra.Command {
	cmd.Flags().BoolVar(&a.flags.shared, "shared", false, "the records that the bays share, see daytank share")
	return cmd
}

// shellWord gives a word as a shell reads it: as it is where it has nothing but what every
// shell takes for itself, else quoted.
func shellWord(word string) string {
	if word != "" && strings.Trim(word, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_./:@,+") == "" {
		return word
	}
	return quoted(word)
}

// settingFlags gives the flags that stand for a setting, as far as given.
func (a *app) settingFlags() map[string]string {
	given := map[string]string{}
	for _, key := range settings.Keys() {
		if flag := a.root.PersistentFlags().Lookup(key.Flag); flag != nil && flag.Changed {
			given[key.Name] = flag.Value.String()
		}
	}
	return given
}

func (a *app) unreadableSettings(err error) error {
	var problems strict.Problems
	hints := []string{"daytank settings --help lists the settings and what they accept"}
	if !errors.As(err, &problems) {
		hints = []string{"--config FILE names another settings file"}
		if a.flags.config != "" {
			hints = []string{"leave out --config to use the settings file in its usual place, or none"}
		}
	}
	return fail(Usage, err, hints...)
}

// printer gives the printer for quantities in the user's units.
func (a *app) printer() (quantity.Printer, error) {
	s, err := a.settings()
	return s.Printer(), err
}

// lineMode tells whether to talk in plain lines: asked for, or no terminal to
// draw on.
func (a *app) lineMode() bool {
	return a.flags.line || !a.env.StdinIsTerminal() || !a.env.StdoutIsTerminal() ||
		a.env.Getenv("TERM") == "dumb"
}

// colour tells whether standard output may have colours.
func (a *app) colour() bool {
	return !a.flags.noColor && a.env.Getenv("NO_COLOR") == "" && a.env.StdoutIsTerminal() &&
		a.env.Getenv("TERM") != "dumb"
}
