package cli

import (
	"context"
	"errors"
	"fmt"
	"time"

	"daytank/cmd/internal/prompt"
	"daytank/procedures/record"
	"daytank/procedures/report"
	"daytank/procedures/store"
	"daytank/procedures/store/share"
)

// How long work is held up by a server that does not answer: before it begins, and after it.
const (
	patienceBefore = 3 * time.Second
	patienceAfter  = 15 * time.Second
)

// exchange sends and fetches what differs, where records are shared and the server answers.
// Whatever goes wrong is said, and is no hindrance: work goes on with the records here.
func (a *app) exchange(ctx context.Context, patience time.Duration) {
	s, err := a.settings()
	if err != nil || s.Share == "" || a.flags.shared {
		return
	}
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), patience)
	defer cancel()
	l, stamp, closes, err := a.linkBy(ctx)
	if err != nil {
		a.tellUnsent(err)
		return
	}
	defer closes()
	all, err := l.SendAll(ctx, stamp)
	for _, o := range all {
		switch {
		case o.Err != nil:
			fmt.Fprintf(a.env.Stderr, "%s: %s is not shared: %s\n", program, prompt.Plain(o.Name), prompt.Plain(o.Err.Error()))
		case o.Sent+o.Fetched > 0:
			fmt.Fprintf(a.env.Stderr, "shared: %s, %d events sent, %d fetched; held by %s\n", prompt.Plain(o.Name), o.Sent, o.Fetched, prompt.Plain(o.Holder.Words()))
		}
	}
	if err != nil {
		a.tellUnsent(err)
	}
}

func (a *app) tellUnsent(err error) {
	fmt.Fprintf(a.env.Stderr, "%s: not shared now: %s\n", program, prompt.Plain(err.Error()))
	if hint := store.Hint(err); hint != "" {
		fmt.Fprintf(a.env.Stderr, "hint: %s\n", hint)
	}
}

// handBack gives the jobs that were sent back to the bays that they came from; done at the
// shared records alone.
func (a *app) handBack(ctx context.Context) error {
	if !a.flags.shared {
		return nil
	}
	office, err := a.openOffice(ctx)
	if err != nil {
		return err
	}
	defer office.Store.Close()
	jobs, err := office.Store.Held(ctx, office.ID, store.Query{States: []record.State{record.StateSentBack}})
	if err != nil {
		return err
	}
	for _, sum := range jobs {
		stamp, err := a.carrier(office.Name)
		if err != nil {
			return err
		}
		to, err := office.HandBack(ctx, sum.Job, stamp)
		var held *share.NotHeld
		switch {
		case errors.As(err, &held), errors.Is(err, store.ErrMoved): // somebody took it over meanwhile
			continue
		case err != nil:
			return err
		}
		fmt.Fprintf(a.env.Stdout, "%s is handed back to %s.\n", prompt.Plain(report.Name(sum)), prompt.Plain(to.Words()))
	}
	return nil
}
