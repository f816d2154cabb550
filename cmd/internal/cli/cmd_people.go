package cli

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"daytank/cmd/internal/people"
	"daytank/cmd/internal/prompt"
)

// newPeopleCommand makes `daytank people`.
func newPeopleCommand(a *app) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "people",
		Short: "those who release hold points, with their PINs",
		Long: `Keeps the list of those who release hold points in this shop. Who has a PIN
types it when a hold point is released, and the record then says that it was
proved; a name alone stands there as named, not proved.`,
		Args: unknownCommand,
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(newPeopleListCommand(a), newPeopleAddCommand(a), newPeopleRemoveCommand(a))
	return cmd
}

// people opens the list.
func (a *app) people() (people.List, error) {
	s, err := a.settings()
	if err != nil {
		return people.List{}, err
	}
	l, err := people.Open(s.People)
	return l, fail(Usage, err)
}

func newPeopleListCommand(a *app) *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use: "list", Short: "list them", Args: noArguments,
		Long:    "Lists those who release hold points, and who of them has a PIN.",
		Example: `  daytank people list`,
		RunE: func(*cobra.Command, []string) error {
			l, err := a.people()
			if err != nil {
				return err
			}
			return a.listPeople(l, asJSON)
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "as JSON")
	return cmd
}

func (a *app) listPeople(l people.List, asJSON bool) error {
	type row struct {
		Name string `json:"name"`
		PIN  bool   `json:"pin"`
	}
	rows := []row{}
	for _, p := range l.All() {
		rows = append(rows, row{p.Name, p.HasPIN()})
	}
	if asJSON {
		return writeJSON(a.env.Stdout, rows)
	}
	if len(rows) == 0 {
		fmt.Fprintln(a.env.Stderr, "nobody is in the list; daytank people add NAME puts somebody in")
		return nil
	}
	table := tabwriter.NewWriter(a.env.Stdout, 0, 0, 2, ' ', 0)
	for _, r := range rows {
		word := "no PIN: named, not proved"
		if r.PIN {
			word = "PIN"
		}
		fmt.Fprintf(table, "%s\t%s\n", prompt.Plain(r.Name), word)
	}
	return table.Flush()
}

func newPeopleAddCommand(a *app) *cobra.Command {
	var without bool
	cmd := &cobra.Command{
		Use:   "add NAME",
		Short: "put somebody into the list",
		Long: `Puts somebody into the list. The PIN is typed twice, at the terminal, and is not
shown; it is kept as a salted hash, in a file that only you can read.`,
		Example: `  daytank people add 'Mara Quill' --without-pin`,
		Args:    oneArgument("name the person"),
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.addPerson(cmd.Context(), args[0], without)
		},
	}
	cmd.Flags().BoolVar(&without, "without-pin", false, "without a PIN: named, not proved")
	return cmd
}

func (a *app) addPerson(ctx context.Context, name string, without bool) error {
	l, err := a.people()
	if err != nil {
		return err
	}
	if _, known := l.Find(name); known {
		return usage(name+" is in the list already", "daytank people remove takes a name out")
	}
	if err := people.CheckName(name); err != nil {
		return fail(Usage, err)
	}
	pin := ""
	if !without {
		if pin, err = a.newPIN(ctx, name); err != nil {
			return err
		}
	}
	if err := l.Add(name, pin); err != nil {
		return fail(codeOf(err), err)
	}
	fmt.Fprintf(a.env.Stdout, "%s is in the list\n", prompt.Plain(name))
	return nil
}

// codeOf gives the status of an error of the list: one of the system's is no wrong usage.
func codeOf(err error) Code {
	var system *fs.PathError
	var link *os.LinkError
	if errors.As(err, &system) || errors.As(err, &link) {
		return Failed
	}
	return Usage
}

// newPIN asks for a PIN twice.
func (a *app) newPIN(ctx context.Context, name string) (string, error) {
	return a.newSecret(ctx, "PIN of "+prompt.Plain(name), "--without-pin adds the name alone")
}

// newSecret asks twice for something that is not shown. Without says what does without it.
func (a *app) newSecret(ctx context.Context, what, without string) (string, error) {
	if !a.env.StdinIsTerminal() {
		return "", fail(Refused, fmt.Errorf("this is typed at a terminal, by the person whose it is: %s", what), without)
	}
	talk := prompt.New(a.env.Stdin, a.env.Stderr, a.env.Sleep)
	first, err := a.secret(ctx, talk, what+" > ")
	if err != nil {
		return "", err
	}
	second, err := a.secret(ctx, talk, "once more > ")
	switch {
	case err != nil:
		return "", err
	case first != second:
		return "", usage("the two are not the same", "nothing was kept; try again")
	case first == "":
		return "", usage("nothing was typed", without)
	}
	return first, nil
}

// secret asks for something that is not shown.
func (a *app) secret(ctx context.Context, talk conversation, question string) (string, error) {
	show, err := a.env.HideTyping()
	if err != nil {
		return "", err
	}
	defer func() {
		show()
		fmt.Fprintln(a.env.Stderr)
	}()
	text, err := talk.Read(ctx, question, 0)
	return text, stopped(err, nothingKept)
}

func newPeopleRemoveCommand(a *app) *cobra.Command {
	return &cobra.Command{
		Use:     "remove NAME",
		Short:   "take somebody out of the list",
		Long:    "Takes somebody out of the list. What they have released stays in the records.",
		Example: `  daytank people remove 'Mara Quill'`,
		Args:    oneArgument("name the person"),
		RunE: func(_ *cobra.Command, args []string) error {
			l, err := a.people()
			if err != nil {
				return err
			}
			if err := l.Remove(args[0]); err != nil {
				return fail(codeOf(err), err, "daytank people list shows who is in it")
			}
			fmt.Fprintf(a.env.Stdout, "%s is no longer in the list\n", prompt.Plain(args[0]))
			return nil
		},
	}
}
