package store

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"sync"
	"testing"
	"time"

	"daytank/procedures/record"
	"daytank/procedures/store/cluster"
)

// The cable is cut when a word goes by, and is back at once or only later: the append
// happened or did not, and what is said of it is so.
func TestCableCutDuringAnAppend(t *testing.T) {
	server := shop.Server(t)
	name := shop.Database(t, cluster.Template)
	direct := openShared(t, name)
	c := cluster.Lay(t, server)
	s := openAs(t, c.Address(name, cluster.Bay))
	head := add(t, s, record.Genesis(jobID(1)), created("VAN-07", 1))
	s.patience = time.Second
	const soon = 50 * time.Millisecond
	said := func(fromServer bool, word string) func(bool, []byte) bool {
		return func(from bool, data []byte) bool { return from == fromServer && bytes.Contains(data, []byte(word)) }
	}
	for _, k := range []struct {
		name  string
		when  func(fromServer bool, data []byte) bool
		back  time.Duration // 0: away for long
		kept  bool
		wants error // nil: acknowledged
	}{
		{"before anything", said(false, "BEGIN"), 0, false, ErrUnreachable},
		{"before the append", said(false, "append("), soon, false, ErrUnreachable},
		{"after the append", said(true, "kept"), soon, false, ErrUnreachable},
		{"before the commit", said(false, "COMMIT\x00"), soon, false, ErrUnreachable},
		{"after the commit", said(true, "COMMIT\x00"), soon, true, nil},
		{"before the commit, for long", said(false, "COMMIT\x00"), 0, false, errNotKnown},
		{"after the commit, for long", said(true, "COMMIT\x00"), 0, true, errNotKnown},
	} {
		c.Watch(k.back, k.when)
		events, next := seal(t, head, stampAt(morning, "Tobi Fenn"), record.Note{Text: k.name})
		err := s.Append(t.Context(), head, events)
		if !errors.Is(err, k.wants) || errors.Is(err, errNotKnown) != (k.wants == errNotKnown) {
			t.Errorf("%s: got %v, want %v", k.name, err, k.wants)
		}
		c.Mend()
		now, err := direct.Get(t.Context(), jobID(1))
		if err != nil {
			t.Fatal(err)
		}
		if kept := now.Head == next.Hash; kept != k.kept {
			t.Errorf("%s: kept is %t", k.name, kept)
		} else if kept {
			head = next
		}
		head = add(t, s, head, record.Note{Text: "and on"})
	}
	chain, err := direct.Events(t.Context(), jobID(1))
	if err != nil {
		t.Fatal(err)
	}
	if err := record.Verify(jobID(1), chain, nil); err != nil {
		t.Error(err)
	}
}

// A network that swallows everything ends with the patience of whoever waits.
func TestSilentNetwork(t *testing.T) {
	name := shop.Database(t, cluster.Template)
	c := cluster.Lay(t, shop.Server(t))
	s := openAs(t, c.Address(name, cluster.Bay))
	head := add(t, s, record.Genesis(jobID(1)), created("VAN-07", 1))
	block := make(chan struct{})
	c.Watch(0, func(bool, []byte) bool { <-block; return true })
	defer close(block)
	ctx, cancel := context.WithTimeout(t.Context(), 200*time.Millisecond)
	defer cancel()
	events, _ := seal(t, head, stampAt(morning, "Tobi Fenn"), record.Note{Text: "x"})
	start := time.Now()
	wantError(t, "append", s.Append(ctx, head, events), ErrUnreachable)
	if took := time.Since(start); took > 5*time.Second {
		t.Errorf("took %s", took)
	}
}

// The server is killed again and again in the middle of appends: what it acknowledged is
// there when it is back, and the chains are whole.
func TestKilledServerLosesNothingAcknowledged(t *testing.T) {
	ctx := context.Background()
	server := shop.Server(t)
	name := shop.Database(t, cluster.Template)
	const bays = 4
	var acknowledged [bays]int64
	rounds := 3
	if raceDetector {
		rounds = 1
	}
	for round := range rounds {
		var writers sync.WaitGroup
		reached := make(chan struct{}, bays)
		for i := range bays {
			writers.Go(func() {
				acknowledged[i] = appendUntilCut(t, server.Address(name, cluster.Bay), i+1, acknowledged[i], reached)
			})
		}
		for range bays {
			<-reached
		}
		time.Sleep(time.Duration(round*7) * time.Millisecond)
		if err := server.Kill(); err != nil {
			t.Fatal(err)
		}
		writers.Wait()
		if err := server.Run(ctx, cluster.Fast); err != nil {
			t.Fatal(err)
		}
		s := openShared(t, name)
		for i, n := range acknowledged {
			checkSurvivors(t, s, i+1, n)
		}
		s.Close()
	}
}

// appendUntilCut appends to a job until the server is gone, and gives the last event that
// was acknowledged. It says when it has got somewhere.
func appendUntilCut(t *testing.T, address string, n int, from int64, reached chan<- struct{}) int64 {
	said := sync.OnceFunc(func() { reached <- struct{}{} })
	defer said()
	s, err := OpenPostgres(context.Background(), address)
	if err != nil {
		t.Error(err)
		return from
	}
	defer s.Close()
	s.(*postgres).patience = 200 * time.Millisecond
	head := record.Genesis(jobID(n))
	bodies := []record.Body{created("VAN-07", int64(n))}
	if now, err := s.Get(context.Background(), jobID(n)); err == nil {
		head, bodies = record.Head{Job: now.Job, Seq: now.Events, Hash: now.Head}, nil
	}
	for start := head.Seq; ; bodies = nil {
		picture := record.Blob(fmt.Sprintf("picture %d of %d", head.Seq, n))
		events, next, err := record.Seal(head, stampAt(morning, "Tobi Fenn"), append(bodies, record.Photo{Step: "a", File: "a.jpg", Blob: picture.Digest()}, record.Note{Text: "b"})...)
		if err != nil {
			t.Error(err)
			return from
		}
		if err := s.Append(context.Background(), head, events, picture); err != nil {
			if !errors.Is(err, ErrUnreachable) {
				t.Error(err)
			}
			return max(from, head.Seq)
		}
		if head = next; head.Seq > start+10 {
			said()
		}
	}
}
