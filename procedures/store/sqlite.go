package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"math"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"daytank/procedures/record"

	"github.com/google/uuid"
)

// file is a store in an SQLite file.
type file struct {
	db     *sql.DB
	path   string
	commit func(*sql.Tx) error // of a transaction; its answer may be lost
	often  often
	last   atomic.Pointer[record.Summary] // of the job appended to last, as it was then
}

// often are the statements that every answer runs. SQLite takes as long to read
// them as to run them, so they are read once.
type often struct {
	sync.Mutex
	summary, moveHead, addEvent *sql.Stmt
}

const (
	selectByJob = `SELECT ` + columns + ` FROM jobs WHERE job = $1`
	moveHead    = `UPDATE jobs SET updated = $1, events = $2, head = $3 WHERE job = $4 AND head = $5`
	addEvent    = `INSERT INTO events (job, seq, line) VALUES ($1, $2, $3)`
)

// prepared reads the statements, the first time that something is appended.
func (f *file) prepared(ctx context.Context) error {
	f.often.Lock()
	defer f.often.Unlock()
	for _, s := range []struct {
		into **sql.Stmt
		text string
	}{{&f.often.summary, selectByJob}, {&f.often.moveHead, moveHead}, {&f.often.addEvent, addEvent}} {
		if *s.into != nil {
			continue
		}
		stmt, err := f.db.PrepareContext(ctx, s.text)
		if err != nil {
			return err
		}
		*s.into = stmt
	}
	return nil
}

func (f *file) Close() error { return f.db.Close() }

// wrap adds the path, and words for the codes of SQLite, to an error that is
// not one of the store's own.
func (f *file) wrap(err error) error {
	var damage *record.Damage
	for _, own := range []error{ErrMoved, ErrNumberTaken, ErrUnknown, ErrNoBlob} {
		if errors.Is(err, own) {
			return err
		}
	}
	if err == nil || errors.As(err, &damage) {
		return err
	}
	return fmt.Errorf("record store %s: %w", f.path, explain(err))
}

func (f *file) Append(ctx context.Context, head record.Head, events []record.Event, blobs ...record.Blob) error {
	b, err := newBatch(head, events, blobs)
	if err != nil {
		return err
	}
	return f.wrap(f.append(ctx, b))
}

// append does everything in one immediate transaction: it waits for the write
// lock first, so that what it reads is still so when it writes.
func (f *file) append(ctx context.Context, b batch) error {
	if err := f.prepared(ctx); err != nil {
		return err
	}
	tx, err := f.db.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer tx.Rollback()
	if err := keepBlobs(ctx, tx, b); err != nil {
		return err
	}
	after, err := f.keepSummary(ctx, tx, b)
	if err != nil {
		return err
	}
	add := tx.StmtContext(ctx, f.often.addEvent)
	for _, e := range b.events {
		if _, err := add.ExecContext(ctx, e.Job.String(), e.Seq, string(e.Line())); err != nil {
			return fmt.Errorf("job %s: event %d: %w", e.Job, e.Seq, err)
		}
	}
	if err := f.commit(tx); err != nil {
		return f.settle(ctx, b, err)
	}
	f.last.Store(&after)
	return nil
}

func keepBlobs(ctx context.Context, tx *sql.Tx, b batch) error {
	for digest, blob := range b.blobs {
		data := append([]byte{}, blob...) // an empty blob is not NULL
		if _, err := tx.ExecContext(ctx, `INSERT INTO blobs (digest, data) VALUES ($1, $2) ON CONFLICT DO NOTHING`,
			digest.String(), data); err != nil {
			return fmt.Errorf("blob %s: %w", digest, err)
		}
	}
	return b.missing(func(digest record.Hash) (here bool, err error) {
		err = tx.QueryRowContext(ctx, `SELECT EXISTS (SELECT 1 FROM blobs WHERE digest = $1)`, digest.String()).Scan(&here)
		return here, err
	})
}

// summaryAt gives the summary of the job at the head of a batch. The one that was
// written last is taken as it was: if somebody else has written since, the update
// finds no row at its head.
func (f *file) summaryAt(ctx context.Context, tx *sql.Tx, head record.Head) (record.Summary, error) {
	if last := f.last.Load(); last != nil && last.Job == head.Job && last.Head == head.Hash {
		return *last, nil
	}
	return scanSummary(tx.StmtContext(ctx, f.often.summary).QueryRowContext(ctx, head.Job.String()))
}

