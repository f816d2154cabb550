package store

import (
	"errors"
	"os"
	"strings"
	"testing"

	"daytank/procedures/record"

	"github.com/google/go-cmp/cmp"
)

// filled has a file with one job of three events and a photo.
func filled(t *testing.T) (path string, events []record.Event) {
	t.Helper()
	path = temporaryPath(t)
	s := openTemporary(t, path)
	picture := record.Blob("picture")
	head := record.Genesis(jobID(1))
	events, _ = seal(t, head, stampAt(morning, "Tobi Fenn"), created("VAN-07", 1),
		record.Photo{Step: "a", File: "a.jpg", Blob: picture.Digest()}, record.Note{Text: "hose B"})
	if err := s.Append(t.Context(), head, events, picture); err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	return path, events
}

func TestTriggersForbidChanges(t *testing.T) {
	path, events := filled(t)
	db := raw(t, path)
	for statement, says := range map[string]string{
		`UPDATE events SET line = replace(line, 'B', 'C')`:           "never changed",
		`DELETE FROM events WHERE seq = 3`:                           "never removed",
		`REPLACE INTO events SELECT job, seq, 'x' FROM events`:       "after the last one",
		`INSERT OR REPLACE INTO events SELECT job, 9, 'x' FROM jobs`: "after the last one",
		`UPDATE blobs SET data = X'78'`:                              "never changed",
		`DELETE FROM blobs`:                                          "never removed",
		`UPDATE jobs SET number = 2`:                                 "never changed",
		`UPDATE jobs SET asset = 'TRAC-02'`:                          "never changed",
		`DELETE FROM jobs`:                                           "never removed",
		`REPLACE INTO jobs SELECT * FROM jobs`:                       "here already",
	} {
		if _, err := db.Exec(statement); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%s: got %v, want %q", statement, err, says)
		}
	}
	run(t, db, `REPLACE INTO blobs SELECT digest, X'78' FROM blobs`) // is passed over
	db.Close()
	s := openTemporary(t, path)
	wantEvents(t, s, jobID(1), events)
	if got, err := s.Blob(t.Context(), record.Blob("picture").Digest()); err != nil || string(got) != "picture" {
		t.Errorf("got %q, %v", got, err)
	}
}

// What is changed past the triggers is seen when it is read.
func TestChangedRowsAreDamage(t *testing.T) {
	for _, c := range []struct {
		statement string
		seq       int64
		says      string
	}{
		{`UPDATE events SET line = replace(line, 'hose B', 'hose C') WHERE seq = 3`, 3, "the contents give"},
		{`UPDATE events SET line = replace(line, '"by"', '"By"') WHERE seq = 2`, 2, `key "By"`},
		{`UPDATE events SET line = line || ' ' WHERE seq = 2`, 2, "canonical form"},
		{`UPDATE events SET line = '' WHERE seq = 1`, 1, "does not read"},
		{`UPDATE events SET line = (SELECT line FROM events WHERE seq = 2) WHERE seq = 3`, 3, "event 2 of job"},
		{`DELETE FROM events WHERE seq = 2`, 2, "event 3 stands in its place"},
		{`DELETE FROM events WHERE seq = 3`, 3, "missing: the job has 3 events, 2 are here"},
		{`DELETE FROM events`, 1, "missing"},
		{`UPDATE jobs SET events = 2`, 3, "stands after the last event"},
		{`UPDATE jobs SET head = '` + strings.Repeat("0", 64) + `'`, 3, "the job's head is 0000"},
	} {
		path, events := filled(t)
		db := raw(t, path)
		run(t, db, `DROP TRIGGER events_stay`, `DROP TRIGGER events_remain`, c.statement)
		db.Close()
		got, err := openTemporary(t, path).Events(t.Context(), jobID(1))
		var damage *record.Damage
		if !errors.As(err, &damage) || damage.Seq != c.seq || !strings.Contains(damage.Reason, c.says) {
			t.Errorf("%s: got %v, want event %d with %q", c.statement, err, c.seq, c.says)
		}
		if c.says != "stands after the last event" && !strings.Contains(c.says, "head") {
			if diff := cmp.Diff(events[:c.seq-1], got, emptyIsNil); diff != "" {
				t.Errorf("%s: the events before it: %s", c.statement, diff)
			}
		}
	}
}

