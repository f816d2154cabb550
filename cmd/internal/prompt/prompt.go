// Package prompt talks to a person in plain lines: whole sentences, one
// question at a time, nothing redrawn.
//
// Rules of talking. There is one reader of the input, whoever asks. The end of
// the input is an error, never an answer. A question that guards something is
// asked fresh: what was typed or pasted before it stood on the screen does not
// count. No flag, setting, file or environment variable answers a question.
// What a person typed is shown again without control characters.
package prompt

import (
	"bufio"
	"context"
	"errors"
	"io"
	"strings"
	"time"
	"unicode/utf8"

	"daytank/procedures/report"
)

// Errors of reading a line.
var (
	ErrEnd  = errors.New("the input has ended")
	ErrWake = errors.New("nothing was typed in time")
)

// longestLine is how much of a line is read; the rest of it is dropped.
const longestLine = 4096

// Line reads lines from one input, however many questions share it.
type Line struct {
	out   io.Writer
	lines chan line
	ended bool // the end of the input has been met
	wait  func(context.Context, time.Duration) <-chan struct{}
}

type line struct {
	text string
	err  error
}

// New begins to read from in. Questions are written to out. Sleep waits for a
// time or until the context is done.
func New(in io.Reader, out io.Writer, sleep func(context.Context, time.Duration)) *Line {
	l := &Line{out: out, lines: make(chan line, 64)}
	l.wait = func(ctx context.Context, d time.Duration) <-chan struct{} {
		over := make(chan struct{})
		go func() {
			sleep(ctx, d)
			close(over)
		}()
		return over
	}
	go l.read(in)
	return l
}

func (l *Line) read(in io.Reader) {
	r := bufio.NewReaderSize(in, longestLine)
	for {
		text, err := r.ReadString('\n')
		if len(text) > longestLine {
			text = strings.ToValidUTF8(text[:longestLine], "") // cut between two letters
		}
		if text != "" && err == nil {
			l.lines <- line{text: text}
			continue
		}
		// A last line without its end was not entered.
		l.lines <- line{err: ErrEnd}
		close(l.lines)
		return
	}
}

// fresh drops what was typed before now, and tells whether there was anything.
func (l *Line) fresh() bool {
	dropped := false
	for {
		select {
		case got, open := <-l.lines:
			if !open || got.err != nil {
				l.ended = true // for the next reading
				return dropped
			}
			dropped = true
		default:
			return dropped
		}
	}
}

// soonest is how long after a question stands there an answer can come at the
// earliest from somebody who has read it.
const soonest = 150 * time.Millisecond

// ReadFresh is [Line.Read] for a question that nothing typed or pasted
// beforehand may answer: what is there already is dropped, and so is what comes
// sooner than anybody reads. Mono is a clock that never steps back.
func (l *Line) ReadFresh(ctx context.Context, question string, wake time.Duration, mono func() time.Duration) (string, error) {
	l.sayDropped(l.fresh())
	for {
		asked := mono()
		text, err := l.Read(ctx, question, wake)
		if err != nil || mono()-asked >= soonest {
			return text, err
		}
		l.fresh()
		l.sayDropped(true)
	}
}

func (l *Line) sayDropped(dropped bool) {
	if dropped {
		io.WriteString(l.out, "  What was typed before this question stood here does not count.\n")
	}
}

// Read writes a question and waits for a line, at most so long where wake is
// above 0. The text comes without surrounding space. Errors: [ErrEnd],
// [ErrWake], and the cause of the context.
func (l *Line) Read(ctx context.Context, question string, wake time.Duration) (string, error) {
	io.WriteString(l.out, question)
	if l.ended {
		return "", ErrEnd
	}
	var over <-chan struct{}
	if wake > 0 {
		waiting, cancel := context.WithCancel(ctx)
		defer cancel()
		over = l.wait(waiting, wake)
	}
	select {
	case got, open := <-l.lines:
		l.ended = !open || got.err != nil
		if l.ended {
			return "", ErrEnd
		}
		if !utf8.ValidString(got.text) { // a record keeps text, and nobody sees what was meant
			io.WriteString(l.out, "  Not taken: this is not UTF-8 text. Set the terminal to UTF-8, or type it in plain letters.\n")
			return l.Read(ctx, question, wake)
		}
		return strings.TrimSpace(got.text), nil
	case <-ctx.Done():
		return "", context.Cause(ctx)
	case <-over:
		io.WriteString(l.out, "\n") // what comes next stands on a line of its own
		return "", ErrWake
	}
}

// Plain is [report.Plain], for what is written to a terminal.
func Plain(text string) string { return report.Plain(text) }
