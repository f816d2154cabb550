package cli

import (
	"context"
	"crypto/rand"
	"io"
	"os"
	"strings"
	"time"

	"github.com/google/uuid"
	"golang.org/x/term"
)

// Env is everything the program has from outside. Commands reach the clock,
// the terminal, chance and the environment through it alone.
//
// A test leaves out what its command has no use for: streams default to
// nothing to read and nowhere to write, Getenv to a look into Environ,
// terminals to none, Width to 80. Clocks, identifiers and randomness have no
// default, so that a test cannot depend on them unawares.
type Env struct {
	Args           []string // without the program's name
	Stdin          io.Reader
	Stdout, Stderr io.Writer
	Getenv         func(string) string
	Environ        []string // NAME=value

	Now    func() time.Time                     // wall clock
	Mono   func() time.Duration                 // since the start; never steps back
	Sleep  func(context.Context, time.Duration) // until the time is over or the context done
	NewID  func() (uuid.UUID, error)            // version 7: in the order of creation
	Random io.Reader                            // fit for keys

	Hostname func() string // empty where the machine has none

	StdinIsTerminal  func() bool
	StdoutIsTerminal func() bool
	Width            func() int                      // columns of the terminal on stdout
	HideTyping       func() (show func(), err error) // nothing typed is shown until then
}

// defaultWidth is assumed where there is no terminal to ask.
const defaultWidth = 80

// realEnv is the environment of the process.
func realEnv() Env {
	start := time.Now()
	return Env{
		Args:  os.Args[1:],
		Stdin: os.Stdin, Stdout: os.Stdout, Stderr: os.Stderr,
		Getenv: os.Getenv, Environ: os.Environ(),
		Now:    time.Now,
		Mono:   func() time.Duration { return time.Since(start) },
		Sleep:  sleep,
		NewID:  uuid.NewV7,
		Random: rand.Reader,

		Hostname: func() string { name, _ := os.Hostname(); return name },

		StdinIsTerminal:  func() bool { return term.IsTerminal(int(os.Stdin.Fd())) },
		StdoutIsTerminal: func() bool { return term.IsTerminal(int(os.Stdout.Fd())) },
		Width:            width,
		HideTyping:       hideTyping,
	}
}

func sleep(ctx context.Context, d time.Duration) {
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-timer.C:
	case <-ctx.Done():
	}
}

func width() int {
	columns, _, err := term.GetSize(int(os.Stdout.Fd()))
	if err != nil || columns <= 0 {
		return defaultWidth
	}
	return columns
}

// filled gives the environment with the defaults of [Env].
func (e Env) filled() Env {
	no := func() bool { return false }
	if e.Args == nil {
		e.Args = []string{}
	}
	if e.Stdin == nil {
		e.Stdin = strings.NewReader("")
	}
	if e.Stdout == nil {
		e.Stdout = io.Discard
	}
	if e.Stderr == nil {
		e.Stderr = io.Discard
	}
	if e.Getenv == nil {
		e.Getenv = e.lookUp
	}
	if e.Hostname == nil {
		e.Hostname = func() string { return "" }
	}
	if e.StdinIsTerminal == nil {
		e.StdinIsTerminal = no
	}
	if e.StdoutIsTerminal == nil {
		e.StdoutIsTerminal = no
	}
	if e.Width == nil {
		e.Width = func() int { return defaultWidth }
	}
	if e.HideTyping == nil {
		e.HideTyping = func() (func(), error) { return func() {}, nil }
	}
	return e
}

// lookUp gives a variable out of Environ, the last one as the system does.
func (e Env) lookUp(name string) string {
	for i := len(e.Environ) - 1; i >= 0; i-- {
		if value, ok := strings.CutPrefix(e.Environ[i], name+"="); ok {
			return value
		}
	}
	return ""
}
