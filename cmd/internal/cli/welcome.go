package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"

	"daytank/cmd/internal/prompt"
	"daytank/procedures/report"
	"daytank/procedures/store"
)

// start is the program without a command, at a terminal: where nothing is kept yet it says
// what it is for, else it offers what was left part way, or begins a job.
func (a *app) start(ctx context.Context) error {
	first, err := a.firstTime(ctx)
	if err != nil {
		return err
	}
	if !first {
		return a.newJob(ctx, nil, true)
	}
	var in io.Reader = a.env.Stdin
	takeBack := func() {}
	if !a.lineMode() {
		in, takeBack = a.lentInput()
	}
	talk := prompt.New(in, a.env.Stdout, a.env.Sleep)
	a.welcome()
	for {
		text, err := talk.Read(ctx, "its number, or Enter to leave > ", 0)
		if errors.Is(err, prompt.ErrEnd) || err == nil && text == "" {
			return fail(Stopped, errors.New("left; nothing was begun"), program+" help shows the commands")
		}
		if err != nil {
			return err
		}
		switch text {
		case "1":
			return a.demo(ctx, false, false)
		case "2":
			takeBack()
			if !a.lineMode() {
				talk = nil
			}
			return a.newJob(ctx, talk, false)
		case "3":
			return a.root.Help()
		}
		fmt.Fprintln(a.env.Stdout, "  Type 1, 2 or 3.")
	}
}

// firstTime tells whether nothing is kept yet: no job, and no draft of one. It makes no
// store.
func (a *app) firstTime(ctx context.Context) (bool, error) {
	s, err := a.settings()
	if err != nil {
		return false, err
	}
	drafts, err := a.draftFolder(s.Text("store"))
	if err != nil {
		return false, err
	}
	if all, err := os.ReadDir(drafts); err == nil && len(all) > 0 {
		return false, nil
	}
	if _, err := os.Stat(s.Store); errors.Is(err, fs.ErrNotExist) {
		return true, nil
	}
	kept, err := a.openStore(ctx)
	if err != nil {
		return false, err
	}
	defer kept.Close()
	jobs, err := kept.Jobs(ctx, store.Query{Limit: 1})
	return len(jobs) == 0, err
}

// welcome says on one screen what the program is for, and what can be done first.
func (a *app) welcome() {
	columns := min(a.env.Width(), 79)
	for _, line := range []struct{ indent, text string }{
		{"", about},
		{"", ""},
		{"", "plan: how much fluid, which hose, when to switch off, how hot it gets"},
		{"", "walk: a checklist, one step at a time, and the run with its countdown"},
		{"", "prove: idle tests before and after, and a record that a supervisor signs"},
		{"", ""},
		{"", "CAUTION: " + report.Cautions()[0]},
		{"", ""},
		{"", "Nothing is kept here yet. What do you want to do?"},
		{"", ""},
		{"  ", "1 see it work: a demonstration, in a store that is thrown away"},
		{"  ", "2 plan a job of your own: at most fifteen questions, each kept at once"},
		{"  ", "3 read on: the commands, in the order of the work"},
		{"", ""},
	} {
		fmt.Fprintln(a.env.Stdout, report.Wrap(line.text, line.indent, columns))
	}
}
