package store

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"testing"

	"daytank/procedures/record"
	"daytank/procedures/store/cluster"

	"github.com/google/uuid"
)

// filledShared has a database with one job of three events and a photo.
func filledShared(t *testing.T) (name string, events []record.Event) {
	t.Helper()
	name = shop.Database(t, cluster.Template)
	picture := record.Blob("picture")
	head := record.Genesis(jobID(1))
	events, _ = seal(t, head, stampAt(morning, "Tobi Fenn"), created("VAN-07", 1),
		record.Photo{Step: "a", File: "a.jpg", Blob: picture.Digest()}, record.Note{Text: "hose B"})
	if err := openShared(t, name).Append(t.Context(), head, events, picture); err != nil {
		t.Fatal(err)
	}
	return name, events
}

// A bay may read and append, and nothing else; who looks on may read; a stranger not even
// that. The owner is kept from mistakes.
func TestLeastRights(t *testing.T) {
	name, events := filledShared(t)
	changes := []string{
		`UPDATE events SET line = 'x'`, `DELETE FROM events`, `TRUNCATE events`,
		`UPDATE blobs SET data = 'x'`, `DELETE FROM blobs`, `TRUNCATE blobs`,
		`UPDATE jobs SET number = 2`, `UPDATE jobs SET asset = 'TRAC-02'`, `DELETE FROM jobs`, `TRUNCATE jobs CASCADE`,
		`UPDATE identity SET id = gen_random_uuid()`, `DELETE FROM identity`,
		`INSERT INTO blobs SELECT digest, data FROM blobs ON CONFLICT (digest) DO UPDATE SET data = 'x'`,
	}
	bays := []string{
		`INSERT INTO events SELECT job, 4, line FROM events WHERE seq = 3`, `INSERT INTO jobs SELECT * FROM jobs`,
		`UPDATE jobs SET state = 'signed'`, `UPDATE identity SET format = 2`, `DROP TABLE blobs`, `ALTER TABLE events DISABLE TRIGGER ALL`,
		`CREATE TABLE daytank.mine (n int)`, `DROP FUNCTION append`, `SELECT head_after(job, seq, head, '') FROM jobs, LATERAL (SELECT events AS seq) AS s`,
		`SET ROLE daytank_owner`, `SET session_replication_role = replica`,
	}
	for _, c := range []struct {
		login, role, says string
		statements        []string
	}{
		{cluster.Bay, "daytank_bay", "ermission denied|must be owner", append(slices.Clone(changes), bays...)},
		{cluster.Screen, "daytank_reader", "ermission denied|must be owner", append(append(slices.Clone(changes), bays...),
			`INSERT INTO blobs VALUES (encode(sha256('y'), 'hex'), 'y')`, `SELECT append(NULL, 0, '', '{}', false, '', 1, '', '', '', '', 0, 0, false, 0)`)},
		{cluster.Owner, "daytank_owner", "is never changed or removed", changes},
	} {
		db := openAs(t, shop.Server(t).Address(name, c.login)).db
		for _, statement := range c.statements {
			// Each in a transaction of its own, so that a role is not kept.
			tx, err := db.BeginTx(t.Context(), nil)
			if err != nil {
				t.Fatal(err)
			}
			if c.role == "daytank_owner" {
				if _, err := tx.Exec(`SET LOCAL ROLE daytank_owner`); err != nil {
					t.Fatal(err)
				}
			}
			_, err = tx.Exec(statement)
			if err == nil || !slices.ContainsFunc(strings.Split(c.says, "|"), func(says string) bool { return strings.Contains(err.Error(), says) }) {
				t.Errorf("%s: %s: got %v, want %q", c.login, statement, err, c.says)
			}
			if err := tx.Rollback(); err != nil {
				t.Fatal(err)
			}
		}
	}
	wantEvents(t, openShared(t, name), jobID(1), events)
	_, err := OpenPostgres(t.Context(), shop.Server(t).Address(name, cluster.Stranger))
	wantError(t, "a stranger", err, ErrNoRights)
}