func (f *file) keepSummary(ctx context.Context, tx *sql.Tx, b batch) (record.Summary, error) {
	before, err := f.summaryAt(ctx, tx, b.head)
	if errors.Is(err, sql.ErrNoRows) {
		if b.head.Seq > 0 {
			return before, unknownJob("job " + b.head.Job.String())
		}
		before = record.Summary{}
	} else if err != nil {
		return before, err
	}
	after, err := b.fold(before)
	if err != nil {
		return before, err
	}
	if before.Events == 0 {
		return after, insertSummary(ctx, tx, after)
	}
	return after, f.updateSummary(ctx, tx, before, after)
}

func insertSummary(ctx context.Context, tx *sql.Tx, s record.Summary) error {
	_, err := selectOne(ctx, tx, `asset = $1 AND number = $2`, s.Asset, s.Number)
	if err == nil {
		return numberTaken(s)
	}
	if !errors.Is(err, sql.ErrNoRows) {
		return err
	}
	_, err = tx.ExecContext(ctx, `INSERT INTO jobs (`+columns+`) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13)`,
		s.Job.String(), s.Asset, s.Number, s.Title, s.Procedure, string(s.State), s.Operator,
		s.Created.UnixMilli(), s.Updated.UnixMilli(), s.Events, s.Head.String(), s.Demo, int64(s.Weight))
	return err
}

// updateSummary leaves state, operator and weight alone while they stay the same, which
// they mostly do, so that their indexes are not written with every answer.
func (f *file) updateSummary(ctx context.Context, tx *sql.Tx, before, after record.Summary) error {
	args := []any{after.Updated.UnixMilli(), after.Events, after.Head.String(), after.Job.String(), before.Head.String()}
	var result sql.Result
	var err error
	if before.State == after.State && before.Operator == after.Operator && before.Weight == after.Weight {
		result, err = tx.StmtContext(ctx, f.often.moveHead).ExecContext(ctx, args...)
	} else {
		result, err = tx.ExecContext(ctx, `UPDATE jobs SET updated = $1, events = $2, head = $3, state = $6, operator = $7, weight = $8 WHERE job = $4 AND head = $5`,
			append(args, string(after.State), after.Operator, int64(after.Weight))...)
	}
	if err != nil {
		return err
	}
	if n, err := result.RowsAffected(); err != nil || n != 1 {
		return errors.Join(fmt.Errorf("job %s: %w", after.Job, ErrMoved), err)
	}
	return nil
}

// Writable tells whether an append could be made now: it takes the write lock and
// lets it go again. Nothing is written.
func (f *file) Writable(ctx context.Context) error {
	tx, err := f.db.BeginTx(ctx, nil)
	if err != nil {
		return f.wrap(err)
	}
	return f.wrap(tx.Rollback())
}

// settle finds out what became of a commit whose answer was an error or was
// lost: if the last event is there as it was written, everything is. The
// caller's context may be what ended the commit, so it does not end this.
func (f *file) settle(ctx context.Context, b batch, failure error) error {
	last := b.events[len(b.events)-1]
	var line string
	err := f.db.QueryRowContext(context.WithoutCancel(ctx), `SELECT line FROM events WHERE job = $1 AND seq = $2`,
		last.Job.String(), last.Seq).Scan(&line)
	switch {
	case err == nil && line == string(last.Line()):
		return nil
	case err == nil || errors.Is(err, sql.ErrNoRows):
		return failure
	}
	return fmt.Errorf("job %s: whether events %d to %d were kept is not known: %w", last.Job, b.head.Seq+1, last.Seq, errors.Join(failure, err))
}

