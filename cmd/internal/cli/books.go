package cli

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"

	"github.com/google/uuid"

	"daytank/cmd/internal/prompt"
	"daytank/cmd/internal/sitting"
	"daytank/planner"
	"daytank/planner/strict"
	"daytank/procedures"
	"daytank/procedures/record"
	"daytank/procedures/store"
	"daytank/procedures/store/share"
)

// books gives the library of layouts, engines and procedures: the shipped ones
// and, from the library folder of the settings, the user's own. What is wrong
// with those is reported for all of them at once.
func (a *app) books() (*procedures.Library, error) {
	s, err := a.settings()
	if err != nil {
		return nil, err
	}
	library, err := procedures.Shipped()
	if err != nil {
		return nil, err
	}
	var problems strict.Problems
	for _, shelf := range []struct {
		folder string
		add    func(file string, text []byte) error
	}{
		{"layouts", library.Engines().AddLayout},
		{"engines", library.Engines().AddProfile},
		{"procedures", library.Add},
	} {
		if s.Library == "" { // the environment names no folder for it
			continue
		}
		err := addFolder(filepath.Join(s.Library, shelf.folder), shelf.add, &problems)
		if err != nil {
			return nil, err
		}
	}
	if len(problems) > 0 {
		return nil, problems
	}
	return library, nil
}

// addFolder adds the files of a folder, which need not be there.
func addFolder(folder string, add func(string, []byte) error, problems *strict.Problems) error {
	files, err := filepath.Glob(filepath.Join(folder, "*.yaml"))
	if err != nil {
		return err
	}
	slices.Sort(files)
	for _, file := range files {
		text, err := readFile(file)
		if err == nil {
			err = add(file, text)
		}
		var found strict.Problems
		switch {
		case errors.As(err, &found):
			*problems = append(*problems, found...)
		case err != nil:
			return err
		}
	}
	return nil
}

// readFile reads a file written by hand: one that is larger than any such is
// not read at all, nor is anything that is no plain file.
func readFile(name string) ([]byte, error) {
	info, err := os.Stat(name)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, fail(Usage, fmt.Errorf("%s: there is no such file", name))
	case err != nil:
		return nil, fail(Usage, err)
	case !info.Mode().IsRegular():
		return nil, fail(Usage, fmt.Errorf("%s: this is not a plain file", name))
	case info.Size() > strict.MaxSize:
		return nil, fail(Usage, fmt.Errorf("%s: the file has %d bytes, more than the %d a hand-written file may have", name, info.Size(), strict.MaxSize))
	}
	text, err := os.ReadFile(name)
	if err != nil {
		return nil, fail(Usage, err)
	}
	return text, nil
}

// readJob reads a job file with changes PATH=VALUE made to it.
func (a *app) readJob(library *procedures.Library, name string, set []string) (planner.Job, error) {
	text, err := readFile(name)
	if err != nil {
		return planner.Job{}, err
	}
	now := a.env.Now()
	today := planner.Date{Year: now.Year(), Month: int(now.Month()), Day: now.Day()}
	return planner.ReadJobWith(name, text, set, library.Engines(), today)
}

// openStore opens the records as they are read and worked on: those of this bay, or the
// shared ones where --shared is given. Of a job that is held elsewhere they take no entry.
func (a *app) openStore(ctx context.Context) (store.Store, error) {
	if a.flags.shared {
		if a.flags.store != "" {
			return nil, usage("--store names the records of a bay, and --shared those that the bays share: give one of them")
		}
		office, err := a.openOffice(ctx)
		if err != nil {
			return nil, err
		}
		return share.HoldingOffice(office), nil
	}
	kept, err := a.openBay(ctx)
	if err != nil {
		return nil, err
	}
	held, err := share.HoldingBay(ctx, kept)
	if err != nil {
		return nil, errors.Join(err, kept.Close())
	}
	return held, nil
}

// openBay opens the records of this bay, to which entries of other stores may be added too.
func (a *app) openBay(ctx context.Context) (store.Store, error) {
	s, err := a.settings()
	if err != nil {
		return nil, err
	}
	if s.Store == "" {
		return nil, fail(Failed, errors.New("there is no place to keep records: the environment names no home folder"),
			"--store FILE names a place")
	}
	kept, err := store.OpenSQLite(ctx, s.Store)
	if err != nil {
		return nil, fail(codeOfStore(err), err, cmp.Or(store.Hint(err), "the records are kept in the file of the setting store; --store FILE names another"))
	}
	return kept, nil
}

// bench gives what a sitting works with.
func (a *app) bench(kept store.Store, library *procedures.Library, operator string) (sitting.Bench, error) {
	s, err := a.settings()
	if err != nil {
		return sitting.Bench{}, err
	}
	process, err := a.env.NewID()
	if err != nil {
		return sitting.Bench{}, err
	}
	return sitting.Bench{
		Store: kept, Procedures: library, Printer: s.Printer(), EmergencyNumber: s.EmergencyCall(),
		Program: builtAs(), NewID: a.env.NewID,
		Now: func() record.Stamp { return a.stamp(process, operator) },
	}, nil
}

// planningBench gives a bench that knows how long the steps take in this shop. Without a
// store it looks into the one of the settings, where there is one: planning makes none.
func (a *app) planningBench(ctx context.Context, kept store.Store, library *procedures.Library, operator string) (sitting.Bench, error) {
	bench, err := a.bench(kept, library, operator)
	if err != nil {
		return bench, err
	}
	if kept == nil {
		s, err := a.settings()
		if err != nil {
			return bench, err
		}
		if _, err := os.Stat(s.Store); err != nil {
			return bench, nil
		}
		if kept, err = a.openBay(ctx); err != nil { // a plan rests on no record
			fmt.Fprintf(a.env.Stderr, "%s: warning: how long steps take here is not known: %s\n", program, prompt.Plain(err.Error()))
			return bench, nil
		}
		defer kept.Close()
	}
	bench.Walks, err = sitting.Walks(ctx, kept)
	return bench, err
}

// stamp says when, by which process and by whom, to the millisecond that a
// record keeps.
func (a *app) stamp(process uuid.UUID, operator string) record.Stamp {
	return record.Stamp{
		At: a.env.Now().UTC().Truncate(1e6), MonoMS: a.env.Mono().Milliseconds(), Run: process, By: operator,
	}
}
