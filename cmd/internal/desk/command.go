package desk

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"daytank/procedures/record"
	"daytank/procedures/report"
)

// command is a letter of an opened job: what it does, in short and in a sentence, and when
// it is there.
type command struct {
	letter, does, about string
	is                  func(*Opened) bool
	do                  func(*Desk, context.Context, *Opened, string) error
}

func always(*Opened) bool { return true }

func inState(states ...record.State) func(*Opened) bool {
	return func(o *Opened) bool { return slices.Contains(states, o.Summary.State) }
}

var commands = []command{
	{
		"s", "sign", "signs the work or the result, whichever is due, with your key; what is to look at stands above",
		func(o *Opened) bool { return o.Sheet.Due != "" && o.Sheet.Intact }, (*Desk).sign,
	},
	{
		"b", "send back", "gives the job back to whoever did it, with what is to be explained or put right, a step at a time",
		inState(record.StateToReview, record.StateRecalled), (*Desk).sendBack,
	},
	{
		"x", "explain", "answers what was asked about a step, or what stands in the list, in your words",
		inState(record.StateSentBack, record.StateToReview), (*Desk).explain,
	},
	{
		"c", "correct", "puts an entry right, with the reason; what stood there stays in the record",
		inState(record.StateSentBack), (*Desk).correct,
	},
	{
		"o", "reopen a step", "has a step done again at the vehicle: daytank walk goes on there",
		inState(record.StateSentBack), (*Desk).reopen,
	},
	{
		"h", "hand in again", "gives the job to the review once more",
		inState(record.StateSentBack), (*Desk).handIn,
	},
	{
		"a", "amend", "puts an entry of a signed record right; the signature then no longer stands, and that shows",
		inState(record.StateSigned, record.StateWaiting), (*Desk).amend,
	},
	{
		"k", "recall", "takes a job back in, signed or not, with the reason",
		inState(record.StateToReview, record.StateWaiting, record.StateSigned), (*Desk).recall,
	},
	{"t", "all entries", "shows the whole record in its order", always, (*Desk).timeline},
	{"v", "numbers of the tests", "shows what the idle tests measured", func(o *Opened) bool { return len(o.Tests.States) > 0 }, (*Desk).numbers},
	{"n", "next", "opens the next job of the list", always, func(*Desk, context.Context, *Opened, string) error { return errNext }},
	{"u", "list", "goes back to the list", always, func(*Desk, context.Context, *Opened, string) error { return errQueue }},
	{"q", "leave", "leaves; everything signed or written is kept", always, func(*Desk, context.Context, *Opened, string) error { return errLeave }},
}

// commanded takes commands of a job until it is to be shown anew, or left.
func (d *Desk) commanded(ctx context.Context, o *Opened) error {
	var words []string
	var open []command
	for _, c := range commands {
		if c.is(o) {
			words, open = append(words, c.letter+" "+c.does), append(open, c)
		}
	}
	for {
		typed, err := d.face.Ask(ctx, strings.Join(words, ", ")+", ? help > ")
		if err != nil {
			return err
		}
		letter, rest, _ := strings.Cut(typed, " ")
		i := slices.IndexFunc(open, func(c command) bool { return c.letter == letter })
		switch {
		case letter == "?":
			for _, c := range open {
				d.face.Say(c.letter + " " + c.about + ".")
			}
		case i < 0:
			d.face.Say(fmt.Sprintf("%q is none of the letters for a job that is %s.", report.Plain(typed), o.Summary.State))
		default:
			if err := open[i].do(d, ctx, o, strings.TrimSpace(rest)); err != nil {
				return err
			}
		}
	}
}