// Events reads head and lines by one statement, so that they are of one moment.
func (f *file) Events(ctx context.Context, job uuid.UUID) ([]record.Event, error) {
	rows, err := f.db.QueryContext(ctx, `SELECT jobs.events, jobs.head, events.seq, events.line
		FROM jobs LEFT JOIN events ON events.job = jobs.job WHERE jobs.job = $1 ORDER BY events.seq`, job.String())
	if err != nil {
		return nil, f.wrap(err)
	}
	defer rows.Close()
	c := chain{head: record.Head{Job: job}}
	if err := readChain(rows, &c); err != nil {
		return c.events, f.wrap(err)
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

func (f *file) Blob(ctx context.Context, digest record.Hash) ([]byte, error) {
	var data []byte
	err := f.db.QueryRowContext(ctx, `SELECT data FROM blobs WHERE digest = $1`, digest.String()).Scan(&data)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, fmt.Errorf("blob %s: %w", digest, ErrNoBlob)
	}
	if err != nil {
		return nil, f.wrap(err)
	}
	return checkBlob(digest, data)
}

func (f *file) NextNumber(ctx context.Context, asset string) (int64, error) {
	var next int64
	err := f.db.QueryRowContext(ctx, `SELECT coalesce(max(number), 0) + 1 FROM jobs WHERE asset = $1`, asset).Scan(&next)
	return next, f.wrap(err)
}

func (f *file) Find(ctx context.Context, asset string, number int64) (record.Summary, error) {
	return f.one(ctx, fmt.Sprintf("%s/%d", asset, number), `asset = $1 AND number = $2`, asset, number)
}

func (f *file) Get(ctx context.Context, job uuid.UUID) (record.Summary, error) {
	return f.one(ctx, "job "+job.String(), `job = $1`, job.String())
}

func (f *file) one(ctx context.Context, what, where string, args ...any) (record.Summary, error) {
	s, err := selectOne(ctx, f.db, where, args...)
	if errors.Is(err, sql.ErrNoRows) {
		return record.Summary{}, unknownJob(what)
	}
	return s, f.wrap(err)
}

const columns = `job, asset, number, title, procedure, state, operator, created, updated, events, head, demo, weight`

// querier is a database or a transaction.
type querier interface {
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
}

func selectOne(ctx context.Context, q querier, where string, args ...any) (record.Summary, error) {
	return scanSummary(q.QueryRowContext(ctx, `SELECT `+columns+` FROM jobs WHERE `+where, args...))
}

func scanSummary(row interface{ Scan(...any) error }) (record.Summary, error) {
	var s record.Summary
	var job, head string
	var created, updated int64
	err := row.Scan(&job, &s.Asset, &s.Number, &s.Title, &s.Procedure, &s.State, &s.Operator,
		&created, &updated, &s.Events, &head, &s.Demo, &s.Weight)
	if err != nil {
		return record.Summary{}, err
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

func (f *file) Jobs(ctx context.Context, q Query) ([]record.Summary, error) {
	if err := q.check(); err != nil {
		return nil, err
	}
	query, args := q.statement()
	rows, err := f.db.QueryContext(ctx, query, args...)
	if err != nil {
		return nil, f.wrap(err)
	}
	defer rows.Close()
	var found []record.Summary
	for rows.Next() {
		s, err := scanSummary(rows)
		if err != nil {
			return nil, f.wrap(err)
		}
		found = append(found, s)
	}
	return found, f.wrap(rows.Err())
}

// noLimit stands for a query without a limit; with an offset it still fits.
const noLimit = math.MaxInt64 / 2

// statement writes the query so that an index gives its rows in their order:
// several states are several ordered lists, of which each need be no longer
// than the whole, merged.
func (q Query) statement() (string, []any) {
	limit := int64(noLimit)
	if q.Limit > 0 {
		limit = int64(q.Limit)
	}
	var args []any
	bind := func(v any) string {
		args = append(args, v)
		return fmt.Sprintf("$%d", len(args))
	}
	common := q.conditions(bind)
	order := ` ORDER BY created DESC, job DESC LIMIT `
	if q.WorstFirst {
		order = ` ORDER BY weight DESC, created DESC, job DESC LIMIT `
	}
	page := order + bind(limit) + ` OFFSET ` + bind(q.Offset)
	if len(q.States) < 2 {
		for _, state := range q.States {
			common = append(common, `state = `+bind(string(state)))
		}
		return selectWhere(common) + page, args
	}
	enough := order + bind(limit+int64(q.Offset))
	var lists []string
	for _, state := range uniqueStates(q.States) {
		where := append(common[:len(common):len(common)], `state = `+bind(string(state)))
		lists = append(lists, `SELECT * FROM (`+selectWhere(where)+enough+`) AS list`)
	}
	return strings.Join(lists, ` UNION ALL `) + page, args
}

func uniqueStates(states []record.State) []record.State {
	var unique []record.State
	seen := map[record.State]bool{}
	for _, s := range states {
		if !seen[s] {
			seen[s] = true
			unique = append(unique, s)
		}
	}
	return unique
}

func (q Query) conditions(bind func(any) string) []string {
	var conditions []string
	if q.Asset != "" {
		conditions = append(conditions, `asset = `+bind(q.Asset))
	}
	if q.Operator != "" {
		conditions = append(conditions, `operator = `+bind(q.Operator))
	}
	if !q.From.IsZero() {
		conditions = append(conditions, `created >= `+bind(milliUp(q.From)))
	}
	if !q.To.IsZero() {
		conditions = append(conditions, `created < `+bind(milliUp(q.To)))
	}
	return conditions
}

// milliUp gives the first whole millisecond at or after t: nothing is created
// between two of them.
func milliUp(t time.Time) int64 {
	ms := t.UnixMilli()
	if time.UnixMilli(ms).Before(t) {
		ms++
	}
	return ms
}

func selectWhere(conditions []string) string {
	query := `SELECT ` + columns + ` FROM jobs`
	if len(conditions) > 0 {
		query += ` WHERE ` + strings.Join(conditions, ` AND `)
	}
	return query
}
