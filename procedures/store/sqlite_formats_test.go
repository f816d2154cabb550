package store

import (
	"errors"
	"os"
	"slices"
	"strings"
	"testing"

	"daytank/procedures/record"

	"github.com/google/go-cmp/cmp"
	"github.com/google/uuid"
)

// A file of an older format is brought up to the present one once, with a copy of
// it as it was beside it; a change that fails leaves the file as it was.
func TestOlderFormatIsBroughtUp(t *testing.T) {
	older := func() string {
		path := temporaryPath(t)
		s := openTemporary(t, path)
		add(t, s, record.Genesis(jobID(1)), created("VAN-07", 1))
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
		return path
	}
	was := slices.Clip(migrations)
	defer func() { migrations = was }()

	path := older()
	migrations = append(was, "CREATE TABLE later (a); INSERT INTO later VALUES (7)", "ALTER TABLE later ADD COLUMN b")
	for range 2 {
		s := openTemporary(t, path)
		if got := pragmaOf(t, s, "user_version"); got != "5" {
			t.Errorf("format %s", got)
		}
		var rows int
		if err := s.db.QueryRow("SELECT count(*) FROM later WHERE b IS NULL").Scan(&rows); err != nil || rows != 1 {
			t.Errorf("%d rows, %v", rows, err)
		}
		events, err := s.Events(t.Context(), jobID(1))
		if err != nil || len(events) != 1 {
			t.Errorf("%d events, %v", len(events), err)
		}
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
	}
	info, err := os.Stat(path + ".format-3")
	if err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("the copy: %v, %v", info, err)
	}
	migrations = was
	if events, err := readAll(t, path+".format-3"); err != nil || len(events) != 1 {
		t.Errorf("the copy has %d events, %v", len(events), err)
	}
	if _, err := OpenSQLite(t.Context(), path); !errors.Is(err, ErrNewer) {
		t.Errorf("an older program opens the newer file: %v", err)
	}

	migrations = was
	path = older()
	migrations = append(was, "CREATE TABLE later (a)", "ALTER TABLE nothing ADD COLUMN b")
	if _, err := OpenSQLite(t.Context(), path); err == nil || !strings.Contains(err.Error(), "a copy is in") {
		t.Errorf("a change that fails: %v", err)
	}
	migrations = was
	if events, err := readAll(t, path); err != nil || len(events) != 1 {
		t.Errorf("after a change that failed: %d events, %v", len(events), err)
	}
}

func pragmaOf(t *testing.T, s *file, name string) string {
	t.Helper()
	var value string
	if err := s.db.QueryRow("PRAGMA " + name).Scan(&value); err != nil {
		t.Fatal(err)
	}
	return value
}

// A file of format 1 has no weights: brought up, each job has that which its events fold
// into.
func TestWeightsOfFormat1(t *testing.T) {
	path := temporaryPath(t)
	s := openTemporary(t, path)
	var want []record.Summary
	for n, bodies := range [][]record.Body{
		nil,
		{record.Acknowledged{Rule: "siphon", Key: "siphon", Words: "watched twice"}},
		{record.StepReopened{Step: "a", Reason: "went back"}, record.StepReopened{Step: "a", Reason: record.ProvedAgain + ": a break"}, record.Observation{What: record.NoProof + "20"}, record.Observation{What: "smoke"}},
		{record.Alarm{Name: "warm", Message: "it is warm", Mild: true}, record.Clock{DifferenceMS: 3000}, record.Corrected{Seq: 2, Text: "4", Reason: "misread"}},
		{record.HoldReleased{Step: "a", By: "Mara", Proved: true}, record.HoldReleased{Step: "b", By: "Mara"}},
		{record.HoldReleased{Step: "a", By: "Tobi Fenn"}, record.StepSkipped{Step: "c", Reason: "no coil"}, record.Deviation{Text: "by hand"}, record.Amended{Seq: 1, Text: "4", Reason: "misread"}},
		{record.Recalled{Told: "the owner", Reason: "weeping"}},
		{record.Alarm{Name: "hot", Message: "it is hot"}, record.Emergency{}},
		{record.Transcribed{}},
		{record.Created{Own: true}}, // stands for its first event
	} {
		first := created("VAN-07", int64(n+1))
		if len(bodies) == 1 && bodies[0].Kind() == record.KindCreated {
			first.Own = true
			bodies = nil
		}
		head := add(t, s, record.Genesis(jobID(n+1)), append([]record.Body{first}, bodies...)...)
		sum, err := s.Get(t.Context(), head.Job)
		if err != nil {
			t.Fatal(err)
		}
		want = append(want, sum)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	db := raw(t, path)
	run(t, db, `DROP TABLE identity`, `DROP INDEX jobs_by_state_weight`, `ALTER TABLE jobs DROP COLUMN weight`, `PRAGMA user_version = 1`)
	db.Close()
	s = openTemporary(t, path)
	defer s.Close()
	seen := map[record.Weight]bool{}
	for _, sum := range want {
		got, err := s.Get(t.Context(), sum.Job)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(sum, got); diff != "" {
			t.Errorf("(-folded +brought up)\n%s", diff)
		}
		seen[got.Weight] = true
	}
	if len(seen) != len(want) {
		t.Errorf("%d weights of %d jobs that differ", len(seen), len(want))
	}
	worst, err := s.Jobs(t.Context(), Query{WorstFirst: true, Limit: 2})
	if err != nil || worst[0].Weight.Worst() != record.RankOwn || worst[1].Weight.Worst() != record.RankTranscribed {
		t.Errorf("the worst are %v, %v", worst, err)
	}
}

// A file has an identity of its own from its making, or from the change to format 3 on.
// A copy of the file has the same one.
func TestIdentityOfAFile(t *testing.T) {
	path := temporaryPath(t)
	s := openTemporary(t, path)
	first, err := s.Identity(t.Context())
	if err != nil || first.Version() != 4 || first.Variant() != uuid.RFC4122 {
		t.Fatalf("%s of version %d, %v", first, first.Version(), err)
	}
	for _, statement := range []string{
		`UPDATE identity SET id = lower(id)`, `DELETE FROM identity`, `INSERT INTO identity VALUES (1, '018f3a5c-8000-7000-8000-000000000001')`,
		`REPLACE INTO identity VALUES (1, '018f3a5c-8000-7000-8000-000000000001')`,
	} {
		if _, err := s.db.Exec(statement); err == nil || !strings.Contains(err.Error(), "keeps its identity") {
			t.Errorf("%s: %v", statement, err)
		}
	}
	run(t, s.db, "VACUUM INTO '"+path+".copy'")
	if id, err := openTemporary(t, path+".copy").Identity(t.Context()); err != nil || id != first {
		t.Errorf("a copy has %s, %v; want %s", id, err, first)
	}
	s.Close()
	db := raw(t, path)
	run(t, db, `DROP TABLE identity`, `PRAGMA user_version = 2`)
	db.Close()
	brought, err := openTemporary(t, path).Identity(t.Context())
	if err != nil || brought == first || brought.Version() != 4 {
		t.Errorf("brought up to format 3: %s, %v", brought, err)
	}
}