var emptyIsNil = cmp.Transformer("length", func(events []record.Event) map[int64]record.Hash {
	hashes := map[int64]record.Hash{}
	for _, e := range events {
		hashes[e.Seq] = e.Hash
	}
	return hashes
})

func TestChangedBlobIsRefused(t *testing.T) {
	path, _ := filled(t)
	db := raw(t, path)
	run(t, db, `DROP TRIGGER blobs_stay`, `UPDATE blobs SET data = CAST('pictura' AS BLOB)`)
	db.Close()
	digest := record.Blob("picture").Digest()
	if got, err := openTemporary(t, path).Blob(t.Context(), digest); got != nil || err == nil || !strings.Contains(err.Error(), "blob "+digest.String()+" is altered") {
		t.Errorf("got %q, %v", got, err)
	}
}

// Bytes overwritten in the file give an error or the events as they were, never
// other events.
func TestDamagedPagesAreNeverOtherEvents(t *testing.T) {
	path, events := filled(t)
	whole, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	seen := 0
	const header = 100 // bytes
	for at := header; at < len(whole); at += 509 {
		damaged := append([]byte{}, whole...)
		for i := at; i < min(at+40, len(damaged)); i++ {
			damaged[i] ^= 0xa5
		}
		path := temporaryPath(t)
		if err := os.WriteFile(path, damaged, 0o600); err != nil {
			t.Fatal(err)
		}
		if got, err := readAll(t, path); err != nil {
			seen++
		} else if diff := cmp.Diff(events, got); diff != "" {
			t.Errorf("damage at byte %d: %s", at, diff)
		}
	}
	if seen == 0 {
		t.Error("no damage was seen")
	}
}

func readAll(t *testing.T, path string) ([]record.Event, error) {
	s, err := OpenSQLite(t.Context(), path)
	if err != nil {
		return nil, err
	}
	defer s.Close()
	return s.Events(t.Context(), jobID(1))
}

func TestCutFileIsRefused(t *testing.T) {
	path, _ := filled(t)
	info, err := os.Stat(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.Truncate(path, info.Size()/2); err != nil {
		t.Fatal(err)
	}
	if _, err := readAll(t, path); err == nil || !strings.Contains(err.Error(), "the file is damaged") {
		t.Errorf("got %v", err)
	}
}

// The write-ahead log taken away from under a file that was not closed: what is
// left is an earlier state of the record, whole, or an error; never a record with
// a gap or other events.
func TestLogTakenAway(t *testing.T) {
	path := temporaryPath(t)
	s := openTemporary(t, path)
	head := record.Genesis(jobID(1))
	var all []record.Event
	for n := range 5 {
		body := record.Body(record.Note{Text: strings.Repeat("x", n)})
		if n == 0 {
			body = created("VAN-07", 1)
		}
		events, next := seal(t, head, stampAt(morning, "Tobi Fenn"), body)
		if err := s.Append(t.Context(), head, events); err != nil {
			t.Fatal(err)
		}
		head, all = next, append(all, events...)
	}
	// As after a loss of power: the file as it is, without its log.
	copied := temporaryPath(t)
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(copied, data, 0o600); err != nil {
		t.Fatal(err)
	}
	got, err := readAll(t, copied)
	switch {
	case errors.Is(err, ErrUnknown), err != nil && strings.Contains(err.Error(), copied):
		return
	case err != nil:
		t.Fatal(err)
	}
	if len(got) > len(all) {
		t.Fatalf("%d events of %d", len(got), len(all))
	}
	if diff := cmp.Diff(all[:len(got)], got); diff != "" {
		t.Error(diff)
	}
	if err := record.Verify(jobID(1), got, nil); err != nil {
		t.Error(err)
	}
}
