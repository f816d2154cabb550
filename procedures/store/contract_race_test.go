package store

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"testing"

	"daytank/procedures/record"
)

// manyAtOnce has writers that race for one job, each trying again from the new
// head when another was first: every accepted append is in the chain.
func manyAtOnce(t *testing.T, s Store) {
	raceForOneJob(t, []Store{s, s, s, s})
}

func raceForOneJob(t *testing.T, stores []Store) {
	const each = 10
	add(t, stores[0], record.Genesis(jobID(1)), created("VAN-07", 1))
	var writers sync.WaitGroup
	for i, s := range stores {
		writers.Go(func() {
			for n := range each {
				if err := appendWhenever(s, fmt.Sprintf("writer %d, note %d", i, n)); err != nil {
					t.Error(err)
				}
			}
		})
	}
	writers.Wait()
	events, err := stores[0].Events(t.Context(), jobID(1))
	if err != nil {
		t.Fatal(err)
	}
	if err := record.Verify(jobID(1), events, nil); err != nil {
		t.Error(err)
	}
	notes := map[string]bool{}
	for _, e := range events[1:] {
		note, err := record.As[record.Note](e)
		if err != nil {
			t.Fatal(err)
		}
		notes[note.Text] = true
	}
	if want := each * len(stores); len(notes) != want || len(events) != want+1 {
		t.Errorf("%d events with %d notes, want %d notes", len(events), len(notes), want)
	}
}

func appendWhenever(s Store, text string) error {
	for {
		now, err := s.Get(context.Background(), jobID(1))
		if err != nil {
			return err
		}
		head := record.Head{Job: now.Job, Seq: now.Events, Hash: now.Head}
		events, _, err := record.Seal(head, stampAt(morning, "Tobi Fenn"), record.Note{Text: text})
		if err != nil {
			return err
		}
		if err = s.Append(context.Background(), head, events); !errors.Is(err, ErrMoved) {
			return err
		}
	}
}
