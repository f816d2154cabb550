package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"daytank/procedures/record"

	"github.com/google/go-cmp/cmp"
	"github.com/google/uuid"
)

func temporaryPath(t testing.TB) string { return filepath.Join(t.TempDir(), "records.db") }

// raw opens the file as any other program would.
func raw(t testing.TB, path string) *sql.DB {
	t.Helper()
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { db.Close() })
	return db
}

func run(t testing.TB, db *sql.DB, statements ...string) {
	t.Helper()
	for _, s := range statements {
		if _, err := db.Exec(s); err != nil {
			t.Fatalf("%s: %v", s, err)
		}
	}
}

func TestFileAndFoldersAreTheOwnersOnly(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "data", "daytank")
	path := filepath.Join(folder, "records.db")
	add(t, openTemporary(t, path), record.Genesis(jobID(1)), created("VAN-07", 1))
	for name, want := range map[string]os.FileMode{
		filepath.Dir(folder): 0o700, folder: 0o700, path: 0o600, path + "-wal": 0o600, path + "-shm": 0o600,
	} {
		info, err := os.Stat(name)
		if err != nil {
			t.Fatal(err)
		}
		if got := info.Mode().Perm(); got != want {
			t.Errorf("%s has mode %o, want %o", name, got, want)
		}
	}
}

func TestPathsThatLookLikeParameters(t *testing.T) {
	for _, name := range []string{"a?mode=memory", "50% done", "#1", "a b&c", "ü;", ":memory:", "file:x"} {
		path := filepath.Join(t.TempDir(), name, name)
		s := openTemporary(t, path)
		add(t, s, record.Genesis(jobID(1)), created("VAN-07", 1))
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
		if info, err := os.Stat(path); err != nil || info.Size() == 0 {
			t.Errorf("%q: the file is not where it should be: %v", path, err)
		}
	}
}

func TestReopening(t *testing.T) {
	path := temporaryPath(t)
	head := record.Genesis(jobID(1))
	var want []record.Event
	for n := range 5 {
		s := openTemporary(t, path)
		body := record.Body(record.Note{Text: fmt.Sprint(n)})
		if n == 0 {
			body = created("VAN-07", 1)
		}
		events, next := seal(t, head, stampAt(morning, "Tobi Fenn"), body)
		if err := s.Append(t.Context(), head, events); err != nil {
			t.Fatal(err)
		}
		head, want = next, append(want, events...)
		wantEvents(t, s, jobID(1), want)
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
	}
}

func TestWhatConnectionsRunWith(t *testing.T) {
	s := openTemporary(t, temporaryPath(t))
	want := map[string]string{
		"journal_mode": "wal", "synchronous": "2", "foreign_keys": "1", "busy_timeout": "5000",
		"application_id": "1685352043", "user_version": "3",
	}
	ctx := t.Context()
	for range 2 { // the second connection is opened beside the first
		conn, err := s.db.Conn(ctx)
		if err != nil {
			t.Fatal(err)
		}
		defer conn.Close()
		got := map[string]string{}
		for name := range want {
			var value string
			if err := conn.QueryRowContext(ctx, "PRAGMA "+name).Scan(&value); err != nil {
				t.Fatal(err)
			}
			got[name] = value
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Error(diff)
		}
	}
}

func TestPragmaThatWasNotTakenIsRefused(t *testing.T) {
	path, _ := filled(t)
	for _, asked := range []pragma{
		{"_synchronous", "NORMAL", "synchronous", "2"},
		{"_pragma", "synchronus(2)", "synchronus", "2"}, // passed over in silence
		{"_foreign_keys", "off", "foreign_keys", "1"},
	} {
		db, err := connect(path, []pragma{asked})
		if err != nil {
			t.Fatal(err)
		}
		defer db.Close()
		if err := db.Ping(); err == nil || !strings.Contains(err.Error(), "pragma "+asked.name) {
			t.Errorf("%s: got %v", asked.key, err)
		}
	}
}

