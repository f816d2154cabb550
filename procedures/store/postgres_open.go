package store

import (
	"context"
	"database/sql"
	_ "embed"
	"errors"
	"fmt"
	"net"
	"strconv"
	"strings"
	"time"

	"daytank/procedures/record"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5/pgconn"
)

//go:embed postgres_roles.sql
var postgresRoles string

//go:embed postgres_schema.sql
var postgresSchema string

// postgresMigrations are the statements that turn a shared store of a format into one of
// the next, from format 1 on, run as its owner; what is there is never changed again.
var postgresMigrations []string

// postgresFormat is the number of the format that this program writes.
func postgresFormat() int64 { return int64(1 + len(postgresMigrations)) }

// postgresMark says in a database that what is there is a store of records.
const postgresMark = "daytank records"

// Shared is a store that several bays send their records to.
type Shared interface {
	Store

	// Copy is Append for events that another store wrote while it held the job. A number
	// that another job has is no hindrance: two bays without network may have given it.
	// [Store.Find] then says ErrAmbiguous. Events of a job that this store holds are
	// refused with ErrNotHeld, as are those of [Store.Append] for a job that it does not.
	Copy(ctx context.Context, head record.Head, events []record.Event, blobs ...record.Blob) error

	// Held lists the jobs that the store with the identity holds, as [Store.Jobs] does.
	// Jobs that were never transferred are held by the bay that began them, and listed
	// for nobody.
	Held(ctx context.Context, holder uuid.UUID, q Query) ([]record.Summary, error)

	// Writable tells whether an append could be made now: ErrReadOnly says that this login
	// may only read. Nothing is written.
	Writable(ctx context.Context) error
}

// OpenPostgres opens the shared store in a database that [SetUpPostgres] made it in. The
// address is a URL, postgres://name@host:port/database?sslmode=verify-full, or settings as
// PostgreSQL's own programs take them, and those stand in for what it leaves out: the
// variables PGPASSWORD and such, and the password file. An address without sslmode is
// encrypted where the server can, and in the clear where it cannot.
//
// Errors are those of [Hint], ErrNoStore, ErrForeign and ErrNewer; none has the password.
func OpenPostgres(ctx context.Context, address string) (Shared, error) {
	p, err := dialPostgres(address, checkPostgres)
	if err != nil {
		return nil, err
	}
	if err := p.db.PingContext(ctx); err != nil {
		return nil, errors.Join(p.wrap(err), p.db.Close())
	}
	return p, nil
}

// SetUpPostgres makes the shared store in a database, or brings one of an older format up
// to the present one, and does nothing where there is nothing to do. The login needs the
// right to make schemas in the database and roles on the server, or must be a member of
// the role daytank_owner where the roles are there. It makes no login: see
// postgres_roles.sql for what makes one a bay's.
func SetUpPostgres(ctx context.Context, address string) error {
	p, err := dialPostgres(address, nil)
	if err != nil {
		return err
	}
	defer p.db.Close()
	return p.wrap(withWire(ctx, p.db, func(c *wireConn) error { return setUp(ctx, c) }))
}

// withWire lends a connection.
func withWire(ctx context.Context, db *sql.DB, use func(*wireConn) error) error {
	conn, err := db.Conn(ctx)
	if err != nil {
		return err
	}
	defer conn.Close()
	return conn.Raw(func(driverConn any) error { return use(driverConn.(*wireConn)) })
}

// What every connection asks of the server. A bay that has gone in the middle of an append
// holds its job for no longer than these say (ms, s).
var connectionSettings = map[string]string{
	"application_name":                    "daytank",
	"search_path":                         "daytank",
	"idle_in_transaction_session_timeout": "120000",
	"tcp_keepalives_idle":                 "10",
	"tcp_keepalives_interval":             "5",
	"tcp_keepalives_count":                "3",
}

