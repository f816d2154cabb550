package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"

	"daytank/cmd/internal/prompt"
	"daytank/planner/strict"
	"daytank/procedures/store"
)

// Code is the status the program ends with. Scripts rely on the numbers: a
// code keeps its meaning for ever.
type Code int

// The codes.
const (
	Done       Code = 0
	Failed     Code = 1
	Usage      Code = 2
	Refused    Code = 3
	Stopped    Code = 4
	Unverified Code = 5
)

// CodeMeaning is a row of the table of codes.
type CodeMeaning struct {
	Code    Code
	Meaning string
}

// Codes gives the table as it stands in the help of the program.
func Codes() []CodeMeaning { return slices.Clone(codes) }

var codes = []CodeMeaning{
	{Done, "done"},
	{Failed, "failed"},
	{Usage, "wrong usage, or a file that does not read"},
	{Refused, "refused by safety"},
	{Stopped, "stopped by the user, or left part way"},
	{Unverified, "a record does not verify"},
}

// Failure is an error that knows the status to end with and what the user can
// do about it.
type Failure struct {
	Code  Code
	Err   error    // what is wrong, one line a problem; nil: all has been said
	Hints []string // remedies, one line each
}

// Error gives what is wrong, without the hints.
func (f *Failure) Error() string {
	if f.Err == nil {
		return fmt.Sprintf("status %d", f.Code)
	}
	return f.Err.Error()
}

// Unwrap gives the error inside.
func (f *Failure) Unwrap() error { return f.Err }

// fail makes an error of err that ends the program with the code. No error
// makes none.
func fail(code Code, err error, hints ...string) error {
	if err == nil {
		return nil
	}
	return &Failure{Code: code, Err: err, Hints: hints}
}

// usage makes an error about how the program was called.
func usage(message string, hints ...string) error {
	return fail(Usage, errors.New(message), hints...)
}

// end makes an error that only carries the code, for a command whose output
// has said everything.
func end(code Code) error {
	if code == Done {
		return nil
	}
	return &Failure{Code: code}
}

// Signalled is the cause of a context that ended because the process was told
// to stop.
type Signalled struct{ Signal os.Signal }

// Error names the signal.
func (s Signalled) Error() string { return "stopped by signal: " + s.Signal.String() }

// Is makes it a cancellation to [errors.Is].
func (s Signalled) Is(target error) bool { return target == context.Canceled }

// StoppedBy tells which signal ended the context, if one did.
func StoppedBy(ctx context.Context) (os.Signal, bool) {
	var s Signalled
	if errors.As(context.Cause(ctx), &s) {
		return s.Signal, true
	}
	return nil, false
}

// judge finds the code of an error. What is a Failure says so itself; a file
// with problems is usage; a command that gave up because its context ended was
// stopped; anything else failed.
func judge(ctx context.Context, err error) *Failure {
	var known *Failure
	var problems strict.Problems
	switch {
	case err == nil:
		return nil
	case errors.As(err, &known):
		return &Failure{Code: known.Code, Err: everyProblem(err, known), Hints: known.Hints}
	case errors.As(err, &problems):
		return &Failure{Code: Usage, Err: err}
	case errors.Is(err, context.Canceled) && ctx.Err() != nil:
		return &Failure{Code: Stopped, Err: context.Cause(ctx)}
	}
	failure := &Failure{Code: codeOfStore(err), Err: err}
	if hint := store.Hint(err); hint != "" {
		failure.Hints = []string{hint}
	}
	return failure
}

// nothingKept is said where somebody left before the end of a few questions.
const nothingKept = "nothing was kept"

// stopped gives the status of a conversation that ended: by a signal, or with its input. Kept
// says what became of what was answered.
func stopped(err error, kept string) error {
	if !errors.Is(err, prompt.ErrEnd) {
		return err
	}
	why := prompt.ErrEnd.Error()
	var by Signalled
	if errors.As(err, &by) {
		why = by.Error()
	}
	return fail(Stopped, errors.New(why+"; "+kept))
}

// codeOfStore finds the code of an error of a store: in a damaged file no record verifies,
// and one of another program does not read.
func codeOfStore(err error) Code {
	switch {
	case errors.Is(err, store.ErrDamaged):
		return Unverified
	case errors.Is(err, store.ErrForeign):
		return Usage
	}
	return Failed
}

// everyProblem keeps what was wrapped around a failure, except around a silent one.
func everyProblem(err error, known *Failure) error {
	if known.Err == nil {
		return nil
	}
	return err
}

// report writes the error for the user: each line of it with the program's
// name, then the hints. It is the only place where errors are written.
func (f *Failure) report(w io.Writer) {
	if f.Err != nil {
		for line := range strings.Lines(f.Err.Error()) {
			fmt.Fprintf(w, "%s: %s\n", program, prompt.Plain(strings.TrimRight(line, "\r\n")))
		}
	}
	for _, hint := range f.Hints {
		fmt.Fprintf(w, "hint: %s\n", prompt.Plain(hint))
	}
}
