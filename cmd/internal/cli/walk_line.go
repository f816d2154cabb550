package cli

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"daytank/cmd/internal/prompt"
	"daytank/procedures/checklist"
	"daytank/procedures/record"
	"daytank/procedures/report"
	"daytank/procedures/store"
	"daytank/safety"
)

// walkInLines asks and takes answers until the sitting is done or left.
func (w *walker) walkInLines(ctx context.Context) error {
	for {
		ask, err := w.sitting.Ask(ctx)
		if err != nil {
			return w.failed(err)
		}
		if ask.Kind == checklist.AskFinished {
			return w.finished()
		}
		w.asked = ask
		w.show(ask)
		in, err := w.read(ctx, ask)
		switch {
		case errors.Is(err, prompt.ErrWake):
			continue
		case err != nil:
			return w.leave(ctx, err)
		}
		done, err := w.take(ctx, ask, in)
		if done || err != nil {
			return err
		}
	}
}

// take gives an input to the sitting; done ends the walk.
func (w *walker) take(ctx context.Context, ask checklist.Ask, in checklist.Input) (done bool, err error) {
	if in.Do == "" {
		return false, nil
	}
	err = w.sitting.Answer(ctx, in)
	var refusal safety.Refusal
	switch {
	case errors.As(err, &refusal):
		fmt.Fprintln(w.app.env.Stdout, report.Wrap("Not taken: "+prompt.Plain(refusal.Reason)+".", "  ", w.columns()))
		return false, nil
	case err != nil:
		return true, w.failed(err)
	}
	w.shown = ""
	switch in.Do {
	case checklist.CallOut:
		w.emergency()
		return true, end(Stopped)
	case checklist.LeaveSafe:
		w.leftSafe()
		if ask.Kind == checklist.AskBlocked {
			return true, end(Refused)
		}
		return true, end(Stopped)
	case checklist.AddNote, checklist.Deviate:
		fmt.Fprintln(w.app.env.Stdout, "  Noted.")
	case checklist.Correct:
		fmt.Fprintln(w.app.env.Stdout, "  Corrected; the old entry stays in the record.")
	case checklist.AddPhoto:
		fmt.Fprintf(w.app.env.Stdout, "  Kept: %s, without what it says of place and owner.\n", prompt.Plain(in.Text))
	}
	return false, nil
}

// thrownAway tells whether nothing is kept of the walk: a demonstration without a place.
func (w *walker) thrownAway() bool { return w.bench.Demo && w.app.flags.store == "" }

// again says how the walk is taken up again. Nothing is kept of a demonstration that has no
// place of its own.
func (w *walker) again() string {
	if w.thrownAway() {
		return "nothing of the demonstration is kept; " + program + " demo --by-hand begins it anew, and --store FILE keeps it"
	}
	return w.app.command("walk", report.Name(w.sitting.Summary)) + " takes it up again"
}

// failed gives the status of an error that is no answer's fault.
func (w *walker) failed(err error) error {
	if errors.Is(err, store.ErrMoved) {
		return fail(Failed, fmt.Errorf("%s: %w", report.Name(w.sitting.Summary), store.ErrMoved),
			"another terminal walks this job; what you typed last was not kept", w.again())
	}
	var known *Failure
	if errors.As(err, &known) {
		return err
	}
	fmt.Fprintln(w.app.env.Stdout, "\nThe walk ends here: what was typed last could not be kept; everything before it is.")
	w.leaveList()
	hints := []string{w.again()}
	if hint := store.Hint(err); hint != "" {
		hints = append(hints, hint)
	}
	return fail(Failed, err, hints...)
}

// leave keeps the walk as it is when the conversation ends: by a signal, or by
// the end of the input.
func (w *walker) leave(ctx context.Context, cause error) error {
	reason := "the input has ended"
	if signal, ok := StoppedBy(ctx); ok {
		reason = "signal: " + signal.String()
	}
	err := w.sitting.Answer(context.WithoutCancel(ctx), checklist.Input{Do: checklist.LeaveSafe, Text: reason})
	if err != nil {
		return errors.Join(err, cause)
	}
	return w.leftPartWay(reason)
}

// leftPartWay says how the walk was left, and gives its status.
func (w *walker) leftPartWay(reason string) error {
	kept := "; everything entered is kept"
	if w.thrownAway() {
		kept = ""
	}
	fmt.Fprintf(w.app.env.Stdout, "\nLeft part way (%s)%s.\n", reason, kept)
	w.leaveList()
	return fail(Stopped, errors.New(reason), w.again())
}

func (w *walker) leftSafe() {
	if !w.sitting.State().Paper() {
		fmt.Fprintln(w.app.env.Stdout, "\nLeave it safe:")
	}
	w.leaveList()
	if w.thrownAway() {
		fmt.Fprintln(w.app.env.Stdout, "\n"+w.again())
		return
	}
	fmt.Fprintf(w.app.env.Stdout, "\nTake it up again with: %s\n", w.app.command("walk", report.Name(w.sitting.Summary)))
}

