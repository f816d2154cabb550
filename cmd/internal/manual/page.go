package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"daytank/cmd/internal/cli"
	"daytank/cmd/internal/settings"
)

// pageName gives the name of a command's page, under which man finds it by its
// words too.
func pageName(c *cobra.Command) string { return strings.ReplaceAll(c.CommandPath(), " ", "-") }

// page writes the manual page of a command.
func page(c *cobra.Command, of issue) []byte {
	var r roff
	r.header(pageName(c), of)
	r.section("NAME")
	r.raw(escaped(pageName(c)) + ` \- ` + escaped(c.Short))
	r.section("SYNOPSIS")
	synopsis(&r, c)
	r.section("DESCRIPTION")
	r.prose(describedAs(c))
	commands(&r, c)
	options(&r, "OPTIONS", c.LocalNonPersistentFlags())
	options(&r, "OPTIONS OF EVERY COMMAND", c.PersistentFlags())
	if c.Example != "" {
		r.section("EXAMPLES")
		r.verbatim(outdented(strings.Split(strings.Trim(c.Example, "\n"), "\n")))
	}
	status(&r)
	if !c.HasParent() {
		environment(&r)
		files(&r)
	}
	seeAlso(&r, c)
	return r.Bytes()
}

func describedAs(c *cobra.Command) string {
	if c.Long != "" {
		return c.Long
	}
	return strings.ToUpper(c.Short[:1]) + c.Short[1:] + "."
}

// synopsis shows each way in which a command is called.
func synopsis(r *roff, c *cobra.Command) {
	var lines []string
	for _, call := range cli.Calls(c) {
		rest := strings.TrimPrefix(call, c.CommandPath())
		lines = append(lines, bold(c.CommandPath())+" ["+italic("option")+" ...]"+escaped(rest))
	}
	r.raw(strings.Join(lines, "\n.br\n"))
}

func commands(r *roff, c *cobra.Command) {
	if !c.HasAvailableSubCommands() {
		return
	}
	r.section("COMMANDS")
	for _, child := range c.Commands() {
		if child.IsAvailableCommand() {
			r.entry(reference(child), child.Short)
		}
	}
}

func options(r *roff, title string, flags *pflag.FlagSet) {
	if !flags.HasAvailableFlags() {
		return
	}
	r.section(title)
	flags.VisitAll(func(f *pflag.Flag) {
		if f.Hidden {
			return
		}
		value, usage := pflag.UnquoteUsage(f)
		term := bold("--" + f.Name)
		if f.Shorthand != "" {
			term = bold("-"+f.Shorthand) + ", " + term
		}
		if value != "" {
			term += " " + italic(value)
		}
		if standard := shownDefault(f); standard != "" {
			usage += " (default: " + standard + ")"
		}
		r.entry(term, strings.TrimPrefix(usage, value+": "))
	})
}

// shownDefault gives the value an option has unless given; empty where that is
// nothing.
func shownDefault(f *pflag.Flag) string {
	switch f.DefValue {
	case "", "false", "0", "0s", "[]":
		return ""
	}
	return f.DefValue
}

func status(r *roff) {
	r.section("EXIT STATUS")
	for _, c := range cli.Codes() {
		r.entry(bold(fmt.Sprint(int(c.Code))), c.Meaning)
	}
}

// environment lists the variables; those of the settings come from their table.
func environment(r *roff) {
	r.section("ENVIRONMENT")
	for _, key := range settings.Keys() {
		r.entry(bold(key.Env()), fmt.Sprintf("the setting %s: %s", key.Name, meaning(key)))
	}
	for _, v := range []struct{ name, meaning string }{
		{"NO_COLOR", "not empty: no colours"},
		{"TERM", "dumb: plain lines instead of a full screen"},
		{"SSH_AUTH_SOCK", "the agent that signs where there is no signing key"},
		{"XDG_CONFIG_HOME", "folder for configuration; ~/.config where not set, ~/Library/Application Support on macOS, %LOCALAPPDATA% on Windows"},
		{"XDG_DATA_HOME", "folder for data; ~/.local/share where not set, on macOS and Windows the one for configuration"},
	} {
		r.entry(bold(v.name), v.meaning)
	}
}

func meaning(key settings.Key) string {
	text := key.Doc
	if len(key.Accepted) > 0 {
		text += "; " + strings.Join(key.Accepted, " or ")
	}
	return fmt.Sprintf("%s (default: %s)", text, key.Default)
}

func files(r *roff) {
	r.section("FILES")
	r.entry(italic(settings.FilePlace()), "the settings; see daytank-settings(1)")
	for _, key := range settings.Keys() {
		if place := key.Place(); place != "" {
			r.entry(italic(place), fmt.Sprintf("%s; moved by the setting %s", key.Doc, key.Name))
		}
	}
}

// seeAlso names the page above, those beside it and, for the program, none: its
// commands are listed already.
func seeAlso(r *roff, c *cobra.Command) {
	if !c.HasParent() {
		return
	}
	r.section("SEE ALSO")
	pages := []string{reference(c.Parent())}
	if c.Parent().HasParent() {
		pages = append(pages, reference(c.Root()))
		for _, beside := range c.Parent().Commands() {
			if beside != c && beside.IsAvailableCommand() {
				pages = append(pages, reference(beside))
			}
		}
	}
	r.raw(strings.Join(pages, ",\n"))
	r.paragraph()
	r.line("The options of every command, the environment and the files are described in " + pageName(c.Root()) + "(1).")
}

// reference names the page of a command.
func reference(c *cobra.Command) string { return bold(pageName(c)) + "(1)" }
