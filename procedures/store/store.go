// Package store keeps the records of jobs: their events, the blobs they rest
// on, and one row a job for lists. What an event is, and when it is sound, is
// for package record; this package keeps what it is given and gives back the
// same bytes.
//
// # Words
//
// To append is to add events after a known head. The summary is the row of a
// job in lists; it is folded from the events and can be rebuilt from them. A
// blob is kept under its digest, once, whatever number of jobs name it.
//
// # What every store promises
//
// An append is conditional: it names the head it was made for, and when
// somebody else has written to the job since, nothing is kept and the error is
// [ErrMoved]. An append is whole: events, blobs and summary are kept together or
// not at all. An append that returned nil survives the end of the process and,
// in a file, the loss of power. Events and blobs are never changed or removed.
// The numbers of an asset's jobs are never given twice.
//
// An append is refused when its events do not follow the head, are not sound,
// or name a blob that is neither given nor kept already. Reading refuses bytes
// that are not what was appended: see [Store].
//
// # The file
//
// [OpenSQLite] keeps everything in one SQLite file, marked by its
// application_id and, in user_version, the number of the format described in
// schema.sql. Events are kept as the lines of package record. Triggers forbid
// changing and removing them, which guards against mistakes; against intent
// guards the chain. It refuses files of other programs, files of a newer format,
// folders on network file systems, where SQLite's write-ahead log does not work
// (sqlite.org/wal.html), and to run without the pragmas it relies on.
//
// # The workshop's server
//
// [OpenPostgres] keeps everything in the schema daytank of a PostgreSQL database, for
// several bays at once; [SetUpPostgres] makes it. postgres_schema.sql describes it.
// Logins are members of daytank_bay, who read and append, or of daytank_reader, who read;
// nobody may change or remove. A bay appends by a function of the server, which runs with
// its owner's rights, holds the job while it looks whether the head is still the one that
// the append was made for, and recomputes the chain over the new lines. What the lines
// fold into is Go's to say, and is held against them when a job is opened.
//
// A lost reply to a commit is settled: the server is asked, under the lock of the job,
// whether the last event is there. Only where it cannot be asked is the error that this
// is not known.
//
// Of a job that several stores have, one holds it and appends: see package share.
//
// [OpenMemory] keeps everything in memory, under the same promises but those
// about the end of the process.
//
// The package reads no clock.
package store

import (
	"context"
	"errors"
	"fmt"
	"time"

	"daytank/procedures/record"

	"github.com/google/uuid"
)

// Errors of a [Store]. They come wrapped with the job, the place and the value;
// use errors.Is.
var (
	ErrMoved       = errors.New("somebody else wrote to this job")
	ErrNumberTaken = errors.New("another job has this number")
	ErrUnknown     = errors.New("no such job here")
	ErrNoBlob      = errors.New("no such blob here")
	ErrNotHeld     = errors.New("another store holds this job")
	ErrAmbiguous   = errors.New("several jobs have this number")
)

// Store keeps records. It may be used by several goroutines at once.
type Store interface {
	// Append adds events after head, which is record.Genesis for a new job, and
	// keeps the blobs. It is one durable commit, over before Append returns nil.
	// With ErrMoved, ErrNumberTaken, ErrUnknown and every other error nothing is
	// kept, unless the error says that this is not known.
	Append(ctx context.Context, head record.Head, events []record.Event, blobs ...record.Blob) error

	// Events gives the chain of a job from its first event. When the kept bytes
	// are not those of a chain that ends at the job's head, the error is a
	// *record.Damage, and the events before the damage come with it.
	Events(ctx context.Context, job uuid.UUID) ([]record.Event, error)

	// Blob gives the bytes with the digest, or ErrNoBlob. It refuses bytes that
	// have another digest.
	Blob(ctx context.Context, digest record.Hash) ([]byte, error)

	// Find gives the job of an asset with the number, or ErrUnknown.
	Find(ctx context.Context, asset string, number int64) (record.Summary, error)

	// Get gives the summary of a job, or ErrUnknown.
	Get(ctx context.Context, job uuid.UUID) (record.Summary, error)

	// Jobs lists the jobs that fit the query, the last created first, or those that weigh
	// most first.
	Jobs(ctx context.Context, q Query) ([]record.Summary, error)

	// NextNumber gives the number after the highest of the asset's jobs, from 1.
	// It is not reserved: the append that uses it may meet ErrNumberTaken.
	NextNumber(ctx context.Context, asset string) (int64, error)

	// Identity gives the name that the store was given when it was made: no other store
	// has it, and it stays with the store.
	Identity(ctx context.Context) (uuid.UUID, error)

	// Close ends the use of the store. Every call after it fails.
	Close() error
}

// Query chooses jobs. The zero Query means all of them.
type Query struct {
	Jobs       []uuid.UUID    // any of them, a few hundred at most; empty: any
	Asset      string         // exactly; empty: any
	States     []record.State // any of them; empty: any
	Operator   string         // exactly; empty: any
	From, To   time.Time      // created at From or later, and before To; zero: no bound
	WorstFirst bool           // by weight, then as without
	Limit      int            // at most so many; 0: no limit
	Offset     int            // of those that fit, leave out so many first

	holder uuid.UUID // zero: any; only where the rows say who holds a job
}

func (q Query) check() error {
	if q.Limit < 0 || q.Offset < 0 {
		return fmt.Errorf("query with limit %d and offset %d, want 0 or more", q.Limit, q.Offset)
	}
	return nil
}
