package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"sync"
	"sync/atomic"

	"daytank/procedures/record"
)

// file is a store in an SQLite file.
type file struct {
	tables
	path  string
	often often
	last  atomic.Pointer[record.Summary] // of the job appended to last, as it was then
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

// say adds the path, and words for the codes of SQLite, to an error.
func (f *file) say(err error) error {
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
	if err := f.keepBlobs(ctx, tx, b); err != nil {
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
		return settle(context.WithoutCancel(ctx), f.db, b, err)
	}
	f.last.Store(&after)
	return nil
}

// summaryAt gives the summary of the job at the head of a batch. The one that was
// written last is taken as it was: if somebody else has written since, the update
// finds no row at its head.
func (f *file) summaryAt(ctx context.Context, tx *sql.Tx, head record.Head) (record.Summary, error) {
	if last := f.last.Load(); last != nil && last.Job == head.Job && last.Head == head.Hash {
		return *last, nil
	}
	return f.scan(tx.StmtContext(ctx, f.often.summary).QueryRowContext(ctx, head.Job.String()))
}

func (f *file) keepSummary(ctx context.Context, tx *sql.Tx, b batch) (record.Summary, error) {
	before, err := f.summaryAt(ctx, tx, b.head)
	after, err := b.foldRow(before, err)
	if err != nil {
		return before, err
	}
	if before.Events == 0 {
		return after, f.insertSummary(ctx, tx, after)
	}
	return after, f.updateSummary(ctx, tx, before, after)
}

func (f *file) insertSummary(ctx context.Context, tx *sql.Tx, s record.Summary) error {
	_, err := f.selectOne(ctx, tx, `asset = $1 AND number = $2`, s.Asset, s.Number)
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
