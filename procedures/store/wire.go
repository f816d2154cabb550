package store

import (
	"context"
	"database/sql/driver"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"strconv"
	"time"

	"github.com/jackc/pgx/v5/pgconn"
)

// The connection to PostgreSQL, as database/sql wants it. The ready-made driver knows
// every type there is, which costs the start of each command more than its budget has:
// the tables here need texts, whole numbers, truth values and bytes.

// Limits of time. A server behind a cut cable answers nothing at all, so that every
// statement has one, besides that of its context.
const (
	connectPatience = 5 * time.Second
	answerPatience  = 20 * time.Second
	slowestNetwork  = 64 << 10 // bytes a second, on top of answerPatience
)

// patienceFor gives how long a statement with so many bytes of arguments may take.
func patienceFor(bytes int) time.Duration {
	return answerPatience + time.Duration(bytes)*time.Second/slowestNetwork
}

// wire makes connections; each is looked over before it is used.
type wire struct {
	config *pgconn.Config
	check  func(context.Context, *wireConn) error // nil: none
}

// Driver is what database/sql asks for and does not use.
func (w wire) Driver() driver.Driver { return nil }

func (w wire) Connect(ctx context.Context) (driver.Conn, error) {
	limited, cancel := context.WithTimeout(ctx, connectPatience)
	defer cancel()
	conn, err := pgconn.ConnectConfig(limited, w.config)
	if err != nil {
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		return nil, err
	}
	c := &wireConn{conn: conn}
	if w.check != nil {
		if err := w.check(ctx, c); err != nil {
			return nil, errors.Join(err, c.Close())
		}
	}
	return c, nil
}

// wireConn is one connection. It is used by one goroutine at a time.
type wireConn struct {
	conn   *pgconn.PgConn
	within bool // a transaction
}

var (
	_ driver.QueryerContext = (*wireConn)(nil)
	_ driver.ExecerContext  = (*wireConn)(nil)
	_ driver.ConnBeginTx    = (*wireConn)(nil)
	_ driver.Pinger         = (*wireConn)(nil)
	_ driver.Validator      = (*wireConn)(nil)
)

func (c *wireConn) Prepare(string) (driver.Stmt, error) {
	return nil, errors.New("statements are not prepared on this connection")
}

func (c *wireConn) Begin() (driver.Tx, error) {
	return c.BeginTx(context.Background(), driver.TxOptions{})
}

func (c *wireConn) BeginTx(ctx context.Context, _ driver.TxOptions) (driver.Tx, error) {
	if _, err := c.run(ctx, "BEGIN", nil); err != nil {
		return nil, err
	}
	c.within = true
	return wireTx{c}, nil
}

func (c *wireConn) IsValid() bool { return !c.conn.IsClosed() }

func (c *wireConn) Ping(ctx context.Context) error {
	_, err := c.run(ctx, "SELECT 1", nil)
	return err
}

func (c *wireConn) Close() error {
	ctx, cancel := context.WithTimeout(context.Background(), time.Second)
	defer cancel()
	return c.conn.Close(ctx)
}

func (c *wireConn) ExecContext(ctx context.Context, query string, args []driver.NamedValue) (driver.Result, error) {
	result, err := c.run(ctx, query, args)
	if err != nil {
		return nil, err
	}
	return driver.RowsAffected(result.CommandTag.RowsAffected()), nil
}

func (c *wireConn) QueryContext(ctx context.Context, query string, args []driver.NamedValue) (driver.Rows, error) {
	result, err := c.run(ctx, query, args)
	if err != nil {
		return nil, err
	}
	return &wireRows{result: result}, nil
}