func TestFilesOfOthersAreRefusedAndLeftAlone(t *testing.T) {
	database := func(statements ...string) func(*testing.T, string) {
		return func(t *testing.T, path string) {
			db := raw(t, path)
			run(t, db, statements...)
			db.Close()
		}
	}
	content := func(text string) func(*testing.T, string) {
		return func(t *testing.T, path string) {
			if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
				t.Fatal(err)
			}
		}
	}
	for _, c := range []struct {
		name string
		make func(*testing.T, string)
		want error
		says string
	}{
		{"a database without marks", database(`CREATE TABLE notes (n)`), ErrForeign, "application_id is 0x0, want 0x64746e6b"},
		{"another program's", database(`PRAGMA application_id = 7`, `CREATE TABLE notes (n)`), ErrForeign, "application_id is 0x7"},
		{"a newer format", database(`PRAGMA application_id = 1685352043`, `PRAGMA user_version = 4`, `CREATE TABLE notes (n)`), ErrNewer, "format 4, this version reads format 3"},
		{"a format that never was", database(`PRAGMA application_id = 1685352043`, `CREATE TABLE notes (n)`), ErrForeign, "format 0"},
		{"a text", content("asset: VAN-07\n"), ErrForeign, "no database"},
		{"a long text", content(strings.Repeat("asset: VAN-07\n", 100)), ErrForeign, "no database"},
		{"a cut header", content("SQLite format 3\x00\x10"), ErrForeign, "no database"},
	} {
		path := temporaryPath(t)
		c.make(t, path)
		before, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		_, err = OpenSQLite(t.Context(), path)
		if !errors.Is(err, c.want) || !strings.Contains(err.Error(), c.says) || !strings.Contains(err.Error(), path) {
			t.Errorf("%s: got %v, want %v with %q and the path", c.name, err, c.want, c.says)
		}
		after, err := os.ReadFile(path)
		if err != nil || string(before) != string(after) {
			t.Errorf("%s: the file was changed", c.name)
		}
	}
}

func TestPathsThatCannotBeOpened(t *testing.T) {
	folder := t.TempDir()
	if err := os.WriteFile(filepath.Join(folder, "plain"), nil, 0o600); err != nil {
		t.Fatal(err)
	}
	for _, path := range []string{"", folder, filepath.Join(folder, "plain", "records.db"), "/proc/daytank/records.db"} {
		if s, err := OpenSQLite(t.Context(), path); err == nil || !strings.Contains(err.Error(), "record store "+path) {
			t.Errorf("%q: got %v, %v", path, s, err)
		}
	}
}

func TestNetworkTypes(t *testing.T) {
	if runtime.GOOS != "linux" {
		return
	}
	if name, err := networkFileSystem(t.TempDir()); err != nil || name != "" {
		t.Errorf("the temporary folder: got %q, %v", name, err)
	}
	if _, err := networkFileSystem(filepath.Join(t.TempDir(), "none")); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("a folder that is not there: got %v", err)
	}
}

func TestManyMakeTheFileAtOnce(t *testing.T) {
	for range 5 {
		path := temporaryPath(t)
		stores := make([]Store, 6)
		var openers sync.WaitGroup
		for i := range stores {
			openers.Go(func() {
				s, err := OpenSQLite(context.Background(), path)
				if err != nil {
					t.Error(err)
				}
				stores[i] = s
			})
		}
		openers.Wait()
		if t.Failed() {
			return
		}
		for i, s := range stores {
			add(t, s, record.Genesis(jobID(i)), created("VAN-07", int64(i+1)))
			defer s.Close()
		}
	}
}

func TestTwoStoresOnOneFile(t *testing.T) {
	path := temporaryPath(t)
	one, two := openTemporary(t, path), openTemporary(t, path)
	head := add(t, one, record.Genesis(jobID(1)), created("VAN-07", 1))
	mine, _ := seal(t, head, stampAt(morning, "Tobi Fenn"), record.Note{Text: "one"})
	theirs, _ := seal(t, head, stampAt(morning, "Mara Quill"), record.Note{Text: "two"})
	results := make(chan error, 2)
	go func() { results <- one.Append(context.Background(), head, mine) }()
	go func() { results <- two.Append(context.Background(), head, theirs) }()
	var won, moved int
	for range 2 {
		switch err := <-results; {
		case err == nil:
			won++
		case errors.Is(err, ErrMoved):
			moved++
		default:
			t.Error(err)
		}
	}
	if won != 1 || moved != 1 {
		t.Errorf("%d won and %d were told, want one of each", won, moved)
	}
	events, err := two.Events(t.Context(), jobID(1))
	if err != nil || len(events) != 2 {
		t.Errorf("got %d events, %v; want 2", len(events), err)
	}
}

func TestManyStoresOnOneFile(t *testing.T) {
	path := temporaryPath(t)
	raceForOneJob(t, []Store{openTemporary(t, path), openTemporary(t, path), openTemporary(t, path)})
}

