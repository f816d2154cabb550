// Package bay is the checklist on a full screen: the step that is to be done
// now with what was done before it and what comes next, the live run with its
// countdown, and the glance view that is read from three metres.
//
// It has no memory of the job. What is asked comes from a sitting, each answer
// goes to it, and nothing is shown as done before it is stored. Plain lines are
// the specification: the same answers make the same events here and there.
// What the screen itself remembers is what a screen is for: how far a text is
// scrolled, what stands in the input line, which alarm was heard.
//
// Words. The guarded questions are demands, cautions to acknowledge, hold
// points and self-checks: they take a typed line and nothing else. An entry is
// a line of words that a key has opened: a note, or a reason. A panel covers the
// question: the emergency, an alarm that switches off, the list for leaving the
// work safe, help, and the opening.
//
// What is refused. No key answers a guarded question by itself, and neither do
// a paste, nor characters that come before the question could be read or
// faster than hands type; see [hands]. The mouse is never listened to. An
// answer is given only to the question that stood there when it was typed. In
// the run Space is STOP, except inside an entry and once behind the digits of a
// level, where a temperature follows: pressed twice it is STOP there as well.
//
// Colours follow ISO 3864, red for STOP, yellow for CAUTION, blue for DO, green
// for SAFE, and always stand behind the word itself.
package bay

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"daytank/cmd/internal/prompt"
	_ "daytank/cmd/internal/quiet" // before the terminal library starts
	"daytank/cmd/internal/sitting"
	"daytank/procedures/checklist"
	"daytank/procedures/record"
)

// Config is what a screen is made of. Hands may be left out; so may In and Out
// where no terminal is driven.
type Config struct {
	Sitting         *sitting.Sitting
	Events          func(context.Context) ([]record.Event, error) // of the job so far
	Operator        string
	EmergencyNumber string // as it stands in a sentence after "call"
	Whys            bool   // show why each step is done
	Again           bool   // the walk was left before
	Taken           string // how it was taken up again, in words; empty: as it was left
	Demo            bool   // nobody does this work
	Colour          bool

	In  io.Reader
	Out io.Writer

	Now     func() time.Time                     // the clock of the record
	Sleep   func(context.Context, time.Duration) // by the same clock
	Hands   func() time.Duration                 // by which typing is timed; nil: the system's
	Stopped func() string                        // names what ended the context, such as "signal: hangup"
	Alarm   func()                               // beside each bell; nil: the bell alone

	// PIN tells whether a person has a PIN to prove themselves with, and holds one
	// against it; nil: nobody has.
	PIN Proof

	// Photo gives the picture at a path, or the newest that has arrived; nil: none
	// are kept.
	Photo func(path string) (name string, picture []byte, err error)
}

// Proof is how the person who releases a hold point shows who they are.
type Proof interface {
	Has(name string) bool
	Check(name, pin string) error
}

// Ending is how a walk on the screen came to its end.
type Ending string

// Endings.
const (
	Finished  Ending = "finished"  // ready for review
	LeftSafe  Ending = "left safe" // by the person, who has seen the list
	Refused   Ending = "refused"   // left where a stop keeps the walk from going on
	Emergency Ending = "emergency" // called out, in the record, and shown
	Left      Ending = "left"      // by a signal, or with the terminal
)

// Result is the end of a walk on the screen.
type Result struct {
	Ending Ending
	Reason string // of Left: what ended it, in words
}

// Reasons for leaving, as they stand in the record.
const (
	interrupted = "signal: interrupt"
	inputEnded  = "the input has ended"
)

// framesPerSecond is how often the screen can be drawn; it is written to only
// where something changes.
const framesPerSecond = 60

// Run walks the job on the terminal until it is finished or left. A walk that
// ends by a signal, or because the terminal goes away, is left with everything
// kept. The error is one of the store, such as [store.ErrMoved], or of the
// terminal.
func Run(ctx context.Context, c Config) (Result, error) {
	if c.Hands == nil {
		start := time.Now()
		c.Hands = func() time.Duration { return time.Since(start) }
	}
	running, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	s := New(running, c)
	program := tea.NewProgram(s,
		tea.WithInput(prompt.UntilEnd(c.In, cancel)), tea.WithOutput(c.Out),
		tea.WithAltScreen(), tea.WithFPS(framesPerSecond), tea.WithoutSignalHandler())
	// Asked to quit it waits for its reader; with a context of ours it would not.
	defer context.AfterFunc(running, program.Quit)()
	_, err := program.Run()
	switch {
	case s.err != nil:
		return Result{}, s.err
	case s.result.Ending != "":
		return s.result, nil
	case errors.Is(err, tea.ErrProgramPanic):
		return Result{}, fmt.Errorf("the screen has failed: %w", err)
	case s.panel == panelKeyOff || s.panel == panelCards:
		return Result{Ending: Emergency}, nil
	}
	reason := inputEnded
	if ctx.Err() != nil && c.Stopped != nil {
		reason = c.Stopped()
	}
	return s.leaveNow(ctx, reason)
}

// leaveNow keeps the walk as it is, with the reason in the record.
func (s *Screen) leaveNow(ctx context.Context, reason string) (Result, error) {
	err := s.Sitting.Answer(context.WithoutCancel(ctx), checklist.Input{Do: checklist.LeaveSafe, Text: reason})
	return Result{Left, reason}, err
}
