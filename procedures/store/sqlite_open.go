package store

import (
	"context"
	"database/sql"
	"database/sql/driver"
	_ "embed"
	"errors"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"modernc.org/sqlite"
)

// What marks a file as a record store.
const (
	applicationID = 0x64746e6b // "dtnk"
	firstFormat   = 1          // that of schema.sql
)

// Errors of [OpenSQLite], wrapped with the path.
var (
	ErrForeign = errors.New("not a record store of this program")
	ErrNewer   = errors.New("written by a newer version of this program")
	ErrDamaged = errors.New("the file is damaged")
	ErrNetwork = errors.New("a record store cannot lie on a network file system")
)

//go:embed schema.sql
var schema string

// OpenSQLite opens the store in a file, and makes the file when it is missing,
// readable by its owner only, as are the folders made for it. Besides the
// errors above it fails when a file or folder cannot be read and written, and
// when SQLite does not take a pragma that the store relies on.
func OpenSQLite(ctx context.Context, path string) (Store, error) {
	s, err := openFile(ctx, path)
	if err != nil {
		return nil, fmt.Errorf("record store %s: %w", path, explain(err))
	}
	return s, nil
}

func openFile(ctx context.Context, path string) (*file, error) {
	if path == "" {
		return nil, errors.New("no path")
	}
	path, err := filepath.Abs(path)
	if err != nil {
		return nil, err
	}
	if err := makeFile(path); err != nil {
		return nil, err
	}
	db, err := connect(path, pragmas)
	if err != nil {
		return nil, err
	}
	if err := db.PingContext(ctx); err != nil {
		return nil, errors.Join(err, db.Close())
	}
	f := &file{path: path}
	f.tables = tables{db: db, say: f.say, commit: (*sql.Tx).Commit}
	return f, nil
}

// makeFile makes the folder and an empty file, if they are not there. SQLite
// would make the file itself, but readable by everyone; its log files take the
// mode of this one. A file that is there is not opened: closing it again would
// drop the locks that this process may hold on it (sqlite.org/howtocorrupt.html,
// 2.2).
func makeFile(path string) error {
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return err
	}
	name, err := networkFileSystem(filepath.Dir(path))
	if err != nil {
		return err
	}
	if name != "" {
		return fmt.Errorf("%w: %s", ErrNetwork, name)
	}
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o600)
	if errors.Is(err, os.ErrExist) {
		return nil
	}
	if err != nil {
		return err
	}
	return f.Close()
}

// migrations are the statements that turn a file of a format into one of the next:
// the first those from format 1 to 2. A format that was ever used is in it, or is
// the present one; what is there is never changed again.
var migrations = []string{format2, format3}

//go:embed format_2.sql
var format2 string

//go:embed format_3.sql
var format3 string

// format is the number of the format that this program writes.
func format() int64 { return int64(firstFormat + len(migrations)) }

func checkMarks(id, version int64) error {
	switch {
	case id != applicationID:
		return fmt.Errorf("%w: application_id is %#x, want %#x", ErrForeign, id, applicationID)
	case version > format():
		return fmt.Errorf("%w: format %d, this version reads format %d", ErrNewer, version, format())
	case version < firstFormat:
		return fmt.Errorf("%w: format %d was never used", ErrForeign, version)
	}
	return nil
}

// migrate brings a file of an older format up to the present one, in one
// transaction, after a copy of it as it was has been made beside it. Of several
// programs that begin at once one does it.
func (c checked) migrate(t talk) error {
	version, err := t.number("PRAGMA user_version")
	if err != nil || version == format() {
		return err
	}
	backup := fmt.Sprintf("%s.format-%d", c.path, version)
	if _, err := os.Lstat(backup); errors.Is(err, os.ErrNotExist) {
		if err := t.tell("VACUUM INTO '" + strings.ReplaceAll(backup, "'", "''") + "'"); err != nil {
			return fmt.Errorf("copy before the change to format %d: %w", format(), err)
		}
		if err := os.Chmod(backup, 0o600); err != nil {
			return err
		}
	}
	if err := t.tell("BEGIN IMMEDIATE"); err != nil {
		return err
	}
	if version, err = t.number("PRAGMA user_version"); err == nil && version >= firstFormat && version < format() {
		err = t.tell(strings.Join(migrations[version-firstFormat:], ";\n") + fmt.Sprintf(";\nPRAGMA user_version = %d", format()))
	}
	if err != nil {
		return errors.Join(fmt.Errorf("change of format %d to %d, of which a copy is in %s: %w", version, format(), backup, err), t.tell("ROLLBACK"))
	}
	return t.tell("COMMIT")
}