// run puts one statement and reads all of its answer. Where the connection turns out to
// have ended, a statement outside a transaction is handed back as driver.ErrBadConn, so
// that it is put to another one: outside, there is only reading here, and the beginning of
// a transaction. A server that was started anew is met like that.
func (c *wireConn) run(ctx context.Context, query string, args []driver.NamedValue) (*pgconn.Result, error) {
	values := make([][]byte, len(args))
	formats := make([]int16, len(args))
	bytes := 0
	for i, arg := range args {
		var err error
		if values[i], formats[i], err = wireValue(arg.Value); err != nil {
			return nil, fmt.Errorf("argument %d: %w", i+1, err)
		}
		bytes += len(values[i])
	}
	limited, cancel := context.WithTimeout(ctx, patienceFor(bytes))
	defer cancel()
	result := c.conn.ExecParams(limited, query, values, nil, formats, nil).Read()
	switch {
	case result.Err == nil:
		return result, nil
	case ctx.Err() != nil:
		return nil, ctx.Err()
	case !c.within && c.conn.IsClosed() && limited.Err() == nil:
		return nil, driver.ErrBadConn
	}
	return nil, result.Err
}

// script puts several statements without arguments, as one transaction unless they say
// otherwise.
func (c *wireConn) script(ctx context.Context, statements string) error {
	limited, cancel := context.WithTimeout(ctx, answerPatience)
	defer cancel()
	_, err := c.conn.Exec(limited, statements).ReadAll()
	return err
}

// Formats of values on the wire (postgresql.org/docs, "Formats and Format Codes").
const (
	asText   = int16(0)
	asBinary = int16(1)
)

func wireValue(v driver.Value) ([]byte, int16, error) {
	switch v := v.(type) {
	case nil:
		return nil, asText, nil
	case string:
		return []byte(v), asText, nil
	case []byte:
		return v, asBinary, nil
	case int64:
		return strconv.AppendInt(nil, v, 10), asText, nil
	case bool:
		return strconv.AppendBool(nil, v), asText, nil
	}
	return nil, asText, fmt.Errorf("a %T is not for the wire", v)
}

type wireTx struct{ c *wireConn }

func (t wireTx) over() { t.c.within = false }

func (t wireTx) Commit() error {
	defer t.over()
	result, err := t.c.run(context.Background(), "COMMIT", nil)
	if err == nil && result.CommandTag.String() != "COMMIT" {
		return errors.New("the server has rolled back instead") // after an error in the transaction
	}
	return err
}

func (t wireTx) Rollback() error {
	defer t.over()
	_, err := t.c.run(context.Background(), "ROLLBACK", nil)
	return err
}

// wireRows are the rows of an answer, read already.
type wireRows struct {
	result *pgconn.Result
	next   int
}

func (r *wireRows) Columns() []string {
	names := make([]string, len(r.result.FieldDescriptions))
	for i, f := range r.result.FieldDescriptions {
		names[i] = f.Name
	}
	return names
}

func (r *wireRows) Close() error { return nil }

func (r *wireRows) Next(into []driver.Value) error {
	if r.next == len(r.result.Rows) {
		return io.EOF
	}
	for i, text := range r.result.Rows[r.next] {
		v, err := goValue(r.result.FieldDescriptions[i].DataTypeOID, text)
		if err != nil {
			return fmt.Errorf("column %s: %w", r.result.FieldDescriptions[i].Name, err)
		}
		into[i] = v
	}
	r.next++
	return nil
}

// Numbers of types (postgresql.org/docs, catalog pg_type).
const (
	typeBool  = 16
	typeBytes = 17
	typeInt8  = 20
	typeInt4  = 23
)

// goValue reads a value that came as text; texts, and types not known here, stay so.
func goValue(oid uint32, text []byte) (driver.Value, error) {
	if text == nil {
		return nil, nil
	}
	switch oid {
	case typeBool:
		return string(text) == "t", nil
	case typeInt8, typeInt4:
		return strconv.ParseInt(string(text), 10, 64)
	case typeBytes:
		if len(text) < 2 || string(text[:2]) != `\x` {
			return nil, errors.New("bytes are not in hexadecimal digits")
		}
		data := make([]byte, hex.DecodedLen(len(text)-2))
		_, err := hex.Decode(data, text[2:])
		return data, err
	}
	return string(text), nil
}