func TestLoginThatOnlyReads(t *testing.T) {
	name, events := filledShared(t)
	s := openAs(t, shop.Server(t).Address(name, cluster.Screen))
	wantEvents(t, s, jobID(1), events)
	if list, err := s.Jobs(t.Context(), Query{}); err != nil || len(list) != 1 {
		t.Errorf("got %v, %v", list, err)
	}
	wantError(t, "writable", s.Writable(t.Context()), ErrReadOnly)
	head := events[2].Head()
	more, _ := seal(t, head, stampAt(morning, "Mara Quill"), record.Note{Text: "x"})
	err := s.Append(t.Context(), head, more)
	wantError(t, "append", err, ErrReadOnly)
	if Hint(err) == "" {
		t.Errorf("no remedy for %v", err)
	}
	picture, _ := seal(t, head, stampAt(morning, "Mara Quill"), record.Photo{Step: "a", File: "b.jpg", Blob: record.Blob("b").Digest()})
	wantError(t, "append with a blob", s.Append(t.Context(), head, picture, record.Blob("b")), ErrReadOnly)
	if err := openShared(t, name).Writable(t.Context()); err != nil {
		t.Errorf("a bay: %v", err)
	}
}

// The server recomputes the chain: what a bay's login can append belongs to the job,
// whatever program it is used by.
func TestServerRefusesLinesThatDoNotBelong(t *testing.T) {
	name, events := filledShared(t)
	db := openShared(t, name).db
	last := events[2]
	good, _ := seal(t, last.Head(), stampAt(morning, "Mara Quill"), record.Note{Text: `"hash":"` + strings.Repeat("0", 64) + `","job":"`})
	again, _ := seal(t, events[1].Head(), stampAt(morning, "Mara Quill"), record.Note{Text: "fork"})
	other, _ := seal(t, record.Head{Job: jobID(2), Seq: 3, Hash: last.Hash}, stampAt(morning, "Mara Quill"), record.Note{Text: "b"})
	line := string(good[0].Line())
	put := func(seq int64, head string, lines string) (came string, err error) {
		err = db.QueryRowContext(t.Context(), callAppend, jobID(1).String(), seq, head, lines, false,
			"VAN-07", 1, "", "", "walking", "", 0, 0, false, 0).Scan(&came)
		return came, err
	}
	array := func(line string) string { return `{"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`).Replace(line) + `"}` }
	for name, lines := range map[string]string{
		"altered":         array(strings.Replace(line, "Mara", "Ines", 1)),
		"another hash":    array(strings.Replace(line, good[0].Hash.String(), last.Hash.String(), 1)),
		"more at the end": array(line + " "),
		"cut":             array(line[:len(line)-1]),
		"a fork":          lineArray(again),
		"of another job":  lineArray(other),
		"twice":           lineArray([]record.Event{good[0], good[0]}),
		"no line":         `{""}`,
		"null":            `{NULL}`,
	} {
		if came, err := put(3, last.Hash.String(), lines); codeOfPostgres(err) != "DT001" {
			t.Errorf("%s: came of it %q, %v", name, came, err)
		}
	}
	if came, err := put(2, events[1].Hash.String(), lineArray(again)); err != nil || came != "moved" {
		t.Errorf("at an old head: came of it %q, %v", came, err)
	}
	wantEvents(t, openShared(t, name), jobID(1), events)
	if _, err := db.ExecContext(t.Context(), `INSERT INTO blobs VALUES ($1, $2)`, strings.Repeat("0", 64), []byte("x")); err == nil {
		t.Error("a blob under another digest is kept")
	}
	if came, err := put(3, last.Hash.String(), lineArray(good)); err != nil || came != "kept" {
		t.Errorf("the good line: came of it %q, %v", came, err)
	}
}

