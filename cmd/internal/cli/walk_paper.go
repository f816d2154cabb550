package cli

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"daytank/cmd/internal/prompt"
	"daytank/planner"
	"daytank/procedures/checklist"
	"daytank/procedures/record"
	"daytank/procedures/report"
	"daytank/safety"
)

// photograph reads the photos of the sheet, before anything is begun.
func (w *walker) photograph(sheets []string) error {
	for _, file := range sheets {
		p, err := w.app.takePhoto(file)
		if err != nil {
			return fail(Usage, err, "a photo of the sheet is wanted, as JPEG or PNG")
		}
		w.sheets = append(w.sheets, p)
	}
	return nil
}

// askPaper asks who did the work by the sheet, when, and why on paper; nil where it is done
// now.
func (w *walker) askPaper(ctx context.Context) (*record.Transcribed, error) {
	if len(w.sheets) == 0 {
		return nil, nil
	}
	out := w.app.env.Stdout
	fmt.Fprintln(out, report.Wrap("Entered from paper: as it stands on the sheet, and nothing else. It proves nothing to the program, and the review shows it first.", "", w.columns()))
	who, err := w.askUntil(ctx, "Who did the work, by the sheet > ", func(text string) (string, error) {
		if safety.TooEasy(text) {
			return "", errors.New("a name is wanted")
		}
		return text, nil
	})
	if err != nil {
		return nil, err
	}
	now := w.app.env.Now()
	today := planner.Date{Year: now.Year(), Month: int(now.Month()), Day: now.Day()}
	day, err := w.askUntil(ctx, "On which day, by the sheet, such as 2026-03-14 > ", func(text string) (string, error) {
		d, err := planner.ParseDate(text)
		switch {
		case err != nil:
			return "", err
		case today.DaysSince(d) < 0:
			return "", fmt.Errorf("%s is still to come", text)
		}
		return d.String(), nil
	})
	if err != nil {
		return nil, err
	}
	why, err := w.askUntil(ctx, "Why on paper, in a few words, or Enter > ", func(text string) (string, error) { return text, nil })
	if err != nil {
		return nil, err
	}
	return &record.Transcribed{Who: who, Done: day, Text: why}, nil
}

// askUntil asks until an answer is in order.
func (w *walker) askUntil(ctx context.Context, question string, read func(string) (string, error)) (string, error) {
	for {
		text, err := w.talk.Read(ctx, question, 0)
		if err != nil {
			return "", w.ended(err)
		}
		answer, err := read(strings.TrimSpace(prompt.Plain(text)))
		if err == nil {
			return answer, nil
		}
		fmt.Fprintln(w.app.env.Stdout, report.Wrap("Not taken: "+err.Error()+".", "  ", w.columns()))
	}
}

// begin begins a walk: what follows is done now, or, with paper, was done on it.
func (w *walker) begin(ctx context.Context, paper *record.Transcribed) error {
	if paper != nil {
		var sheets []record.Photo
		var pictures []record.Blob
		for _, p := range w.sheets {
			sheets, pictures = append(sheets, record.Photo{File: p.File}), append(pictures, p.Data)
		}
		err := w.sitting.FromPaper(ctx, *paper, sheets, pictures)
		var refusal safety.Refusal
		if errors.As(err, &refusal) {
			return fail(Refused, err)
		}
		if err != nil {
			return err
		}
	}
	if w.sitting.State().Paper() {
		w.takeBack = nil // entering is done in lines
	}
	w.greet()
	if paper != nil {
		w.ofThisSheet()
	}
	return nil
}

// greetPaper says how the sheet is entered.
func (w *walker) greetPaper() {
	fmt.Fprintln(w.app.env.Stdout, "\n  ? help  < back  n note  x done otherwise  s not done  p leave it for later")
}

// ofThisSheet says by what the sheet is known to be that of this job.
func (w *walker) ofThisSheet() {
	fmt.Fprintln(w.app.env.Stdout, report.Wrap(fmt.Sprintf("The sheet of this plan has  %s  at its foot. Where yours has another it is of another plan: leave with p.", sheetMark(w.sitting.State().Planned().Basis.Job)), "  ", w.columns()))
}

// sheetMark gives the digits by which the sheet of a job is known: the first 8 of the
// digest of its job file.
func sheetMark(job planner.Job) string { return record.Blob(job.File()).Digest().String()[:8] }

// paper writes what is to be entered from the sheet.
func (w *walker) paper(ask checklist.Ask) {
	out := w.app.env.Stdout
	if ask.Kind == checklist.AskRelease {
		return
	}
	fmt.Fprintf(out, "\n%d of %d, %s\n", ask.Number, ask.Of, ask.Phase)
	w.say("", ask.Step.Say, "  ")
	if was := w.sitting.State().AnswerOf(ask.Step.ID); was != "" {
		w.say("entered before: ", prompt.Plain(was), "    ")
	}
	for i, o := range ask.Step.Options {
		fmt.Fprintf(out, "    %d  %s\n", i+1, strings.TrimSpace(fmt.Sprintf("%-14s %s", o.Key, different(o))))
	}
}
