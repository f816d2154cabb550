// Package desk is the supervisor's table: the queue of jobs to review, the worst first,
// and one job opened, with everything that whoever was not there must see. It is signed,
// sent back, explained, recalled and left for the next without leaving the program.
//
// It is one conversation with two faces, plain lines and a full screen: what is shown and
// asked is the same. Every answer is stored before it is shown; a signature is checked
// against the list of signers before it is stored. What a sign-off is worth is package
// review's to say, and what is to be looked at as well.
package desk

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"golang.org/x/crypto/ssh"

	"daytank/cmd/internal/sitting"
	"daytank/procedures/record"
	"daytank/procedures/report"
	"daytank/procedures/review"
	"daytank/procedures/store"
)

// Face is how the conversation is held.
type Face interface {
	// Page shows a text from its beginning, in place of the one before.
	Page(text string)
	// Say shows a sentence below it.
	Say(text string)
	// Ask puts a question and gives the line typed, without surrounding space. The
	// error ends the conversation.
	Ask(ctx context.Context, question string) (string, error)
	// Secret is Ask for what is not shown.
	Secret(ctx context.Context, question string) (string, error)
	// Columns is how wide a line may be.
	Columns() int
}

// Config is what a desk works with.
type Config struct {
	Bench   sitting.Bench // in the name of whoever reviews
	Name    string        // of whoever reviews
	Zone    *time.Location
	Now     func() time.Time
	Signers *review.Signers // nil: there is no list, and nobody signs
	NoList  string          // then: what to do about it
	// Key gives the key to sign with, and asks for its passphrase if it has one.
	Key   func(secret func(question string) (string, error)) (ssh.Signer, error)
	Query store.Query // which jobs; without states those to review
}

// Desk is a conversation about jobs.
type Desk struct {
	Config
	face Face
	key  ssh.Signer // unlocked once
	rows []record.Summary
	skip int
}

// perPage is how many jobs a page of the queue has.
const perPage = 15

// New makes a desk.
func New(c Config, face Face) *Desk {
	if len(c.Query.States) == 0 {
		c.Query.States = []record.State{record.StateToReview}
	}
	c.Query.WorstFirst = true
	return &Desk{Config: c, face: face}
}

// errNext asks for the next job, errQueue for the list.
var (
	errNext  = errors.New("next")
	errQueue = errors.New("queue")
	errLeave = errors.New("leave")
)

// Run shows the queue, or one job first, until the person leaves.
func (d *Desk) Run(ctx context.Context, first *record.Summary) error {
	if first != nil {
		if err := d.from(ctx, *first); err != nil {
			return left(err)
		}
	}
	for {
		if err := d.queue(ctx); err != nil {
			return left(err)
		}
	}
}

func left(err error) error {
	if errors.Is(err, errLeave) {
		return nil
	}
	return err
}

func (d *Desk) load(ctx context.Context) error {
	q := d.Query
	q.Limit, q.Offset = perPage, d.skip
	var err error
	d.rows, err = d.Bench.Store.Jobs(ctx, q)
	return err
}

// queue shows a page of the queue and takes one command.
func (d *Desk) queue(ctx context.Context) error {
	if err := d.load(ctx); err != nil {
		return err
	}
	text, err := d.queueText(ctx)
	if err != nil {
		return err
	}
	d.face.Page(text)
	more := ""
	if len(d.rows) == perPage || d.skip > 0 {
		more = "m more, "
	}
	question := fmt.Sprintf("number opens a job; %sf filter, ? help, q leave > ", more)
	for {
		typed, err := d.face.Ask(ctx, question)
		if err != nil {
			return err
		}
		switch n, bad := strconv.Atoi(typed); {
		case bad == nil && n > d.skip && n <= d.skip+len(d.rows):
			return d.from(ctx, d.rows[n-1-d.skip])
		case typed == "q":
			return errLeave
		case typed == "?":
			for _, about := range queueHelp {
				d.face.Say(about)
			}
		case typed == "m":
			d.skip += perPage
			if len(d.rows) < perPage {
				d.skip = 0
			}
			return nil
		case typed == "f" || strings.HasPrefix(typed, "f "):
			return d.filter(ctx, strings.TrimSpace(typed[1:]))
		default:
			d.face.Say(fmt.Sprintf("%q is neither a number of the list nor one of the letters.", report.Plain(typed)))
		}
	}
}

