package cli

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"daytank/cmd/internal/prompt"
	"daytank/cmd/internal/whole"
	"daytank/procedures/record"
	"daytank/procedures/report"
	"daytank/procedures/review"
	"daytank/procedures/store"
)

// newExportCommand makes `daytank export`.
func newExportCommand(a *app) *cobra.Command {
	var to, signOffs string
	var over bool
	cmd := &cobra.Command{
		Use:   "export JOB",
		Short: "write a record to one file that can be verified anywhere",
		Long: `Writes one record, with everything it rests on, to one file: a line an event.
The record is verified first. The file can be verified without the database, by
daytank verify FILE, and taken into another store by daytank import FILE.

A file that is there already is left alone unless --over is given.

With --sign-offs what was signed and the signatures are written as well, each as
a file of its own, with the commands of ssh-keygen that check them: for that
neither this program nor its database is needed.`,
		Example: `  daytank export VAN-07/3
  daytank export VAN-07/3 --to van-07.jsonl`,
		Args: oneArgument("name a job such as VAN-07/3; daytank jobs lists them"),
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.export(cmd.Context(), args[0], to, signOffs, over)
		},
		ValidArgsFunction: a.completeJob,
	}
	cmd.Flags().StringVar(&to, "to", "", "`FILE` to write; - for standard output")
	cmd.Flags().StringVar(&signOffs, "sign-offs", "", "`FOLDER` for what was signed, and the signatures")
	cmd.Flags().BoolVar(&over, "over", false, "write over a file that is there already")
	return a.takesShared(cmd)
}

func (a *app) export(ctx context.Context, name, to, signOffs string, over bool) error {
	kept, err := a.openStore(ctx)
	if err != nil {
		return err
	}
	defer kept.Close()
	sum, err := findJob(ctx, kept, name)
	if err != nil {
		return err
	}
	events, err := kept.Events(ctx, sum.Job)
	if err != nil {
		return unverified(report.Name(sum), err)
	}
	x, err := record.Gather(sum.Job, events, func(h record.Hash) ([]byte, error) { return kept.Blob(ctx, h) })
	if err != nil {
		return unverified(report.Name(sum), err)
	}
	if to == "-" && signOffs != "" {
		return usage("--sign-offs says on standard output how they are checked", "--to names a file for the record")
	}
	if to == "-" {
		return x.Write(a.env.Stdout)
	}
	if to == "" {
		to = fileOf(sum) + ".jsonl"
	}
	var text bytes.Buffer
	if err := x.Write(&text); err != nil {
		return err
	}
	if err := writeNew(to, text.Bytes(), over); err != nil {
		return err
	}
	fmt.Fprintf(a.env.Stdout, "%s: %s, %d events, head %s\n", prompt.Plain(to), report.Name(sum), sum.Events, report.ShortHead(sum.Head))
	if signOffs != "" {
		return a.exportSignOffs(signOffs, sum, events, over)
	}
	return nil
}

// exportSignOffs writes what was signed and the signatures, and how they are checked.
func (a *app) exportSignOffs(folder string, sum record.Summary, events []record.Event, over bool) error {
	s, err := a.settings()
	if err != nil {
		return err
	}
	signers, err := a.signers()
	if err != nil {
		return err
	}
	standings, err := review.Standings(events, signers)
	if err != nil {
		return err
	}
	if err := os.MkdirAll(folder, 0o700); err != nil {
		return fail(Usage, err)
	}
	for _, one := range standings {
		fmt.Fprintf(a.env.Stdout, "# %s\n", prompt.Plain(one.Words()))
		signed := one.SignOff
		text, err := signed.Bytes()
		if err != nil {
			return err
		}
		base := filepath.Join(folder, fmt.Sprintf("%s.%s-%d", fileOf(sum), inFileName(signed.Which), one.Seq))
		if err := errors.Join(writeNew(base+".txt", text, over), writeNew(base+".sig", []byte(one.Armored), over)); err != nil {
			return err
		}
		fmt.Fprintf(a.env.Stdout, "ssh-keygen -Y verify -f %s -I %s -n %s -Overify-time=%sZ -s %s < %s\n",
			quoted(s.ReviewSigners), quoted(signed.Principal), record.SignatureNamespace, signed.At.UTC().Format("20060102150405"), quoted(base+".sig"), quoted(base+".txt"))
	}
	if len(standings) == 0 {
		fmt.Fprintln(a.env.Stderr, "nobody has signed it yet")
	}
	return nil
}

// quoted gives a text as one word of a shell, whatever is in it but what cannot be shown.
func quoted(text string) string {
	return "'" + strings.ReplaceAll(prompt.Plain(text), "'", `'\''`) + "'"
}