func (w *walker) leaveList() {
	if w.sitting.State().Paper() {
		return
	}
	cards, err := safety.EmergencyCards()
	if err != nil {
		return
	}
	for _, line := range cards.LeaveSafe {
		fmt.Fprintln(w.app.env.Stdout, report.Wrap("- "+line, "  ", w.columns()))
	}
}

func (w *walker) finished() error {
	sum := w.sitting.Summary
	out := w.app.env.Stdout
	fmt.Fprintf(out, "\nThe sitting is done: %s is %s.\n", report.Name(sum), sum.State)
	fmt.Fprintf(out, "  record head %s, %d events\n", report.ShortHead(sum.Head), sum.Events)
	if burn := report.OfBurn(w.sitting.State()); burn != nil {
		fmt.Fprintln(out, report.Wrap(burn.Sentence(w.bench.Printer), "  ", w.columns()))
	}
	list := w.sitting.State().List()
	first := true
	for _, step := range list.Steps {
		if !step.Needed || step.Phase != "follow-up" {
			continue
		}
		if first {
			fmt.Fprintln(out, "\nStill to do, not part of this sitting:")
			first = false
		}
		fmt.Fprintln(out, report.Wrap("- "+step.Say, "  ", w.columns()))
	}
	if sum.Demo && w.app.flags.store == "" { // its store is thrown away
		return nil
	}
	fmt.Fprintf(out, "\nSee it with: %s\n", w.app.command("show", report.Name(sum)))
	return nil
}

// emergency shows what to do first, as large as plain lines can.
func (w *walker) emergency() {
	out := w.app.env.Stdout
	cards, err := safety.EmergencyCards()
	if err != nil {
		fmt.Fprintln(out, "KEY OFF. Get away from the vehicle. Call for help.")
		return
	}
	rule := strings.Repeat("=", 40)
	fmt.Fprintf(out, "\n%s\n\n   %s   %s   %s\n\n%s\n\a", rule, cards.First, cards.First, cards.First, rule)
	s, _ := w.app.settings()
	values := map[string]string{"emergency_number": s.EmergencyCall()}
	for _, c := range cards.Cards {
		fmt.Fprintln(out, report.Wrap(fill(c.Say, values), "", w.columns()))
		for _, line := range c.Do {
			fmt.Fprintln(out, report.Wrap("- "+fill(line, values), "  ", w.columns()))
		}
	}
	fmt.Fprintf(out, "\nThe time is in the record. The job is stopped. When it is taken up, what was\nproved is proved again, from isolate on.\n")
}

// read asks for one line and makes an input of it. An input without a verb is
// none. Nothing that was typed before a question stood there answers it.
func (w *walker) read(ctx context.Context, ask checklist.Ask) (checklist.Input, error) {
	text, err := w.talk.ReadFresh(ctx, w.question(ask), wake(ask), w.app.env.Mono)
	if err != nil {
		return checklist.Input{}, err
	}
	in, err := w.input(ctx, ask, text)
	if err == nil && ask.Kind == checklist.AskRelease && in.Do == checklist.Enter && !w.bench.Demo {
		return w.released(ctx, in)
	}
	return in, err
}

// released asks the person named at a hold point for their PIN, if they have one.
// Enter alone leaves them named, not proved; a wrong PIN releases nothing.
func (w *walker) released(ctx context.Context, in checklist.Input) (checklist.Input, error) {
	l, err := w.app.people()
	if err != nil {
		return checklist.Input{}, err
	}
	p, known := l.Find(in.Text)
	if !known || !p.HasPIN() {
		return in, nil
	}
	pin, err := w.app.secret(ctx, w.talk, fmt.Sprintf("PIN of %s, or Enter: the record says named, not proved > ", prompt.Plain(p.Name)))
	switch {
	case err != nil:
		return checklist.Input{}, err
	case pin == "!":
		return checklist.Input{Do: checklist.CallOut}, nil
	case pin == "":
		return in, nil
	}
	if err := l.Check(p.Name, pin); err != nil {
		w.app.env.Sleep(ctx, wrongPIN)
		fmt.Fprintf(w.app.env.Stdout, "  Not taken: %v of %s.\n", err, prompt.Plain(p.Name))
		return checklist.Input{}, nil
	}
	in.Text, in.Proved = p.Name, true
	return in, nil
}

// wrongPIN is how long the next try waits.
const wrongPIN = 2 * time.Second

