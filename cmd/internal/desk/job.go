package desk

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"unicode"

	"daytank/procedures"
	"daytank/procedures/checklist"
	"daytank/procedures/record"
	"daytank/procedures/report"
	"daytank/procedures/review"
	"daytank/procedures/store"
	"daytank/safety"
)

// errStay goes on with the same job, as it is kept by now.
var errStay = errors.New("stay")

// job shows a job and takes commands until another one is wished.
func (d *Desk) job(ctx context.Context, sum record.Summary) error {
	for {
		sum, err := d.Bench.Store.Get(ctx, sum.Job)
		if err != nil {
			return err
		}
		o, err := Open(ctx, d.Bench, sum, d.Signers, d.Zone)
		if err != nil {
			return err
		}
		d.show(&o)
		if err := d.commanded(ctx, &o); !errors.Is(err, errStay) {
			return err
		}
	}
}

func (d *Desk) show(o *Opened) {
	var b strings.Builder
	report.SheetText(&b, o.Sheet, d.face.Columns())
	d.face.Page(b.String())
}

// keep stores an event after the head that was shown, in the name of whoever sits here.
func (d *Desk) keep(ctx context.Context, o *Opened, body record.Body) error {
	return d.keepAt(ctx, o, d.Bench.Now(), body)
}

func (d *Desk) keepAt(ctx context.Context, o *Opened, at record.Stamp, body record.Body) error {
	head := o.Events[len(o.Events)-1].Head()
	events, _, err := record.Seal(head, at, body)
	if err != nil {
		return err
	}
	err = d.Bench.Store.Append(context.WithoutCancel(ctx), head, events)
	if errors.Is(err, store.ErrMoved) {
		d.face.Say("Somebody wrote to this job meanwhile: look at it again. Nothing was kept.")
		return errStay
	}
	return err
}

// words asks for some words; none end it.
func (d *Desk) words(ctx context.Context, question string) (string, error) {
	for {
		typed, err := d.face.Ask(ctx, question)
		if err != nil || typed == "" || !safety.TooEasy(typed) {
			return report.Plain(typed), err
		}
		d.face.Say("That says nothing: in a few words, or Enter to leave it.")
	}
}

func (d *Desk) sign(ctx context.Context, o *Opened, _ string) error {
	if d.Signers == nil {
		d.face.Say(d.NoList)
		return nil
	}
	if why := review.Refusal(d.Name, o.Events, o.State, o.Sheet.Due); why != "" {
		d.face.Say("Not signed: " + why + ".")
		return nil
	}
	if now := d.Now(); !d.Signers.May(d.Name, now) {
		d.face.Say(fmt.Sprintf("Not signed: no key of %s may sign today, by %s.", d.Name, d.Signers.File))
		return nil
	}
	b, err := d.verdict(ctx, o)
	if err != nil || b.Verdict == "" {
		return err
	}
	d.face.Say(inWords(b, o))
	typed, err := d.face.Ask(ctx, fmt.Sprintf("type  sign  to sign the %s of %s as %s > ", b.Which, report.Name(o.Summary), d.Name))
	if err != nil {
		return err
	}
	if typed != "sign" {
		d.face.Say("Not signed.")
		return nil
	}
	if d.key == nil {
		secret := func(question string) (string, error) { return d.face.Secret(ctx, question) }
		if d.key, err = d.Key(secret); err != nil {
			d.face.Say("Not signed: " + err.Error() + ".")
			return nil
		}
	}
	at, last := d.Bench.Now(), o.Events[len(o.Events)-1]
	signed := record.SignOff{
		Job: o.Summary.Job, Head: last.Hash, Seq: last.Seq, Which: b.Which, Verdict: b.Verdict, Remarks: b.Remarks,
		NothingDue: b.NothingDue, Principal: at.By, At: at.At,
	}
	b.Signature, err = review.Sign(signed, d.key)
	if err == nil {
		_, err = review.Check(signed, b.Signature, d.Signers)
	}
	if err != nil {
		d.key = nil
		d.face.Say("Not signed: " + err.Error() + ".")
		return nil
	}
	if err := d.keepAt(ctx, o, at, b); err != nil {
		return err
	}
	d.face.Say(fmt.Sprintf("Signed: %s of %s, by %s.", b.Which, report.Name(o.Summary), d.Name))
	return errStay
}