// pragma is a setting of a connection, as it is asked for and as it reads back.
type pragma struct{ key, ask, name, want string }

// Write-ahead log: readers do not hold up the walk. FULL: a commit is on the
// disk when it returns, also after a power cut, which in this mode NORMAL does
// not give (sqlite.org/pragma.html#pragma_synchronous). The log is asked for
// only when it is certain that the file is ours, because it marks the file.
var pragmas = []pragma{
	{"_busy_timeout", "5000", "busy_timeout", "5000"}, // ms
	{"_synchronous", "FULL", "synchronous", "2"},
	{"_foreign_keys", "on", "foreign_keys", "1"},
	{"", "", "journal_mode", "wal"},
}

// dataSource gives the name by which the driver opens the file: an escaped URI,
// so that a question mark in a folder's name is not taken for the beginning of
// the parameters.
func dataSource(path string, asked []pragma) string {
	values := url.Values{"_txlock": {"immediate"}, "_defensive": {"1"}, "_dqs": {"0"}, "_error_rc": {"1"}}
	for _, p := range asked {
		if p.key != "" {
			values.Set(p.key, p.ask)
		}
	}
	slashed := filepath.ToSlash(path)
	if !strings.HasPrefix(slashed, "/") {
		slashed = "/" + slashed
	}
	u := url.URL{Scheme: "file", Path: slashed, RawQuery: values.Encode()}
	return u.String()
}

// connect prepares connections to the file; the first use opens one. Writers
// wait for each other, so that more connections would only be more to open.
func connect(path string, asked []pragma) (*sql.DB, error) {
	c, err := sqlite.NewConnector(dataSource(path, asked))
	if err != nil {
		return nil, err
	}
	db := sql.OpenDB(checked{c, path, asked})
	db.SetMaxOpenConns(2)
	db.SetMaxIdleConns(2)
	return db, nil
}

// checked is a connector whose connections are to a record store, made if the
// file is empty, and run with the pragmas asked for. It reads them back, since
// SQLite passes over those that it does not know or cannot follow.
type checked struct {
	driver.Connector
	path string
	want []pragma
}

func (c checked) Connect(ctx context.Context) (driver.Conn, error) {
	conn, err := c.Connector.Connect(ctx)
	if err != nil {
		return nil, noDatabase(err)
	}
	if err := c.prepare(ctx, talk{ctx, conn}); err != nil {
		return nil, errors.Join(noDatabase(err), conn.Close())
	}
	return conn, nil
}

// noDatabase tells a file that SQLite cannot make sense of from other errors.
func noDatabase(err error) error {
	if codeOf(err) == codeNoDatabase {
		return fmt.Errorf("%w: %w", ErrForeign, err)
	}
	return err
}

func (c checked) prepare(ctx context.Context, t talk) error {
	if err := makeSchema(t); err != nil {
		return err
	}
	if err := switchToLog(ctx, t); err != nil {
		return err
	}
	if err := c.migrate(t); err != nil {
		return err
	}
	for _, p := range c.want {
		got, err := t.ask("PRAGMA " + p.name)
		if err != nil {
			return fmt.Errorf("pragma %s: %w", p.name, err)
		}
		if got != p.want {
			return fmt.Errorf("pragma %s is %s, want %s", p.name, got, p.want)
		}
	}
	return nil
}

// makeSchema checks the marks of the file, and fills it if it is empty: in one
// transaction, so that of several programs that begin at once the first does it.
func makeSchema(t talk) error {
	empty, err := checkFile(t)
	if err != nil || !empty {
		return err
	}
	if err := t.tell("BEGIN IMMEDIATE"); err != nil {
		return err
	}
	if empty, err = checkFile(t); err == nil && empty {
		err = t.tell(fmt.Sprintf("PRAGMA application_id = %d; PRAGMA user_version = %d; %s;\n%s", applicationID, format(), schema, strings.Join(migrations, ";\n")))
	}
	if err != nil {
		return errors.Join(err, t.tell("ROLLBACK"))
	}
	return t.tell("COMMIT")
}