// wake gives how long to wait for a line before looking again; 0 is for ever.
func wake(ask checklist.Ask) time.Duration {
	const minute = 60 * 1000
	switch ask.Kind {
	case checklist.AskWait:
		if ask.LeftMS > 0 {
			return time.Duration(min(ask.LeftMS, minute)) * time.Millisecond
		}
	case checklist.AskRun:
		if ask.Run.WakeMS > 0 {
			return time.Duration(max(1000, min(ask.Run.WakeMS, minute))) * time.Millisecond
		}
	}
	return 0
}

// input makes of a line what the person wants.
func (w *walker) input(ctx context.Context, ask checklist.Ask, text string) (checklist.Input, error) {
	command, rest, _ := strings.Cut(text, " ")
	rest = strings.TrimSpace(rest)
	switch command {
	case "?":
		w.help(ask)
		return checklist.Input{}, nil
	case "!":
		return checklist.Input{Do: checklist.CallOut}, nil
	case "<":
		return checklist.Input{Do: checklist.Back, Text: rest}, nil
	case "p":
		if rest == "" {
			return checklist.Input{Do: checklist.LeaveSafe, Text: "left by " + w.operator}, nil
		}
	case "n":
		return w.withWords(ctx, checklist.AddNote, rest, "note > ")
	case "c":
		return w.withWords(ctx, checklist.Correct, rest, "step, or r for the last reading; what is right; why > ")
	case "x":
		return w.withWords(ctx, checklist.Deviate, rest, "done otherwise, and why > ")
	case "f":
		return w.photo(rest)
	case "s":
		return w.withWords(ctx, checklist.Skip, rest, "reason for skipping > ")
	case "e":
		if ask.Kind == checklist.AskRun {
			return w.withWords(ctx, checklist.EndRun, rest, "key off first; reason for ending the run > ")
		}
	}
	return checklist.Input{Do: checklist.Enter, Text: text}, nil
}

// photo takes the picture named, or the newest in the inbox. One that is not
// taken is no answer.
func (w *walker) photo(path string) (checklist.Input, error) {
	p, err := w.app.takePhoto(path)
	if err != nil {
		fmt.Fprintln(w.app.env.Stdout, report.Wrap("Not taken: "+prompt.Plain(err.Error())+".", "  ", w.columns()))
		return checklist.Input{}, nil
	}
	return checklist.Input{Do: checklist.AddPhoto, Text: p.File, Photo: p.Data}, nil
}

// withWords asks for the words that a command needs, if they did not stand
// behind it.
func (w *walker) withWords(ctx context.Context, do checklist.Verb, words, question string) (checklist.Input, error) {
	if words == "" {
		var err error
		if words, err = w.talk.Read(ctx, question, 0); err != nil {
			return checklist.Input{}, err
		}
	}
	if words == "!" {
		return checklist.Input{Do: checklist.CallOut}, nil
	}
	return checklist.Input{Do: do, Text: words}, nil
}

func (w *walker) help(ask checklist.Ask) {
	out := w.app.env.Stdout
	fmt.Fprintln(out, `
  <        go back to the step before, or to one by its number:  < 15
  n        add a note:  n bubbles for half a minute
  c        correct a wrong number:  c 7; 19; read in the sun  (c r; ... for the last reading)
  x        say what was done otherwise than it stands here, and why
  f        keep a photo:  f lines.jpg  (f alone: the newest in the inbox)
  s        skip this step, with a reason (not where something must be proved)
  p        leave it safe, and take it up again later
  !        emergency: KEY OFF first
  e        in the run: end it early, with a reason`)
	if ask.Step.Why != "" {
		fmt.Fprintln(out, report.Wrap("why: "+ask.Step.Why, "  ", w.columns()))
		fmt.Fprintln(out, report.Wrap("it rests on: "+ask.Step.Source, "  ", w.columns()))
	}
	if h, ok := safety.HazardByID(ask.Step.Hazard); ok {
		fmt.Fprintln(out, report.Wrap(h.Name+": "+h.What, "  ", w.columns()))
		fmt.Fprintln(out, report.Wrap("if it happened: "+h.IfItDid, "  ", w.columns()))
	}
	w.shown = ""
}

func (w *walker) pickJob(ctx context.Context, open []record.Summary) (record.Summary, error) {
	out := w.app.env.Stdout
	fmt.Fprintln(out, "Several jobs are open:")
	for i, j := range open {
		fmt.Fprintf(out, "  %2d  %-14s %-9s %s\n", i+1, report.Name(j), j.State, prompt.Plain(j.Title))
	}
	for {
		text, err := w.talk.Read(ctx, "its number > ", 0)
		if err != nil {
			return record.Summary{}, w.ended(err)
		}
		for i, j := range open {
			if text == fmt.Sprint(i+1) || text == report.Name(j) {
				return j, nil
			}
		}
		fmt.Fprintln(out, "  Type one of the numbers.")
	}
}