// queueHelp says what stands in the list and what can be typed there.
var queueHelp = []string{
	"A number and Enter open a job, with all that somebody who was not there must see. The worst stands first: by the gravest thing in it, then by how many there are.",
	"Items are what is to look at: what was skipped, done otherwise, corrected, called out, or too fast. An opened job adds what is seen only by reading it: cautions, missing photos, what does not balance.",
	"f lists others: f asset=VAN-07, f by=NAME, f state=signed; f alone, then Enter, those to review. m shows more, q leaves.",
}

func (d *Desk) queueText(ctx context.Context) (string, error) {
	var b strings.Builder
	var states []string
	for _, s := range d.Query.States {
		states = append(states, strings.ToUpper(string(s)))
	}
	fmt.Fprintf(&b, "%s, the worst first", strings.Join(states, ", "))
	if d.Query.Asset != "" {
		fmt.Fprintf(&b, "; of %s", report.Plain(d.Query.Asset))
	}
	if d.Query.Operator != "" {
		fmt.Fprintf(&b, "; by %s", report.Plain(d.Query.Operator))
	}
	fmt.Fprintln(&b)
	if len(d.rows) == 0 {
		b.WriteString("\nnothing is here to review\n")
		return b.String(), nil
	}
	rows, err := Rows(ctx, d.Bench.Store, d.rows, d.Zone)
	if err != nil {
		return "", err
	}
	report.QueueText(&b, rows, d.skip+1)
	return b.String(), nil
}

// filter takes what is to be listed: asset=NAME, by=NAME, state=WORDS; nothing lists those
// to review.
func (d *Desk) filter(ctx context.Context, typed string) error {
	if typed == "" {
		var err error
		if typed, err = d.face.Ask(ctx, "asset=NAME, by=NAME or state=WORDS, several with a comma between; Enter for all to review > "); err != nil {
			return err
		}
	}
	q := store.Query{States: []record.State{record.StateToReview}, WorstFirst: true}
	for _, part := range strings.Split(typed, ",") {
		key, value, _ := strings.Cut(strings.TrimSpace(part), "=")
		value = strings.TrimSpace(value)
		switch strings.TrimSpace(key) {
		case "":
		case "asset":
			q.Asset = value
		case "by":
			q.Operator = value
		case "state":
			if !slices.Contains(record.States(), record.State(value)) {
				d.face.Say(fmt.Sprintf("%q is no state; they are: %s.", report.Plain(value), record.StateNames()))
				return nil
			}
			q.States = []record.State{record.State(value)}
		default:
			d.face.Say(fmt.Sprintf("%q is none of asset, by and state.", report.Plain(key)))
			return nil
		}
	}
	d.Query, d.skip = q, 0
	return nil
}

// from opens a job, and the next ones as long as that is wished.
func (d *Desk) from(ctx context.Context, sum record.Summary) error {
	for {
		err := d.job(ctx, sum)
		switch {
		case errors.Is(err, errQueue):
			return nil
		case !errors.Is(err, errNext):
			return err
		}
		next, ok, err := d.next(ctx, sum)
		if err != nil {
			return err
		}
		if !ok {
			d.face.Say("That was the last one of the list.")
			return nil
		}
		sum = next
	}
}

// next gives the job of the list after one, whether that is still in it or not.
func (d *Desk) next(ctx context.Context, after record.Summary) (record.Summary, bool, error) {
	q := d.Query
	q.Limit = 0
	all, err := d.Bench.Store.Jobs(ctx, q)
	if err != nil {
		return record.Summary{}, false, err
	}
	passed := false
	for _, s := range all {
		switch {
		case s.Job == after.Job:
			passed = true
		case passed, s.Weight < after.Weight, s.Weight == after.Weight && s.Created.Before(after.Created):
			return s, true, nil
		}
	}
	return record.Summary{}, false, nil
}
