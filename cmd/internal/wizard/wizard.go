// Package wizard asks an owner who has never seen a job file what a plan needs,
// and makes the job of the answers.
//
// Words. A question stands in one table, with the place of its answer in the
// job file; [Questions] gives all of them. A page is what belongs together:
// vehicle, engine, fluid, rig, run, site, condition, tank dose; the last page is
// the plan. The short path is what has to be asked, at most fifteen questions;
// more of a page is asked when the person wants it. A draft is what was answered
// so far. An answer can also be "not known", which leaves the key out so that
// the layout's band or the default of the job file stands in, or "will check at
// the vehicle", which leaves it out for the checklist to ask.
//
// Nothing is computed here. Answers are written into a document, which
// [planner.ReadJob] reads, [planner.Compute] plans and [safety.Assess] judges; an
// answer that the reader would not take is refused with the reader's reason. A
// figure outside the usual range is taken when it is given a second time. Usual
// ranges are common practice, no source.
//
// There are two faces of the same table and the same [Session]: plain lines,
// which are the specification, and a screen. Both take the same words: ? for
// help, < back, > to what is open, + more of this page, - not known, v will check
// at the vehicle, p to leave. A choice is taken by its number or its word; a list on
// the screen moves to the one entry that what is typed fits, and takes nothing that
// fits none or several. Enter alone keeps what stands, or means "not known"
// where the question says so; it never answers anything else.
//
// # Drafts
//
// Every answer is stored before it is shown: one file a wizard in the folder of
// [Config], of YAML with `draft: 1`, as [Draft] describes it, readable by its
// owner alone and replaced as a whole. Leaving keeps it, in whatever way; saving
// the job or writing its file removes it. A draft that another terminal has
// changed since is not written over.
package wizard

import (
	"context"
	"errors"
	"io"
	"time"

	"daytank/cmd/internal/prompt"
	"daytank/planner"
	"daytank/planner/engine"
	"daytank/planner/quantity"
	"daytank/procedures/checklist"
)

// Config is what a wizard works with. Functions may be nil where a comment says
// so.
type Config struct {
	Engines *engine.Library
	Printer quantity.Printer
	Now     func() time.Time // the wall clock; the day of a job and the start-by come from it
	Drafts  string           // folder of the drafts; it need not be there
	NewName func() (string, error)

	// Last gives the last job of an asset as a job file; nil: none is known.
	Last func(ctx context.Context, asset string) (Last, bool, error)
	// Prepare plans a job and composes its checklist. Known tells whether its
	// layout has a procedure; without one a job can be planned and not walked.
	Prepare func(job planner.Job) (planned checklist.Planned, known bool, err error)
	// Save makes a job that can be walked and gives its name, such as VAN-07/3.
	Save func(ctx context.Context, planned checklist.Planned, operator string) (string, error)

	// Open are jobs that can be walked on, offered beside the drafts before the first
	// question.
	Open []OpenJob

	Operator string // empty: asked when the job is saved
	CanWalk  bool   // there is a terminal to walk at

	In      io.Reader
	Out     io.Writer
	Talk    *prompt.Line // of line mode
	Columns func() int   // of line mode
	Colour  bool
}

// Last is the last job of an asset.
type Last struct {
	Name string // such as VAN-07/3
	File []byte // its job file
	Done bool   // it was walked to its end
}

// OpenJob is a job that was saved and not walked to its end.
type OpenJob struct {
	Name  string // such as VAN-07/3
	Title string // empty: it has none
	How   string // it stands, such as: left part way
}

// Result is how a wizard ended.
type Result struct {
	Job      string // the job that was saved, or chosen to be walked on; empty: none
	File     string // the job file that was written; empty: none
	Operator string // empty: of a job that is walked on nobody was asked
	Walk     bool   // the job is to be walked at once
	NotReady bool   // left at a plan with a stop
	Draft    string
}

// Saved tells whether the answers are in a job or a job file.
func (r Result) Saved() bool { return r.Job != "" || r.File != "" }

// ErrLeft says that the person left, or that the conversation ended; the draft
// is kept.
var ErrLeft = errors.New("left part way")

// today gives the day by the wall clock.
func (c Config) today() planner.Date {
	now := c.Now()
	return planner.Date{Year: now.Year(), Month: int(now.Month()), Day: now.Day()}
}
