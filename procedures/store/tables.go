package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strings"
	"time"

	"daytank/procedures/record"

	"github.com/google/uuid"
)

// tables are the jobs, events and blobs of a database that speaks SQL, as they are
// read; how they are written is for each engine.
type tables struct {
	db     *sql.DB
	say    func(error) error   // says which store an error is of, and what it means
	commit func(*sql.Tx) error // of a transaction; its answer may be lost
	names  textForm            // of asset, title, procedure and operator
}

// textForm is how names stand in the tables, where an engine cannot keep every text. The
// zero one leaves them as they are.
type textForm struct{ toTable, fromTable *strings.Replacer }

func (f textForm) in(name string) string {
	if f.toTable == nil {
		return name
	}
	return f.toTable.Replace(name)
}

func (f textForm) out(text string) string {
	if f.fromTable == nil {
		return text
	}
	return f.fromTable.Replace(text)
}

func (t *tables) Close() error { return t.db.Close() }

// wrap says which store an error is of, unless it is one of the store's own words.
func (t *tables) wrap(err error) error {
	var damage *record.Damage
	for _, own := range []error{ErrMoved, ErrNumberTaken, ErrUnknown, ErrNoBlob, ErrNotHeld, ErrAmbiguous} {
		if errors.Is(err, own) {
			return err
		}
	}
	if err == nil || errors.As(err, &damage) {
		return err
	}
	return t.say(err)
}

func (t *tables) Identity(ctx context.Context) (uuid.UUID, error) {
	var id string
	if err := t.db.QueryRowContext(ctx, `SELECT id FROM identity`).Scan(&id); err != nil {
		return uuid.Nil, t.wrap(err)
	}
	parsed, err := uuid.Parse(id)
	return parsed, t.wrap(err)
}

// keepBlobs keeps the blobs of a batch that are not kept yet, and refuses events
// that name others.
func (t *tables) keepBlobs(ctx context.Context, tx *sql.Tx, b batch) error {
	kept := func(digest record.Hash) (here bool, err error) {
		err = tx.QueryRowContext(ctx, `SELECT EXISTS (SELECT 1 FROM blobs WHERE digest = $1)`, digest.String()).Scan(&here)
		return here, err
	}
	for digest, blob := range b.blobs {
		here, err := kept(digest)
		if err == nil && !here {
			data := append([]byte{}, blob...) // an empty blob is not NULL
			_, err = tx.ExecContext(ctx, `INSERT INTO blobs (digest, data) VALUES ($1, $2) ON CONFLICT DO NOTHING`, digest.String(), data)
		}
		if err != nil {
			return fmt.Errorf("blob %s: %w", digest, err)
		}
	}
	return b.missing(kept)
}

// settle finds out what became of a commit whose answer was an error or was
// lost: if the last event is there as it was written, everything is. The
// caller's context may be what ended the commit, so ctx is not to end with it.
func settle(ctx context.Context, q querier, b batch, failure error) error {
	last := b.events[len(b.events)-1]
	var line string
	err := q.QueryRowContext(ctx, `SELECT line FROM events WHERE job = $1 AND seq = $2`, last.Job.String(), last.Seq).Scan(&line)
	switch {
	case err == nil && line == string(last.Line()):
		return nil
	case err == nil || errors.Is(err, sql.ErrNoRows):
		return failure
	}
	return notKnown(b, errors.Join(failure, err))
}

var errNotKnown = errors.New("is not known")

func notKnown(b batch, err error) error {
	return fmt.Errorf("job %s: whether events %d to %d were kept %w: %w",
		b.head.Job, b.head.Seq+1, b.head.Seq+int64(len(b.events)), errNotKnown, err)
}

// Events reads head and lines by one statement, so that they are of one moment.
func (t *tables) Events(ctx context.Context, job uuid.UUID) ([]record.Event, error) {
	rows, err := t.db.QueryContext(ctx, `SELECT jobs.events, jobs.head, events.seq, events.line
		FROM jobs LEFT JOIN events ON events.job = jobs.job WHERE jobs.job = $1 ORDER BY events.seq`, job.String())
	if err != nil {
		return nil, t.wrap(err)
	}
	defer rows.Close()
	c := chain{head: record.Head{Job: job}}
	if err := readChain(rows, &c); err != nil {
		return c.events, t.wrap(err)
	}
	if c.head.Seq == 0 {
		return nil, unknownJob("job " + job.String())
	}
	return c.events, c.end()
}

