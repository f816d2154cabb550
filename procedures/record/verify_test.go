package record

import (
	"context"
	"encoding/json"
	"errors"
	"slices"
	"strings"
	"testing"
	"time"
)

func sampleBlob(h Hash) ([]byte, error) {
	for _, b := range blobsVan {
		if b.Digest() == h {
			return b, nil
		}
	}
	return nil, errors.New("not here")
}

func TestVerifyTakesTheWholeChain(t *testing.T) {
	if err := Verify(jobVan, sampleChain(t), sampleBlob); err != nil {
		t.Error(err)
	}
}

// resealFrom gives the chain with one event changed and everything from there
// on sealed again, as somebody would who has the whole file.
func resealFrom(events []Event, i int, change func(*Event)) []Event {
	changed := slices.Clone(events)
	change(&changed[i])
	changed[i].Hash = changed[i].digest()
	for j := i + 1; j < len(changed); j++ {
		changed[j].Prev = changed[j-1].Hash
		changed[j].Hash = changed[j].digest()
	}
	return changed
}

func TestVerifyNamesTheFirstBadEvent(t *testing.T) {
	whole := sampleChain(t)
	edit := func(i int, change func(*Event)) []Event {
		events := slices.Clone(whole)
		change(&events[i])
		return events
	}
	other := mustSeal(t, Genesis(jobBoat), Created{Asset: "BOAT-11", Number: 1})
	for _, c := range []struct {
		name   string
		events []Event
		seq    int64
		says   string
	}{
		{"nothing", nil, 1, "no events"},
		{"first missing", whole[1:], 1, "event 2 stands in its place"},
		{"one missing", slices.Delete(slices.Clone(whole), 2, 3), 3, "event 4 stands in its place"},
		{"one twice", slices.Insert(slices.Clone(whole), 3, whole[2]), 4, "event 3 stands in its place"},
		{"two exchanged", append(slices.Clone(whole[:2]), whole[3], whole[2]), 3, "event 4 stands in its place"},
		{"another job's event", append(slices.Clone(other), whole[1:]...), 1, "belongs to the job " + jobBoat.String()},
		{"words altered", edit(3, func(e *Event) { e.Body = json.RawMessage(`{"level":"3.60"}`) }), 4, "the contents give"},
		{"name altered", edit(1, func(e *Event) { e.By = "Ines Holm" }), 2, "the contents give"},
		{"time altered", edit(4, func(e *Event) { e.At = e.At.Add(time.Hour) }), 5, "the contents give"},
		{"time finer than the line", edit(4, func(e *Event) { e.At = e.At.Add(time.Microsecond) }), 5, "finer than a millisecond"},
		{"hash altered", edit(2, func(e *Event) { e.Hash[0] ^= 1 }), 3, "the contents give"},
		{"altered, hash made right", edit(2, func(e *Event) { e.By = "Ines Holm"; e.Hash = e.digest() }), 4, "event 3 has the hash"},
		{"prev altered, hash made right", edit(2, func(e *Event) { e.Prev[31] ^= 1; e.Hash = e.digest() }), 3, "event 2 has the hash"},
		{"first prev of another job", resealFrom(whole, 0, func(e *Event) { e.Prev = Genesis(jobBoat).Hash }), 1, "hash of its job"},
		{"first is not created", resealFrom(whole, 0, func(e *Event) { e.Kind = KindNote }), 1, "the first event is note"},
		{"created again", resealFrom(whole, 5, func(e *Event) { e.Kind = KindCreated }), 6, "after the first place"},
		{"body not canonical", resealFrom(whole, 5, func(e *Event) { e.Body = json.RawMessage(`{"text": "x"}`) }), 6, "canonical form"},
		{"body not an object", resealFrom(whole, 5, func(e *Event) { e.Body = nil }), 6, "does not read"},
		{"body does not fit", resealFrom(whole, 5, func(e *Event) { e.Body = json.RawMessage(`{"text":7}`) }), 6, "body does not fit"},
		{"digest does not read", resealFrom(whole, 4, func(e *Event) { e.Body = json.RawMessage(`{"blob":"AB"}`) }), 5, "body does not fit"},
		{"kind that no kind is", resealFrom(whole, 5, func(e *Event) { e.Kind = "Note" }), 6, "kind is"},
		{"nobody", resealFrom(whole, 5, func(e *Event) { e.By = "" }), 6, "nobody"},
	} {
		err := Verify(jobVan, c.events, sampleBlob)
		var damage *Damage
		if !errors.As(err, &damage) {
			t.Errorf("%s: got %v, want damage", c.name, err)
			continue
		}
		if damage.Seq != c.seq || !strings.Contains(damage.Reason, c.says) {
			t.Errorf("%s: got event %d, %q; want event %d, with %q", c.name, damage.Seq, damage.Reason, c.seq, c.says)
		}
	}
}

func TestVerifyLooksAtBlobs(t *testing.T) {
	events := sampleChain(t)
	for _, c := range []struct {
		name string
		blob func(Hash) ([]byte, error)
		seq  int64
		says string
	}{
		{"missing", func(h Hash) ([]byte, error) {
			if h == blobsVan[4].Digest() {
				return nil, errors.New("not here")
			}
			return sampleBlob(h)
		}, 5, "blob " + blobsVan[4].Digest().String() + ": not here"},
		{"altered", func(h Hash) ([]byte, error) {
			b, err := sampleBlob(h)
			if h == blobsVan[1].Digest() {
				b = []byte("plam")
			}
			return b, err
		}, 1, "is altered"},
		{"empty", func(Hash) ([]byte, error) { return nil, nil }, 1, "is altered"},
	} {
		var damage *Damage
		if err := Verify(jobVan, events, c.blob); !errors.As(err, &damage) || damage.Seq != c.seq || !strings.Contains(damage.Reason, c.says) {
			t.Errorf("%s: got %v, want event %d with %q", c.name, err, c.seq, c.says)
		}
	}
	if err := Verify(jobVan, events, nil); err != nil {
		t.Errorf("without blobs: %v", err)
	}
}

func TestVerifyHandsBackAnEndedContext(t *testing.T) {
	err := Verify(jobVan, sampleChain(t), func(Hash) ([]byte, error) { return nil, context.Canceled })
	var damage *Damage
	if !errors.Is(err, context.Canceled) || errors.As(err, &damage) {
		t.Errorf("got %v, want the context's end and no damage", err)
	}
}

// What the package comment owns up to: a chain cut at its end, or sealed again
// as a whole, is a chain.
func TestVerifyCannotSeeWhatOnlyAHeadElsewhereShows(t *testing.T) {
	whole := sampleChain(t)
	if err := Verify(jobVan, whole[:3], nil); err != nil {
		t.Error(err)
	}
	forged := resealFrom(whole, 3, func(e *Event) { e.By = "Ines Holm" })
	if err := Verify(jobVan, forged, nil); err != nil {
		t.Error(err)
	}
	if forged[5].Hash == whole[5].Hash {
		t.Error("the forged chain has the same head")
	}
}