// unverified gives the status of a record that is not what was written.
func unverified(name string, err error) error {
	return fail(Unverified, fmt.Errorf("%s does not verify: %w", name, err), "the file or database was damaged or changed; take the last copy that verifies")
}

// writeNew writes a file as a whole, over one that is there only where that is
// wished.
func writeNew(name string, data []byte, over bool) error {
	if over {
		return whole.Replace(name, data)
	}
	err := whole.Create(name, data)
	if errors.Is(err, fs.ErrExist) {
		return usage(name+" is there already", "--over writes over it, --to names another file")
	}
	return err
}

// newImportCommand makes `daytank import`.
func newImportCommand(a *app) *cobra.Command {
	return &cobra.Command{
		Use:   "import FILE...",
		Short: "take exported records into this store",
		Long: `Verifies exported records and keeps them. One that is here already is left
alone; one that goes on from what is here is added to it; one that tells
another story of the same job is refused. Nothing of a file that does not
verify is kept, and the status is then 5.`,
		Example: `  daytank import friday.jsonl`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return usage("name the exported file", "daytank export JOB writes one")
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error { return a.importFiles(cmd.Context(), args) },
	}
}

func (a *app) importFiles(ctx context.Context, files []string) error {
	kept, err := a.openBay(ctx)
	if err != nil {
		return err
	}
	defer kept.Close()
	for _, file := range files {
		x, err := readExported(file)
		if err != nil {
			return err
		}
		if err := a.trusted(file, x); err != nil {
			return err
		}
		what, err := take(ctx, kept, x)
		for try := 0; errors.Is(err, store.ErrMoved) && try < 5; try++ { // another import of it was first
			what, err = take(ctx, kept, x)
		}
		if err != nil {
			return fail(Failed, fmt.Errorf("%s: %w", file, err))
		}
		sum, err := kept.Get(ctx, x.Job)
		if err != nil {
			return err
		}
		fmt.Fprintf(a.env.Stdout, "%s: %s, %s\n", prompt.Plain(file), prompt.Plain(report.Name(sum)), what)
	}
	return nil
}

// trusted refuses an exported record with a sign-off that is not to be trusted: kept, it
// would be out of the queue. Without a list of signers only the signature itself is known.
func (a *app) trusted(file string, x record.Export) error {
	signers, err := a.signers()
	if err != nil {
		return err
	}
	standings, err := review.Standings(x.Events, signers)
	if err != nil {
		return err
	}
	for _, s := range standings {
		switch s.Problem {
		case "":
		case review.ErrNoSigners.Error():
			fmt.Fprintf(a.env.Stderr, "%s: %s: warning: %s\n", program, file, prompt.Plain(s.Words()))
		default:
			return fail(Unverified, fmt.Errorf("%s: %s", file, prompt.Plain(s.Words())), "nothing of it was kept")
		}
	}
	return nil
}

// readExported reads and verifies a file. One of another kind is none that was changed.
func readExported(file string) (record.Export, error) {
	info, err := os.Stat(file)
	switch {
	case err != nil:
		return record.Export{}, fail(Usage, err)
	case !info.Mode().IsRegular():
		return record.Export{}, usage(file+" is no file", "daytank export JOB writes one")
	}
	f, err := os.Open(file)
	if err != nil {
		return record.Export{}, fail(Usage, err)
	}
	defer f.Close()
	x, err := record.ReadExport(f)
	var wrong *record.LineError
	switch {
	case errors.As(err, &wrong) && wrong.Foreign:
		return x, usage(fmt.Sprintf("%s: %s", file, wrong.Reason), "daytank export JOB writes one")
	case wrong != nil:
		return x, unverified(fmt.Sprintf("%s:%d", file, wrong.Line), errors.New(wrong.Reason))
	}
	return x, err
}

// take keeps an exported record, or what of it goes on from what is kept.
func take(ctx context.Context, kept store.Store, x record.Export) (string, error) {
	here, err := kept.Events(ctx, x.Job)
	if errors.Is(err, store.ErrUnknown) {
		return fmt.Sprintf("%d events kept", len(x.Events)), kept.Append(ctx, record.Genesis(x.Job), x.Events, x.Blobs...)
	}
	if err != nil {
		return "", err
	}
	for i, e := range here {
		if i < len(x.Events) && e.Hash != x.Events[i].Hash {
			return "", fmt.Errorf("it tells another story than the record that is kept here, from event %d on; nothing was changed", e.Seq)
		}
	}
	more := len(x.Events) - len(here)
	switch {
	case more == 0:
		return "here already, nothing was changed", nil
	case more < 0:
		return fmt.Sprintf("here already, with %d events more; nothing was changed", -more), nil
	}
	return fmt.Sprintf("%d events added", more), kept.Append(ctx, here[len(here)-1].Head(), x.Events[len(here):], x.Blobs...)
}