func readChain(rows *sql.Rows, c *chain) error {
	for rows.Next() {
		var head string
		var seq sql.NullInt64
		var line sql.NullString
		if err := rows.Scan(&c.head.Seq, &head, &seq, &line); err != nil {
			return err
		}
		if err := c.head.Hash.UnmarshalText([]byte(head)); err != nil {
			return fmt.Errorf("job %s: head: %w", c.head.Job, err)
		}
		if !seq.Valid {
			return nil
		}
		if err := c.add(seq.Int64, line.String); err != nil {
			return err
		}
	}
	return rows.Err()
}

func (t *tables) Blob(ctx context.Context, digest record.Hash) ([]byte, error) {
	var data []byte
	err := t.db.QueryRowContext(ctx, `SELECT data FROM blobs WHERE digest = $1`, digest.String()).Scan(&data)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, fmt.Errorf("blob %s: %w", digest, ErrNoBlob)
	}
	if err != nil {
		return nil, t.wrap(err)
	}
	return checkBlob(digest, data)
}

func (t *tables) NextNumber(ctx context.Context, asset string) (int64, error) {
	var next int64
	err := t.db.QueryRowContext(ctx, `SELECT coalesce(max(number), 0) + 1 FROM jobs WHERE asset = $1`, t.names.in(asset)).Scan(&next)
	return next, t.wrap(err)
}

func (t *tables) Find(ctx context.Context, asset string, number int64) (record.Summary, error) {
	return t.one(ctx, fmt.Sprintf("%s/%d", asset, number), `asset = $1 AND number = $2`, t.names.in(asset), number)
}

func (t *tables) Get(ctx context.Context, job uuid.UUID) (record.Summary, error) {
	return t.one(ctx, "job "+job.String(), `job = $1`, job.String())
}

func (t *tables) one(ctx context.Context, what, where string, args ...any) (record.Summary, error) {
	s, err := t.selectOne(ctx, t.db, where, args...)
	if errors.Is(err, sql.ErrNoRows) {
		return record.Summary{}, unknownJob(what)
	}
	return s, t.wrap(err)
}

const columns = `job, asset, number, title, procedure, state, operator, created, updated, events, head, demo, weight`

// querier is a database or a transaction.
type querier interface {
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
}

func (t *tables) selectOne(ctx context.Context, q querier, where string, args ...any) (record.Summary, error) {
	return t.scan(q.QueryRowContext(ctx, `SELECT `+columns+` FROM jobs WHERE `+where, args...))
}

// scan reads the columns of a row.
func (t *tables) scan(row interface{ Scan(...any) error }) (record.Summary, error) {
	var s record.Summary
	var job, head string
	var created, updated int64
	err := row.Scan(&job, &s.Asset, &s.Number, &s.Title, &s.Procedure, &s.State, &s.Operator,
		&created, &updated, &s.Events, &head, &s.Demo, &s.Weight)
	if err != nil {
		return record.Summary{}, err
	}
	for _, text := range []*string{&s.Asset, &s.Title, &s.Procedure, &s.Operator} {
		*text = t.names.out(*text)
	}
	s.Created, s.Updated = time.UnixMilli(created).UTC(), time.UnixMilli(updated).UTC()
	if s.Job, err = uuid.Parse(job); err != nil {
		return record.Summary{}, fmt.Errorf("job %q: %w", job, err)
	}
	if s.Head, err = record.ParseHash(head); err != nil {
		return record.Summary{}, fmt.Errorf("job %s: %w", job, err)
	}
	return s, nil
}

func (t *tables) Jobs(ctx context.Context, q Query) ([]record.Summary, error) {
	if err := q.check(); err != nil {
		return nil, err
	}
	q.Asset, q.Operator = t.names.in(q.Asset), t.names.in(q.Operator)
	query, args := q.statement()
	found, err := t.list(ctx, query, args...)
	return found, t.wrap(err)
}

func (t *tables) list(ctx context.Context, query string, args ...any) ([]record.Summary, error) {
	rows, err := t.db.QueryContext(ctx, query, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var found []record.Summary
	for rows.Next() {
		s, err := t.scan(rows)
		if err != nil {
			return nil, err
		}
		found = append(found, s)
	}
	return found, rows.Err()
}
