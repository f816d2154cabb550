// Package quiet keeps a program from talking to its terminal before it has
// anything to say.
//
// The terminal library asks the terminal for its background colour while the
// program starts, in every command, and waits five seconds for the answer
// where none comes: over a serial line, in a job runner, in a terminal that
// does not know the question. This package answers in the terminal's stead.
//
// It works by order. Go initialises packages by import path as soon as all
// they import is ready (Go specification, "Program initialization"), and
// daytank/cmd/internal/quiet comes before github.com/charmbracelet/bubbletea,
// which asks. It therefore imports nothing but the package that holds the
// answer, and the program imports it for its effect.
package quiet

import "github.com/charmbracelet/lipgloss"

// Dark is what stands in until a screen that cares asks for itself, at a time
// when it listens for the answer.
func init() { lipgloss.SetHasDarkBackground(true) }