// What is changed past the triggers, by whoever runs the server, is seen when it is read.
func TestChangedRowsOnTheServerAreDamage(t *testing.T) {
	name, _ := filledShared(t)
	s := openShared(t, name)
	for i, c := range []struct{ statement, says string }{
		{`UPDATE events SET line = replace(line, 'hose B', 'hose C') WHERE seq = 3`, "event 3: hash is"},
		{`DELETE FROM events WHERE seq = 2`, "event 2"},
		{`DELETE FROM events WHERE seq = 3`, "event 3: missing"},
		{`UPDATE jobs SET events = 2 WHERE true`, "event 3: stands after the last event"},
	} {
		job := jobID(10 + i)
		add(t, s, record.Genesis(job), created("VAN-07", int64(10+i)), record.Note{Text: "hose A"}, record.Note{Text: "hose B"})
		statement := fmt.Sprintf("%s AND job = '%s'", c.statement, job)
		if err := shop.Server(t).Do(t.Context(), name, `SET session_replication_role = replica; SET search_path = daytank; `+statement); err != nil {
			t.Fatal(err)
		}
		var damage *record.Damage
		if _, err := s.Events(t.Context(), job); !errors.As(err, &damage) || !strings.HasPrefix(err.Error(), c.says) {
			t.Errorf("%s: got %v, want %q", statement, err, c.says)
		}
	}
}

func TestDatabasesThatAreNoStore(t *testing.T) {
	s := shop.Server(t)
	do := func(name, statements string) {
		t.Helper()
		if err := s.Do(t.Context(), name, statements); err != nil {
			t.Fatal(err)
		}
	}
	empty, foreign, unmarked, newer := shop.Database(t, cluster.Empty), shop.Database(t, cluster.Empty), shop.Database(t, cluster.Template), shop.Database(t, cluster.Template)
	do(foreign, `CREATE SCHEMA daytank; GRANT USAGE ON SCHEMA daytank TO bay, shop; CREATE TABLE daytank.notes (n int)`)
	do(unmarked, `SET session_replication_role = replica; UPDATE daytank.identity SET mark = 'notes'`)
	do(newer, `UPDATE daytank.identity SET format = 99`)
	for name, want := range map[string]error{empty: ErrNoStore, "nowhere": ErrNoStore, foreign: ErrForeign, unmarked: ErrForeign, newer: ErrNewer} {
		_, err := OpenPostgres(t.Context(), s.Address(name, cluster.Bay))
		wantError(t, name, err, want)
		if err == nil || !strings.Contains(err.Error(), "/"+name) {
			t.Errorf("%v does not name the database %s", err, name)
		}
		if name != empty && name != "nowhere" {
			wantError(t, "set-up of "+name, SetUpPostgres(t.Context(), s.Address(name, cluster.Owner)), want)
		}
	}
	if err := SetUpPostgres(t.Context(), s.Address(empty, cluster.Bay)); err == nil {
		t.Error("a bay sets up a store")
	}
	var setUps sync.WaitGroup
	for range 3 {
		setUps.Go(func() {
			if err := SetUpPostgres(context.Background(), s.Address(empty, cluster.Owner)); err != nil {
				t.Error(err)
			}
		})
	}
	setUps.Wait()
	add(t, openShared(t, empty), record.Genesis(jobID(1)), created("VAN-07", 1))
}

// An older store is brought up by its owner, once; a change that fails leaves it as it was.
func TestOlderSharedStoreIsBroughtUp(t *testing.T) {
	name, events := filledShared(t)
	s := shop.Server(t)
	defer func() { postgresMigrations = nil }()
	postgresMigrations = []string{`CREATE TABLE later (a bigint)`, `ALTER TABLE nothing ADD COLUMN b bigint`}
	_, err := OpenPostgres(t.Context(), s.Address(name, cluster.Bay))
	wantError(t, "opened before", err, ErrOlder)
	if err := SetUpPostgres(t.Context(), s.Address(name, cluster.Owner)); err == nil || !strings.Contains(err.Error(), "nothing was changed") {
		t.Errorf("a change that fails: %v", err)
	}
	postgresMigrations[1] = `INSERT INTO later VALUES (7)`
	for range 2 {
		if err := SetUpPostgres(t.Context(), s.Address(name, cluster.Owner)); err != nil {
			t.Fatal(err)
		}
	}
	up := openShared(t, name)
	wantEvents(t, up, jobID(1), events)
	var rows, format int
	if err := openAs(t, s.Address(name, cluster.Admin)).db.QueryRow(`SELECT (SELECT count(*) FROM later), format FROM identity`).Scan(&rows, &format); err != nil || rows != 1 || format != 3 {
		t.Errorf("%d rows, format %d, %v", rows, format, err)
	}
	postgresMigrations = nil
	_, err = OpenPostgres(t.Context(), s.Address(name, cluster.Bay))
	wantError(t, "opened by an older program", err, ErrNewer)
}

