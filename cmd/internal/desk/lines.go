package desk

import (
	"context"
	"fmt"
	"io"
	"time"

	"daytank/procedures/report"
)

// Lines is the desk in plain lines.
type Lines struct {
	Out   io.Writer
	Width func() int
	Read  func(ctx context.Context, question string, wake time.Duration) (string, error)
	Hide  func(ctx context.Context, question string) (string, error) // what is typed is not shown
}

// Page writes a text below what is there.
func (l Lines) Page(text string) { fmt.Fprintf(l.Out, "\n%s\n", text) }

// Say writes a sentence.
func (l Lines) Say(text string) { fmt.Fprintln(l.Out, report.Wrap(text, "  ", l.Columns())) }

// Ask asks in a line.
func (l Lines) Ask(ctx context.Context, question string) (string, error) {
	return l.Read(ctx, question, 0)
}

// Secret asks without showing what is typed.
func (l Lines) Secret(ctx context.Context, question string) (string, error) {
	return l.Hide(ctx, question)
}

// Columns is how wide a line may be.
func (l Lines) Columns() int { return min(l.Width(), 100) }
