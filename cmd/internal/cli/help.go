package cli

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

const about = `daytank plans, walks and proves a concentrate clean of a diesel's injection
system: the engine is taken off its own tank and idles on cleaning fluid from a
small container.`

func init() {
	// Help shows commands in the order of the work, not of the alphabet.
	cobra.EnableCommandSorting = false
}

// dress gives the tree our own help, version line and completion command
// instead of cobra's.
func dress(root *cobra.Command) {
	root.SetVersionTemplate("{{.Version}}\n")
	root.CompletionOptions.DisableDefaultCmd = true
	root.SetHelpCommand(newHelpCommand())
	root.SetHelpFunc(func(cmd *cobra.Command, _ []string) {
		writeHelp(cmd.OutOrStdout(), cmd)
	})
	root.SetUsageFunc(func(cmd *cobra.Command) error {
		writeHelp(cmd.OutOrStderr(), cmd)
		return nil
	})
}

// newHelpCommand makes `daytank help COMMAND`, the same as COMMAND --help.
func newHelpCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "help [COMMAND]",
		Short: "show how a command is called",
		ValidArgsFunction: func(cmd *cobra.Command, args []string, begun string) ([]string, cobra.ShellCompDirective) {
			names := slices.DeleteFunc(commandNames(cmd.Root(), args), func(name string) bool {
				return !strings.HasPrefix(name, begun)
			})
			return names, cobra.ShellCompDirectiveNoFileComp
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			about, rest, err := cmd.Root().Find(args)
			if err != nil || len(rest) > 0 {
				return unknownCommand(about, rest)
			}
			return about.Help()
		},
	}
}

// commandNames gives the commands that may follow the words of a command.
func commandNames(root *cobra.Command, words []string) []string {
	at, _, err := root.Find(words)
	if err != nil {
		return nil
	}
	var names []string
	for _, child := range at.Commands() {
		if child.IsAvailableCommand() {
			names = append(names, child.Name())
		}
	}
	return names
}

// shells are those that [WriteCompletion] knows.
var shells = []string{"bash", "zsh", "fish", "powershell"}

// newCompletionCommand makes the scripts that teach a shell our commands.
func newCompletionCommand(*app) *cobra.Command {
	return &cobra.Command{
		Use:   "completion " + strings.Join(shells, "|"),
		Short: "print a script that completes commands in your shell",
		Long: `Prints a script that lets the shell complete commands, flags and their values
when Tab is pressed. For one session of bash: source <(daytank completion bash)`,
		ValidArgs: shells,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) == 1 {
				return nil
			}
			return usage(cmd.CommandPath()+": name one shell", chooseShell())
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			return WriteCompletion(cmd.OutOrStdout(), cmd.Root(), args[0])
		},
	}
}

// WriteCompletion writes the script that teaches a shell the commands below root.
func WriteCompletion(w io.Writer, root *cobra.Command, shell string) error {
	switch shell {
	case "bash":
		return root.GenBashCompletionV2(w, true)
	case "zsh":
		return root.GenZshCompletion(w)
	case "fish":
		return root.GenFishCompletion(w, true)
	case "powershell":
		return root.GenPowerShellCompletionWithDesc(w)
	}
	return usage(fmt.Sprintf("no completion for shell %q", shell), chooseShell())
}

func chooseShell() string { return "choose one of " + strings.Join(shells, ", ") }

// writeHelp writes what a command is for and how it is called.
func writeHelp(w io.Writer, cmd *cobra.Command) {
	text := cmd.Long
	if text == "" {
		text = cmd.Short
	}
	fmt.Fprintf(w, "%s\n\n", text)
	fmt.Fprintf(w, "call it as\n")
	for _, call := range Calls(cmd) {
		fmt.Fprintf(w, "  %s\n", call)
	}
	writeCommands(w, cmd)
	if cmd.Example != "" {
		fmt.Fprintf(w, "\nfor example\n%s\n", strings.TrimRight(cmd.Example, "\n"))
	}
	own, shared := cmd.LocalFlags(), cmd.InheritedFlags()
	if !cmd.HasParent() {
		own, shared = splitRootFlags(cmd)
	}
	writeFlags(w, "its flags", own)
	writeFlags(w, "flags of every command", shared)
	if !cmd.HasParent() {
		writeCodes(w)
	}
}

// Calls gives how a command is called, a line for each way.
func Calls(cmd *cobra.Command) []string {
	var calls []string
	if cmd.Runnable() && cmd.Annotations[onlyHolds] == "" {
		calls = append(calls, strings.TrimSuffix(cmd.UseLine(), " [flags]"))
	}
	if cmd.HasAvailableSubCommands() {
		calls = append(calls, cmd.CommandPath()+" COMMAND")
	}
	return calls
}

func writeCommands(w io.Writer, cmd *cobra.Command) {
	if !cmd.HasAvailableSubCommands() {
		return
	}
	fmt.Fprint(w, "\ncommands\n")
	for _, child := range cmd.Commands() {
		if child.IsAvailableCommand() {
			fmt.Fprintf(w, "  %-*s  %s\n", cmd.Commands()[0].NamePadding(), child.Name(), child.Short)
		}
	}
}

// splitRootFlags tells the flags of the program alone from those of all its
// commands, which cobra counts as the program's own too.
func splitRootFlags(root *cobra.Command) (own, shared *pflag.FlagSet) {
	own = pflag.NewFlagSet(program, pflag.ContinueOnError)
	shared = root.PersistentFlags()
	root.LocalFlags().VisitAll(func(f *pflag.Flag) {
		if shared.Lookup(f.Name) == nil {
			own.AddFlag(f)
		}
	})
	return own, shared
}

func writeFlags(w io.Writer, title string, flags *pflag.FlagSet) {
	if flags.HasAvailableFlags() {
		fmt.Fprintf(w, "\n%s\n%s", title, flags.FlagUsagesWrapped(defaultWidth))
	}
}

func writeCodes(w io.Writer) {
	fmt.Fprint(w, "\nit ends with status\n")
	for _, c := range codes {
		fmt.Fprintf(w, "  %d  %s\n", c.Code, c.Meaning)
	}
}