func dialPostgres(address string, check func(context.Context, *wireConn) error) (*postgres, error) {
	config, err := pgconn.ParseConfig(address)
	if err != nil || address == "" {
		// What the reader of addresses says may have the password in it.
		return nil, fmt.Errorf("%w: want postgres://name@host:port/database", ErrAddress)
	}
	for name, value := range connectionSettings {
		if _, given := config.RuntimeParams[name]; !given || name == "search_path" {
			config.RuntimeParams[name] = value
		}
	}
	db := sql.OpenDB(wire{config, check})
	db.SetMaxOpenConns(4)
	db.SetMaxIdleConns(2)
	db.SetConnMaxIdleTime(time.Minute)
	p := &postgres{place: net.JoinHostPort(config.Host, strconv.Itoa(int(config.Port))) + "/" + config.Database, plain: config.TLSConfig == nil, patience: settlePatience}
	p.tables = tables{db: db, say: p.say, commit: (*sql.Tx).Commit, names: withoutNUL()}
	return p, nil
}

// withoutNUL is the form of names in an engine that keeps no NUL in a text.
func withoutNUL() textForm {
	return textForm{strings.NewReplacer(`\`, `\\`, "\x00", `\0`), strings.NewReplacer(`\\`, `\`, `\0`, "\x00")}
}

// Codes of errors (postgresql.org/docs, "PostgreSQL Error Codes").
const (
	codeNoTable  = "42P01"
	codeNoSchema = "3F000"
	codeNoRight  = "42501"
)

// checkPostgres refuses a database without a store, and one of another format.
func checkPostgres(ctx context.Context, c *wireConn) error {
	format, err := formatOf(ctx, c)
	if err != nil {
		return err
	}
	switch {
	case format > postgresFormat():
		return fmt.Errorf("%w: format %d, this version reads format %d", ErrNewer, format, postgresFormat())
	case format < postgresFormat():
		return fmt.Errorf("%w: format %d, this version reads format %d", ErrOlder, format, postgresFormat())
	}
	return nil
}

// formatOf reads the mark of the store; ErrNoStore says that there is none yet.
func formatOf(ctx context.Context, c *wireConn) (int64, error) {
	rows, err := c.run(ctx, `SELECT mark, format FROM daytank.identity`, nil)
	switch codeOfPostgres(err) {
	case codeNoTable:
		if there, err := c.run(ctx, `SELECT 1 FROM pg_namespace WHERE nspname = 'daytank'`, nil); err != nil || len(there.Rows) > 0 {
			return 0, errors.Join(fmt.Errorf("%w: its schema daytank is not a store", ErrForeign), err)
		}
		return 0, ErrNoStore
	case codeNoSchema:
		return 0, ErrNoStore
	case codeNoRight:
		return 0, fmt.Errorf("%w: %w", ErrNoRights, err)
	}
	if err != nil {
		return 0, err
	}
	if len(rows.Rows) != 1 || string(rows.Rows[0][0]) != postgresMark {
		return 0, fmt.Errorf("%w: its mark is missing", ErrForeign)
	}
	return strconv.ParseInt(string(rows.Rows[0][1]), 10, 64)
}

// setUpLock keeps two set-ups of one database apart; the number means nothing.
const setUpLock = `SELECT pg_advisory_lock(7310583442)`

func setUp(ctx context.Context, c *wireConn) error {
	if _, err := c.run(ctx, setUpLock, nil); err != nil {
		return err
	}
	format, err := formatOf(ctx, c)
	switch {
	case errors.Is(err, ErrNoStore):
		err = c.script(ctx, "BEGIN;\n"+postgresRoles+postgresSchema+"COMMIT")
		if err == nil {
			return setUp(ctx, c) // the migrations
		}
	case err == nil && format > postgresFormat():
		return checkPostgres(ctx, c)
	case err == nil && format < postgresFormat():
		err = c.script(ctx, fmt.Sprintf("BEGIN;\nSET LOCAL ROLE daytank_owner;\nSET LOCAL search_path = daytank;\n%s;\nUPDATE identity SET format = %d;\nCOMMIT",
			strings.Join(postgresMigrations[format-1:], ";\n"), postgresFormat()))
		if err != nil {
			err = fmt.Errorf("change of format %d to %d, nothing was changed: %w", format, postgresFormat(), err)
		}
	}
	return err
}