// Two bays without network give an asset's next number both: both jobs are kept.
func TestNumberGivenByTwoBays(t *testing.T) {
	s := openShared(t, shop.Database(t, cluster.Template))
	for n := 1; n <= 2; n++ {
		events, _ := seal(t, record.Genesis(jobID(n)), stampAt(morning, "Tobi Fenn"), created("VAN-07", 3))
		if err := s.Copy(t.Context(), record.Genesis(jobID(n)), events); err != nil {
			t.Fatal(err)
		}
	}
	_, err := s.Find(t.Context(), "VAN-07", 3)
	wantError(t, "find", err, ErrAmbiguous)
	for n := 1; n <= 2; n++ {
		if err == nil || !strings.Contains(err.Error(), jobID(n).String()) {
			t.Errorf("%v does not name job %d", err, n)
		}
	}
	if next, err := s.NextNumber(t.Context(), "VAN-07"); err != nil || next != 4 {
		t.Errorf("next number %d, %v", next, err)
	}
	events, _ := seal(t, record.Genesis(jobID(3)), stampAt(morning, "Tobi Fenn"), created("VAN-07", 3))
	wantError(t, "begun here", s.Append(t.Context(), record.Genesis(jobID(3)), events), ErrNumberTaken)
}

// Only the holder appends: what was copied belongs to the bay until it is transferred.
func TestSharedStoreKnowsTheHolder(t *testing.T) {
	s := openShared(t, shop.Database(t, cluster.Template))
	here, err := s.Identity(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	bay := uuid.MustParse("018f3a5c-9000-7000-8000-000000000001")
	held := func(by uuid.UUID, want int) {
		t.Helper()
		if list, err := s.Held(t.Context(), by, Query{Limit: 5}); err != nil || len(list) != want {
			t.Errorf("%s holds %v, %v; want %d", by, list, err, want)
		}
	}
	transfer := func(from, to string, id uuid.UUID) record.Transferred {
		return record.Transferred{From: from, To: to, ToID: id.String()}
	}
	head := record.Genesis(jobID(1))
	put := func(copied bool, want error, bodies ...record.Body) {
		t.Helper()
		events, next := seal(t, head, stampAt(morning, "Tobi Fenn"), bodies...)
		err := s.add(t.Context(), head, events, nil, copied)
		wantError(t, fmt.Sprint(bodies), err, want)
		if err == nil {
			head = next
		}
	}
	put(true, nil, created("VAN-07", 1), record.Note{Text: `a "transferred" b`})
	put(false, ErrNotHeld, record.Note{Text: "by the office too early"})
	held(here, 0)
	put(true, nil, record.ReadyForReview{}, transfer("bay\x00 1", "office", here))
	held(here, 1)
	put(true, ErrNotHeld, record.Note{Text: "by the bay too late"})
	put(false, ErrNotHeld, transfer("office", "bay 1", bay), record.Note{Text: "after its last event"})
	put(false, nil, record.SentBack{Which: record.SignOffWork}, transfer("office", "bay 1", bay))
	held(here, 0)
	held(bay, 1)
	put(false, ErrNotHeld, record.Note{Text: "by the office too late"})
	put(true, ErrNotHeld, transfer("bay 1", "office", here), record.Note{Text: "after its last event"})
	put(true, nil, record.Resumed{})
}