// verdict asks what is signed.
func (d *Desk) verdict(ctx context.Context, o *Opened) (record.Signed, error) {
	b := record.Signed{Which: o.Sheet.Due}
	question := "is it fit to go back on the road? fit, and in your words why; Enter leaves it > "
	if b.Which == record.SignOffResult {
		question = "did it do anything, and is it finished? in your words, Enter leaves it > "
	}
	for {
		var err error
		if b.Verdict, err = d.words(ctx, question); err != nil || b.Verdict == "" {
			return b, err
		}
		if b.Which != record.SignOffWork || saysFit(b.Verdict) {
			break
		}
		d.face.Say("Not taken: the work is signed as fit, so that the words begin with fit. What is not fit is not signed but sent back: Enter here, then b.")
	}
	typed, err := d.face.Ask(ctx, "remarks, or Enter for none > ")
	if err != nil {
		return b, err
	}
	b.Remarks = report.Plain(typed)
	if b.Which == record.SignOffWork {
		b.NothingDue, err = d.nothingDue(ctx, o)
	}
	return b, err
}

// saysFit tells whether a verdict on the work begins by saying that the vehicle is fit.
func saysFit(verdict string) bool {
	first := strings.FieldsFunc(verdict, func(r rune) bool { return !unicode.IsLetter(r) })
	return len(first) > 0 && strings.EqualFold(first[0], "fit")
}

// inWords says what is about to be signed.
func inWords(b record.Signed, o *Opened) string {
	text := fmt.Sprintf("The %s of %s, head %s: %q", b.Which, report.Name(o.Summary), o.Sheet.Head, b.Verdict)
	if b.Remarks != "" {
		text += fmt.Sprintf(", with the remark %q", b.Remarks)
	}
	switch {
	case b.Which == record.SignOffWork && b.NothingDue:
		text += "; nothing is still to come"
	case b.Which == record.SignOffWork:
		text += "; what is to come by the procedure waits"
	}
	return text + "."
}

// nothingDue asks whether the look on the next day or the test after is still to come.
func (d *Desk) nothingDue(ctx context.Context, o *Opened) (bool, error) {
	var due []string
	for _, s := range o.State.List().Steps {
		if s.Needed && s.Phase == procedures.FollowUp {
			due = append(due, s.Say)
		}
	}
	if len(due) == 0 {
		return true, nil
	}
	for {
		d.face.Say("To come by the procedure: " + strings.Join(due, " "))
		typed, err := d.face.Ask(ctx, "type  waits  if one of these is still to come, or  none  if nothing is > ")
		if err != nil {
			return false, err
		}
		switch typed {
		case "waits":
			return false, nil
		case "none":
			return true, nil
		}
	}
}

// remark reads STEP: TEXT or TEXT. A single word before the colon is meant as a step: why
// says that there is none of that name, or that nothing is said about it.
func remark(o *Opened, typed string) (r record.Remark, why string) {
	step, text, found := strings.Cut(typed, ":")
	step, text = strings.TrimSpace(step), strings.TrimSpace(text)
	_, known := o.State.List().Step(step)
	switch {
	case known && text == "":
		return r, "Not taken: say something about " + step + ", as in  " + step + ": words."
	case known:
		return record.Remark{Step: step, Text: text}, ""
	case found && !strings.Contains(step, " "):
		return r, fmt.Sprintf("Not taken: there is no step %q; the steps stand before the colons above. Words about the whole job have no colon behind the first.", report.Plain(step))
	}
	return record.Remark{Text: typed}, ""
}

// outsider says why somebody may not judge a job; empty: they may.
func (d *Desk) outsider(o *Opened) string {
	switch {
	case review.Worked(o.Sheet.Workers, d.Name):
		return d.Name + " did work of this job"
	case d.Signers != nil && !d.Signers.May(d.Name, d.Now()):
		return fmt.Sprintf("no key of %s may sign today, by %s", d.Name, d.Signers.File)
	}
	return ""
}

func (d *Desk) sendBack(ctx context.Context, o *Opened, _ string) error {
	if why := d.outsider(o); why != "" {
		d.face.Say("Not sent back: " + why + ".")
		return nil
	}
	var remarks []record.Remark
	for {
		typed, err := d.words(ctx, "what is missing: STEP: words, or words for the whole job; Enter ends > ")
		if err != nil {
			return err
		}
		if typed == "" {
			break
		}
		r, why := remark(o, typed)
		if why != "" {
			d.face.Say(why)
			continue
		}
		remarks = append(remarks, r)
		d.face.Say("To go back with the job, about " + cmp.Or(r.Step, "the whole of it") + ".")
	}
	if len(remarks) == 0 {
		d.face.Say("Not sent back.")
		return nil
	}
	which := o.Sheet.Due
	if which == "" {
		which = record.SignOffWork
	}
	if err := d.keep(ctx, o, record.SentBack{Which: which, Remarks: remarks}); err != nil {
		return err
	}
	d.face.Say("Sent back, with " + report.Counted(len(remarks), "remark") + ".")
	return errStay
}

func (d *Desk) explain(ctx context.Context, o *Opened, typed string) error {
	if typed == "" {
		var err error
		if typed, err = d.words(ctx, "STEP: words, or words for the whole job; Enter leaves it > "); err != nil || typed == "" {
			return err
		}
	}
	r, why := remark(o, report.Plain(typed))
	if why != "" {
		d.face.Say(why)
		return nil
	}
	if err := d.keep(ctx, o, record.Explained(r)); err != nil {
		return err
	}
	return errStay
}

