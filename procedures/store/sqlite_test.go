package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"

	"daytank/procedures/record"

	"github.com/google/go-cmp/cmp"
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

// A file that may only be read is told as such, with what can be done.
func TestProtectedFile(t *testing.T) {
	db, err := sql.Open("sqlite", temporaryPath(t))
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	_, err = db.ExecContext(t.Context(), `PRAGMA query_only = 1; CREATE TABLE notes (n)`)
	if err = explain(err); !errors.Is(err, errProtected) || !strings.Contains(Hint(err), "--store") {
		t.Errorf("%v, hint %q", err, Hint(err))
	}
}
