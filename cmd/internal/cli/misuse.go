package cli

import (
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"daytank/planner/strict"
)

// onlyHolds marks a command that does nothing without a further word.
const onlyHolds = "only holds others"

// prepare completes every command below c: one that only holds others refuses
// names it does not know, and all tell the app when they start.
func (a *app) prepare(c *cobra.Command) {
	c.SuggestionsMinimumDistance = 2
	c.SetFlagErrorFunc(flagMisuse)
	if c.HasSubCommands() && !c.Runnable() {
		c.Args = unknownCommand
		c.RunE = func(cmd *cobra.Command, _ []string) error { return incomplete(cmd) }
		c.Annotations = map[string]string{onlyHolds: "yes"}
	}
	if run := c.RunE; run != nil {
		c.RunE = func(cmd *cobra.Command, args []string) error {
			a.started = true
			return run(cmd, args)
		}
	}
	for _, child := range c.Commands() {
		a.prepare(child)
	}
}

// unknownCommand accepts no arguments, on behalf of a command with
// sub-commands.
func unknownCommand(cmd *cobra.Command, args []string) error {
	if len(args) == 0 {
		return nil
	}
	message := fmt.Sprintf("unknown command %q", cmd.CommandPath()+" "+args[0])
	if near := cmd.SuggestionsFor(args[0]); len(near) > 0 {
		return usage(message, fmt.Sprintf("did you mean %s?", strings.Join(near, " or ")))
	}
	return usage(message, helpFor(cmd))
}

// incomplete answers a command that needs one of its sub-commands.
func incomplete(cmd *cobra.Command) error {
	names := commandNames(cmd, nil)
	return usage(cmd.CommandPath()+": a further word is missing", "choose one of "+strings.Join(names, ", "), helpFor(cmd))
}

// flagMisuse explains a flag that cannot be taken. Cobra reads flags before it
// looks at arguments; a misspelt command with a flag of its own is about the
// command, not the flag.
func flagMisuse(cmd *cobra.Command, err error) error {
	if cmd.HasSubCommands() {
		if wrong := cmd.ValidateArgs(cmd.Flags().Args()); wrong != nil {
			return wrong
		}
	}
	var unknown *pflag.NotExistError
	if errors.As(err, &unknown) && unknown.GetSpecifiedShortnames() == "" {
		if near := nearestFlag(cmd, unknown.GetSpecifiedName()); near != "" {
			return fail(Usage, err, fmt.Sprintf("did you mean --%s?", near))
		}
	}
	return fail(Usage, err, helpFor(cmd))
}

func nearestFlag(cmd *cobra.Command, name string) string {
	var names []string
	cmd.Flags().VisitAll(func(f *pflag.Flag) {
		if !f.Hidden {
			names = append(names, f.Name)
		}
	})
	return strict.Nearest(name, names)
}

// misuse makes sure that what cobra refuses before a command starts is wrong
// usage, with a hint.
func misuse(cmd *cobra.Command, err error) error {
	var known *Failure
	if errors.As(err, &known) {
		return err
	}
	return fail(Usage, err, helpFor(cmd))
}

func helpFor(cmd *cobra.Command) string {
	return cmd.CommandPath() + " --help says how it is called"
}

// noArguments accepts none, on behalf of a command without sub-commands.
func noArguments(cmd *cobra.Command, args []string) error {
	if len(args) == 0 {
		return nil
	}
	return usage(fmt.Sprintf("%s takes no argument, %q is one too many", cmd.CommandPath(), args[0]), helpFor(cmd))
}
