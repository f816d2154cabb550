package cli

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"daytank/cmd/internal/prompt"
	"daytank/procedures/record"
	"daytank/procedures/store"
)

// newCheckCommand makes `daytank check`.
func newCheckCommand(a *app) *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "check",
		Short: "whether this installation is sound",
		Long: `Looks at what the program rests on: settings, the records and whether they can
be written, the shipped and your own procedures, engines and layouts, the clock,
the folders for drafts and photos, and the records that bays share. Nothing is
changed. The status is 1 when something is not sound.`,
		Example: `  daytank check`,
		Args:    noArguments,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return a.check(cmd.Context(), asJSON)
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "as JSON")
	return cmd
}

// looked is one thing that was looked at.
type looked struct {
	What  string `json:"what"`
	Sound bool   `json:"sound"`
	Says  string `json:"says"`
}

func (a *app) check(ctx context.Context, asJSON bool) error {
	var all []looked
	look := func(what string, see func() (string, error)) {
		says, err := see()
		if err != nil {
			says = err.Error()
		}
		all = append(all, looked{what, err == nil, says})
	}
	look("settings", func() (string, error) { _, err := a.settings(); return "they read", err })
	look("records", func() (string, error) { return a.checkRecords(ctx) })
	look("library", a.checkLibrary)
	look("clock", a.checkClock)
	look("drafts", func() (string, error) { return a.checkFolder(a.draftsHere) })
	look("photos", func() (string, error) { return a.checkFolder(a.inboxHere) })
	if s, err := a.settings(); err == nil && s.Share != "" {
		look("shared", func() (string, error) { return a.checkShared(ctx) })
	}
	sound := true
	for _, l := range all {
		sound = sound && l.Sound
		if !asJSON {
			word := "sound"
			if !l.Sound {
				word = "NOT SOUND"
			}
			for line := range strings.Lines(fmt.Sprintf("%-9s %s: %s", l.What, word, l.Says)) {
				fmt.Fprintln(a.env.Stdout, prompt.Plain(strings.TrimRight(line, "\r\n")))
			}
		}
	}
	if asJSON {
		if err := writeJSON(a.env.Stdout, all); err != nil {
			return err
		}
	}
	if !sound {
		return end(Failed)
	}
	return nil
}

// tryFolderOf tells whether a file could be made: in its folder, or in the nearest one above
// that is there.
func tryFolderOf(file string) error {
	folder := filepath.Dir(file)
	for {
		_, err := os.Stat(folder)
		if err == nil || !errors.Is(err, fs.ErrNotExist) || folder == filepath.Dir(folder) {
			break
		}
		folder = filepath.Dir(folder)
	}
	made, err := os.CreateTemp(folder, ".daytank-*")
	if err != nil {
		return fmt.Errorf("nothing can be written to %s: %w", folder, errors.Unwrap(err))
	}
	return errors.Join(made.Close(), os.Remove(made.Name()))
}

// checkRecords verifies every record, and tries whether the store can be written.
func (a *app) checkRecords(ctx context.Context) (string, error) {
	if s, err := a.settings(); err == nil && s.Store != "" {
		if _, err := os.Lstat(s.Store); errors.Is(err, fs.ErrNotExist) { // to open them would make them
			return "none yet; they begin with the first job", tryFolderOf(s.Store)
		}
	}
	kept, err := a.openStore(ctx)
	if err != nil {
		return "", err
	}
	defer kept.Close()
	jobs, err := kept.Jobs(ctx, store.Query{})
	if err != nil {
		return "", err
	}
	for _, sum := range jobs {
		var damage *record.Damage
		if _, err := verifyOne(ctx, kept, sum.Job); errors.As(err, &damage) {
			return "", fmt.Errorf("%s/%d is damaged at event %d: %s", sum.Asset, sum.Number, damage.Seq, damage.Reason)
		} else if err != nil {
			return "", err
		}
	}
	if w, ok := kept.(interface{ Writable(context.Context) error }); ok {
		if err := w.Writable(ctx); err != nil {
			return "", err
		}
	}
	switch len(jobs) {
	case 1:
		return "1 job, intact; it can be written", nil
	default:
		return fmt.Sprintf("%d jobs, intact; it can be written", len(jobs)), nil
	}
}

// checkShared tells whether the shared records answer, and what this login may do there.
func (a *app) checkShared(ctx context.Context) (string, error) {
	ctx, cancel := context.WithTimeout(ctx, patienceBefore)
	defer cancel()
	office, err := a.openOffice(ctx)
	if err != nil {
		return "", err
	}
	defer office.Store.Close()
	if err := office.Store.Writable(ctx); errors.Is(err, store.ErrReadOnly) {
		return "they answer; this login may read them, not add to them", nil
	} else if err != nil {
		return "", err
	}
	return "they answer, and can be added to", nil
}

func (a *app) checkLibrary() (string, error) {
	library, err := a.books()
	if err != nil {
		return "", err
	}
	return fmt.Sprintf("%d procedures, %d layouts, %d engines",
		len(library.All()), len(library.Engines().Layouts()), len(library.Engines().Profiles())), nil
}

// firstDay is before this program was written: a clock that says so is wrong.
var firstDay = time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)

func (a *app) checkClock() (string, error) {
	now := a.env.Now()
	if now.Before(firstDay) || now.Year() > 2100 {
		return "", fmt.Errorf("it says %s: records would carry a wrong time", now.Format(time.RFC3339))
	}
	return now.Format("2006-01-02 15:04 MST"), nil
}

// draftsHere and inboxHere give folders, empty where none is set.
func (a *app) draftsHere() (string, error) {
	s, err := a.settings()
	if err != nil {
		return "", err
	}
	return a.draftFolder(s.Text("store"))
}

func (a *app) inboxHere() (string, error) {
	s, err := a.settings()
	return s.Text("photo_inbox"), err
}

// checkFolder tells whether a folder is there and can be read; one that is not
// there yet is made when it is needed.
func (a *app) checkFolder(where func() (string, error)) (string, error) {
	folder, err := where()
	switch {
	case err != nil:
		return "", err
	case folder == "":
		return "no folder is set", nil
	}
	entries, err := os.ReadDir(folder)
	if errors.Is(err, os.ErrNotExist) && filepath.IsAbs(folder) {
		return folder + " is not there yet", nil
	}
	if err != nil {
		return "", err
	}
	return fmt.Sprintf("%s, %d files", folder, len(entries)), nil
}