// A writer that waits for another is not refused, but waits for its turn.
func TestWriterWaitsForAnother(t *testing.T) {
	path := temporaryPath(t)
	one, two := openTemporary(t, path), openTemporary(t, path)
	tx, err := one.db.BeginTx(t.Context(), nil)
	if err != nil {
		t.Fatal(err)
	}
	result := make(chan error)
	head := record.Genesis(jobID(1))
	events, _ := seal(t, head, stampAt(morning, "Mara Quill"), created("VAN-07", 1))
	go func() { result <- two.Append(context.Background(), head, events) }()
	select {
	case err := <-result:
		t.Fatalf("the second writer did not wait: %v", err)
	case <-time.After(100 * time.Millisecond):
	}
	if _, err := two.NextNumber(t.Context(), "VAN-07"); err != nil {
		t.Errorf("a reader is held up by a writer: %v", err)
	}
	if err := tx.Rollback(); err != nil {
		t.Fatal(err)
	}
	if err := <-result; err != nil {
		t.Error(err)
	}
}

var errLost = errors.New("the answer was lost")

func TestLostAnswerToACommitIsSettled(t *testing.T) {
	s := openTemporary(t, temporaryPath(t))
	head := record.Genesis(jobID(1))
	events, next := seal(t, head, stampAt(morning, "Tobi Fenn"), created("VAN-07", 1), record.Note{Text: "a"})

	s.commit = func(tx *sql.Tx) error { return errors.Join(errLost, tx.Rollback()) }
	wantError(t, "a commit that did not happen", s.Append(t.Context(), head, events), errLost)
	_, err := s.Get(t.Context(), jobID(1))
	wantError(t, "its job", err, ErrUnknown)

	ctx, cancel := context.WithCancel(t.Context())
	s.commit = func(tx *sql.Tx) error { err := tx.Commit(); cancel(); return errors.Join(errLost, err) }
	if err := s.Append(ctx, head, events); err != nil {
		t.Errorf("a commit that happened: %v", err)
	}
	wantEvents(t, s, jobID(1), events)

	// Somebody else writes on before the head is read again.
	more, last := seal(t, next, stampAt(morning, "Tobi Fenn"), record.Note{Text: "b"})
	s.commit = func(tx *sql.Tx) error {
		err := tx.Commit()
		s.commit = (*sql.Tx).Commit
		add(t, s, last, record.Note{Text: "c"})
		return errors.Join(errLost, err)
	}
	if err := s.Append(t.Context(), next, more); err != nil {
		t.Errorf("a commit that was followed by another: %v", err)
	}

	s.commit = func(tx *sql.Tx) error { return errors.Join(errLost, tx.Rollback(), s.Close()) }
	other, _ := seal(t, record.Genesis(jobID(2)), stampAt(morning, "Tobi Fenn"), created("VAN-07", 2))
	err = s.Append(t.Context(), record.Genesis(jobID(2)), other)
	wantError(t, "a commit that cannot be settled", err, errLost)
	if err == nil || !strings.Contains(err.Error(), "events 1 to 1 were kept is not known") {
		t.Errorf("%v does not say so", err)
	}
}

func TestFullDiskLosesNothing(t *testing.T) {
	s := openTemporary(t, temporaryPath(t))
	s.db.SetMaxOpenConns(1) // the pragma below is one connection's
	head := add(t, s, record.Genesis(jobID(1)), created("VAN-07", 1))
	before, err := s.Events(t.Context(), jobID(1))
	if err != nil {
		t.Fatal(err)
	}
	run(t, s.db, `PRAGMA max_page_count = 1`) // as many as there are
	picture := record.Blob(strings.Repeat("p", 1<<20))
	events, next := seal(t, head, stampAt(morning, "Tobi Fenn"), record.Photo{Step: "a", File: "a.jpg", Blob: picture.Digest()})
	if err := s.Append(t.Context(), head, events, picture); err == nil || !strings.Contains(err.Error(), "the disk is full") {
		t.Errorf("got %v", err)
	}
	wantEvents(t, s, jobID(1), before)
	run(t, s.db, `PRAGMA max_page_count = 100000`)
	if err := s.Append(t.Context(), head, events, picture); err != nil {
		t.Error(err)
	}
	if got, err := s.Get(t.Context(), jobID(1)); err != nil || got.Head != next.Hash {
		t.Errorf("got %v, %v", got, err)
	}
}

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