// checkFile refuses files of others and of newer formats, and reports whether
// there is nothing in the file yet.
func checkFile(t talk) (empty bool, err error) {
	marks, err := t.ask("SELECT (SELECT count(*) FROM sqlite_schema) || ' ' || " +
		"(SELECT application_id FROM pragma_application_id) || ' ' || (SELECT user_version FROM pragma_user_version)")
	if err != nil {
		return false, err
	}
	var objects, id, version int64
	if _, err := fmt.Sscan(marks, &objects, &id, &version); err != nil {
		return false, fmt.Errorf("marks %q: %w", marks, err)
	}
	if objects == 0 && id == 0 && version == 0 {
		return true, nil
	}
	return false, checkMarks(id, version)
}

// switchToLog turns the write-ahead log on, which stays with the file. SQLite
// does not wait for others here, so that programs beginning at once would turn
// each other away; until one of them has done it, all try again.
func switchToLog(ctx context.Context, t talk) error {
	const attempts, pause = 250, 20 * time.Millisecond
	for attempt := 1; ; attempt++ {
		mode, err := t.ask("PRAGMA journal_mode")
		if err == nil && mode != "wal" {
			_, err = t.ask("PRAGMA journal_mode = WAL")
		}
		if codeOf(err) != codeBusy || attempt == attempts {
			return err
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(pause):
		}
	}
}

// talk puts statements to a connection that is not in the pool yet.
type talk struct {
	ctx  context.Context
	conn driver.Conn
}

// ask gives the one value that a query gives.
func (t talk) ask(query string) (string, error) {
	queryer, ok := t.conn.(driver.QueryerContext)
	if !ok {
		return "", fmt.Errorf("%s: the driver does not answer", query)
	}
	rows, err := queryer.QueryContext(t.ctx, query, nil)
	if err != nil {
		return "", err
	}
	defer rows.Close()
	value := make([]driver.Value, 1)
	if err := rows.Next(value); err != nil {
		return "", fmt.Errorf("%s: %w", query, err)
	}
	return fmt.Sprint(value[0]), nil
}

// number gives the one whole number that a query gives.
func (t talk) number(query string) (int64, error) {
	text, err := t.ask(query)
	if err != nil {
		return 0, err
	}
	return strconv.ParseInt(text, 10, 64)
}

func (t talk) tell(statements string) error {
	execer, ok := t.conn.(driver.ExecerContext)
	if !ok {
		return errors.New("the driver does not take statements")
	}
	_, err := execer.ExecContext(t.ctx, statements, nil)
	return err
}

// Result codes (sqlite.org/rescode.html).
const (
	codeBusy       = 5
	codeDamaged    = 11
	codeNoDatabase = 26
)

// codeMeans says what result codes mean to a person, extended ones before primary ones.
var codeMeans = map[int]error{
	codeBusy:    errors.New("another program is writing to it and does not finish"),
	8:           errProtected,
	10:          errors.New("the disk does not answer as it should"),
	codeDamaged: ErrDamaged,
	13:          errDiskFull,
	14:          errors.New("the file cannot be opened"),
	26:          errors.New("the file is damaged, or is no database"),
	4874:        errDiskFull, // no room for the file beside the records (SQLITE_IOERR_SHMSIZE)
}

var (
	errDiskFull  = errors.New("the disk is full")
	errProtected = errors.New("it cannot be written to")
)

// explain puts words before an error that SQLite reports by a code.
func explain(err error) error {
	var coded *sqlite.Error
	if !errors.As(err, &coded) {
		return err
	}
	for _, code := range []int{coded.Code(), codeOf(err)} {
		if means := codeMeans[code]; means != nil {
			return fmt.Errorf("%w: %w", means, err)
		}
	}
	return err
}

// codeOf gives the primary result code in an error, 0 if there is none.
func codeOf(err error) int {
	var coded *sqlite.Error
	if !errors.As(err, &coded) {
		return 0
	}
	return coded.Code() & 0xff
}