// sat answers as whoever did the work would at the vehicle.
func (d *Desk) sat(ctx context.Context, o *Opened, in checklist.Input) error {
	s, err := d.Bench.Read(ctx, o.Summary.Job)
	if err != nil {
		return err
	}
	err = s.Answer(ctx, in)
	var refusal safety.Refusal
	switch {
	case errors.As(err, &refusal):
		d.face.Say("Not taken: " + report.Plain(refusal.Reason) + ".")
		return nil
	case err != nil:
		return err
	}
	return errStay
}

func (d *Desk) correct(ctx context.Context, o *Opened, typed string) error {
	if typed == "" {
		var err error
		if typed, err = d.face.Ask(ctx, "step, or r for the last reading; what is right; why > "); err != nil || typed == "" {
			return err
		}
	}
	return d.sat(ctx, o, checklist.Input{Do: checklist.Correct, Text: typed})
}

func (d *Desk) reopen(ctx context.Context, o *Opened, step string) error {
	if step == "" {
		var err error
		if step, err = d.face.Ask(ctx, "which step, by its name or number; Enter leaves it > "); err != nil || step == "" {
			return err
		}
	}
	err := d.sat(ctx, o, checklist.Input{Do: checklist.Back, Text: step})
	if errors.Is(err, errStay) {
		d.face.Say("Reopened: the vehicle is needed. daytank walk " + report.Name(o.Summary) + " goes on with it.")
	}
	return err
}

func (d *Desk) handIn(ctx context.Context, o *Opened, _ string) error {
	for _, r := range o.Sheet.Remarks {
		if len(r.Explained) == 0 {
			typed, err := d.face.Ask(ctx, fmt.Sprintf("%q is not explained; type  hand in  all the same > ", report.Plain(r.Text)))
			if err != nil {
				return err
			}
			if typed != "hand in" {
				d.face.Say("Not handed in.")
				return nil
			}
			break
		}
	}
	if err := d.keep(ctx, o, record.ReadyForReview{}); err != nil {
		return err
	}
	return errStay
}

func (d *Desk) amend(ctx context.Context, o *Opened, _ string) error {
	typed, err := d.face.Ask(ctx, "number of the entry, as t lists them; what is right; why. It voids the signature. Enter leaves it > ")
	if err != nil || typed == "" {
		return err
	}
	parts := strings.SplitN(typed, ";", 3)
	seq, bad := strconv.ParseInt(strings.TrimSpace(parts[0]), 10, 64)
	if len(parts) != 3 || bad != nil || seq < 1 || seq > o.Summary.Events || safety.TooEasy(parts[2]) || strings.TrimSpace(parts[1]) == "" {
		d.face.Say("Not taken: a number of an entry, what is right and why, with ; between them.")
		return nil
	}
	body := record.Amended{Seq: seq, Text: report.Plain(strings.TrimSpace(parts[1])), Reason: report.Plain(strings.TrimSpace(parts[2]))}
	if err := d.keep(ctx, o, body); err != nil {
		return err
	}
	return errStay
}

func (d *Desk) recall(ctx context.Context, o *Opened, _ string) error {
	if why := d.outsider(o); why != "" {
		d.face.Say("Not recalled: " + why + ".")
		return nil
	}
	told, err := d.words(ctx, "who was told not to drive it? Enter leaves it > ")
	if err != nil || told == "" {
		return err
	}
	reason, err := d.words(ctx, "why? > ")
	if err != nil || reason == "" {
		return err
	}
	if err := d.keep(ctx, o, record.Recalled{Told: told, Reason: reason}); err != nil {
		return err
	}
	d.face.Say("Recalled.")
	return errStay
}

func (d *Desk) timeline(ctx context.Context, o *Opened, _ string) error {
	var b strings.Builder
	for _, e := range o.Events {
		body, err := e.Decode()
		if err != nil {
			return err
		}
		line := fmt.Sprintf("%4d  %s  %-17s %s", e.Seq, e.At.In(d.Zone).Format("2006-01-02 15:04:05"), e.Kind, report.Plain(report.Words(body)))
		fmt.Fprintln(&b, strings.TrimRight(line, " "))
	}
	d.face.Page(b.String())
	return d.shown(ctx)
}

func (d *Desk) numbers(ctx context.Context, o *Opened, _ string) error {
	var b strings.Builder
	report.ComparisonText(&b, o.Tests, true, d.Bench.Printer)
	d.face.Page(b.String())
	return d.shown(ctx)
}

// shown waits until a page was read.
func (d *Desk) shown(ctx context.Context) error {
	if _, err := d.face.Ask(ctx, "Enter goes back to the job > "); err != nil {
		return err
	}
	return errStay
}
