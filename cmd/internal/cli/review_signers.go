package cli

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"daytank/cmd/internal/prompt"
	"daytank/cmd/internal/signing"
	"daytank/cmd/internal/whole"
	"daytank/procedures/record"
)

func newSignersCommand(a *app) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "signers",
		Short: "those who may sign off jobs",
		Long: `Keeps the list of those who may sign off jobs, in the file of the setting
review_signers: a file of the form of OpenSSH's allowed signers. In a shop that
file belongs to the shop and can be read, not written, from the bays.`,
		Args: unknownCommand,
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(newSignersNewCommand(a), newSignersListCommand(a))
	return cmd
}

func newSignersNewCommand(a *app) *cobra.Command {
	var without bool
	cmd := &cobra.Command{
		Use:   "new NAME",
		Short: "make a key and put it on the list",
		Long: `Makes a key in the file of the setting signing_key, readable by you only, and
adds its public half to the list of signers, for signing off jobs and nothing
else. The passphrase is typed twice and kept nowhere. Where the list cannot be
written, the line that belongs into it is shown instead.

A key that you have already, in a file or an agent, needs no new one: put its
public half on the list by hand.`,
		Example: `  daytank review signers new 'Ines Holm' --without-passphrase`,
		Args:    oneArgument("name the person"),
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.newSigner(cmd.Context(), args[0], without)
		},
	}
	cmd.Flags().BoolVar(&without, "without-passphrase", false, "a key that whoever has the file can use")
	return cmd
}

func (a *app) newSigner(ctx context.Context, name string, without bool) error {
	principal, err := quotedPrincipal(name)
	if err != nil {
		return err
	}
	s, err := a.settings()
	if err != nil {
		return err
	}
	if s.SigningKey == "" || s.ReviewSigners == "" {
		return fail(Failed, errors.New("there is no place to keep a key: the environment names no home folder"), "the settings signing_key and review_signers name places")
	}
	if _, err := os.Lstat(s.SigningKey); err == nil {
		return usage(s.SigningKey+" is there already", "the setting signing_key names another file")
	}
	if _, err := a.signers(); err != nil { // a list that does not read is not added to
		return err
	}
	passphrase := ""
	if !without {
		if passphrase, err = a.newSecret(ctx, "passphrase", "--without-passphrase makes a key without one"); err != nil {
			return err
		}
	}
	key, err := signing.New(s.SigningKey, name, passphrase)
	if err != nil {
		return fail(Failed, err)
	}
	line := fmt.Sprintf("%s namespaces=%q %s\n", principal, record.SignatureNamespace, signing.Line(key))
	out := a.env.Stdout
	fmt.Fprintf(out, "%s  your key, readable by you only; its public half beside it\n", s.SigningKey)
	if err := addLine(s.ReviewSigners, line); err != nil {
		fmt.Fprintf(out, "%s could not be written (%v); this line belongs into it:\n%s", s.ReviewSigners, err, line)
		return nil
	}
	fmt.Fprintf(out, "%s  now lets %s sign off jobs\n", s.ReviewSigners, name)
	return nil
}

// addLine adds a line to a file, which is made where it is not there.
func addLine(file, line string) error {
	text, err := os.ReadFile(file)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	if err := os.MkdirAll(filepath.Dir(file), 0o700); err != nil {
		return err
	}
	if n := len(text); n > 0 && text[n-1] != '\n' {
		text = append(text, '\n')
	}
	return whole.Replace(file, append(text, line...))
}

func newSignersListCommand(a *app) *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use: "list", Short: "list them", Args: noArguments,
		Long:    "Lists those who may sign off jobs, with their keys and how long these are valid.",
		Example: `  daytank review signers list`,
		RunE:    func(*cobra.Command, []string) error { return a.listSigners(asJSON) },
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "as JSON")
	return cmd
}

// signerJSON is a line of the list of signers.
type signerJSON struct {
	Principals  string `json:"principals"`
	Key         string `json:"key"` // fingerprint
	Type        string `json:"type"`
	ValidAfter  string `json:"valid_after,omitempty"`
	ValidBefore string `json:"valid_before,omitempty"`
	Namespaces  string `json:"namespaces,omitempty"`
	Now         bool   `json:"now"` // valid today, for signing off jobs
	Line        int    `json:"line"`
}

func (a *app) listSigners(asJSON bool) error {
	list, err := a.signers()
	if err != nil {
		return err
	}
	rows := []signerJSON{}
	if list == nil {
		if asJSON {
			return writeJSON(a.env.Stdout, rows)
		}
		fmt.Fprintln(a.env.Stderr, "there is no list of signers yet; daytank review signers new NAME makes a key and the list")
		return nil
	}
	now := a.env.Now()
	day := func(t time.Time) string {
		if t.IsZero() {
			return ""
		}
		return t.Format(time.RFC3339)
	}
	for _, s := range list.All {
		rows = append(rows, signerJSON{
			s.Principals, s.Fingerprint, s.Key.Type(), day(s.After), day(s.Before), s.Namespaces,
			s.Valid(now), s.Line,
		})
	}
	if asJSON {
		return writeJSON(a.env.Stdout, rows)
	}
	table := tabwriter.NewWriter(a.env.Stdout, 0, 0, 2, ' ', 0)
	for _, r := range rows {
		word := "may sign"
		if !r.Now {
			word = "may not sign today"
		}
		fmt.Fprintf(table, "%s\t%s\t%s\t%s\n", prompt.Plain(r.Principals), word, r.Type, r.Key)
	}
	if err := table.Flush(); err != nil {
		return err
	}
	fmt.Fprintf(a.env.Stdout, "%s  sha256 %s\n", list.File, list.Digest)
	if ownList(list.File) {
		fmt.Fprintln(a.env.Stdout, "this account can write the list: in a shop it belongs to somebody who does not do the work")
	}
	return nil
}
