package store

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"daytank/procedures/record"

	"github.com/google/uuid"
)

// postgres is a store in a schema of a PostgreSQL database.
type postgres struct {
	tables
	place    string        // of the server and the database, for errors
	plain    bool          // without TLS
	patience time.Duration // for settling
}

const callAppend = `SELECT append($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15)`

func (p *postgres) Append(ctx context.Context, head record.Head, events []record.Event, blobs ...record.Blob) error {
	return p.add(ctx, head, events, blobs, false)
}

func (p *postgres) Copy(ctx context.Context, head record.Head, events []record.Event, blobs ...record.Blob) error {
	return p.add(ctx, head, events, blobs, true)
}

func (p *postgres) add(ctx context.Context, head record.Head, events []record.Event, blobs []record.Blob, copied bool) error {
	b, err := newBatch(head, events, blobs)
	if err != nil {
		return err
	}
	err = p.append(ctx, b, copied)
	if codeOfPostgres(err) == codeNoRight {
		err = fmt.Errorf("%w: %w", ErrReadOnly, err)
	}
	return p.wrap(err)
}

// append reads the row, folds it on, and has the server append if the head is still
// the same then: it looks again under a lock of the job.
func (p *postgres) append(ctx context.Context, b batch, copied bool) error {
	tx, err := p.db.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer tx.Rollback()
	before, err := p.selectOne(ctx, tx, `job = $1`, b.head.Job.String())
	after, err := b.foldRow(before, err)
	if err != nil {
		return err
	}
	if err := p.keepBlobs(ctx, tx, b); err != nil {
		return err
	}
	var came string
	if err := tx.QueryRowContext(ctx, callAppend, p.appendArguments(b, after, copied)...).Scan(&came); err != nil {
		return err
	}
	if err := cameOf(came, b, after); err != nil {
		return err
	}
	if err := p.commit(tx); err != nil {
		return p.settle(ctx, b, err)
	}
	return nil
}

func (p *postgres) appendArguments(b batch, s record.Summary, copied bool) []any {
	name := p.names.in
	return []any{
		s.Job.String(), b.head.Seq, b.head.Hash.String(), lineArray(b.events), copied,
		name(s.Asset), s.Number, name(s.Title), name(s.Procedure), string(s.State), name(s.Operator),
		s.Created.UnixMilli(), s.Updated.UnixMilli(), s.Demo, int64(s.Weight),
	}
}

// lineArray writes the lines as a value of text[] (postgresql.org/docs, "Array Input and
// Output Syntax").
func lineArray(events []record.Event) string {
	escape := strings.NewReplacer(`\`, `\\`, `"`, `\"`)
	var b strings.Builder
	b.WriteByte('{')
	for i, e := range events {
		if i > 0 {
			b.WriteByte(',')
		}
		b.WriteByte('"')
		escape.WriteString(&b, string(e.Line())) // to memory, which does not fail
		b.WriteByte('"')
	}
	b.WriteByte('}')
	return b.String()
}

// cameOf turns the server's word about an append into an error.
func cameOf(word string, b batch, after record.Summary) error {
	job := "job " + b.head.Job.String()
	switch word {
	case "kept":
		return nil
	case "moved":
		return fmt.Errorf("%s is no longer at event %d: %w", job, b.head.Seq, ErrMoved)
	case "unknown":
		return unknownJob(job)
	case "number taken":
		return numberTaken(after)
	case "not held":
		return fmt.Errorf("%s (%s/%d): %w", job, after.Asset, after.Number, ErrNotHeld)
	}
	return fmt.Errorf("%s: the shared store answers %q to an append", job, word)
}

// settlePatience is how long the network may be away for a lost answer to be settled.
const settlePatience = 5 * time.Second

// settle finds out what came of an append whose answer was lost. While the network is away
// it tries again, unless the caller has given up already.
func (p *postgres) settle(ctx context.Context, b batch, failure error) error {
	const pause = 100 * time.Millisecond
	limited, cancel := context.WithTimeout(context.WithoutCancel(ctx), p.patience)
	defer cancel()
	for {
		known, err := p.lookBack(limited, b, failure)
		if known || ctx.Err() != nil {
			return err
		}
		select {
		case <-limited.Done():
			return err
		case <-time.After(pause):
		}
	}
}

// lookBack waits until the append is over, which the lock of the job says, and then looks
// whether it was kept. Known tells whether it could.
func (p *postgres) lookBack(ctx context.Context, b batch, failure error) (known bool, err error) {
	tx, err := p.db.BeginTx(ctx, nil)
	if err != nil {
		return false, notKnown(b, errors.Join(failure, err))
	}
	defer tx.Rollback()
	if _, err := tx.ExecContext(ctx, `SELECT pg_advisory_xact_lock(hashtextextended($1, 0))`, b.head.Job.String()); err != nil {
		return false, notKnown(b, errors.Join(failure, err))
	}
	err = settle(ctx, tx, b, failure)
	return err == nil || !errors.Is(err, errNotKnown), err
}

// Find looks for a second job with the number, which two bays may have given.
func (p *postgres) Find(ctx context.Context, asset string, number int64) (record.Summary, error) {
	found, err := p.list(ctx, `SELECT `+columns+` FROM jobs WHERE asset = $1 AND number = $2 ORDER BY created, job LIMIT 3`,
		p.names.in(asset), number)
	name := fmt.Sprintf("%s/%d", asset, number)
	switch {
	case err != nil:
		return record.Summary{}, p.wrap(err)
	case len(found) == 0:
		return record.Summary{}, unknownJob(name)
	case len(found) > 1:
		return record.Summary{}, fmt.Errorf("%s is job %s and job %s: %w", name, found[0].Job, found[1].Job, ErrAmbiguous)
	}
	return found[0], nil
}

func (p *postgres) Held(ctx context.Context, holder uuid.UUID, q Query) ([]record.Summary, error) {
	q.holder = holder
	return p.Jobs(ctx, q)
}

func (p *postgres) Writable(ctx context.Context) error {
	var may, recovering bool
	err := p.db.QueryRowContext(ctx, `SELECT has_function_privilege(p.oid, 'EXECUTE'), pg_is_in_recovery()
		FROM pg_proc p WHERE p.proname = 'append' AND p.pronamespace = 'daytank'::regnamespace`).Scan(&may, &recovering)
	if err == nil && (!may || recovering) {
		err = ErrReadOnly
	}
	return p.wrap(err)
}

var _ Shared = (*postgres)(nil)
