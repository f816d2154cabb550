package bay

import (
	"errors"
	"io"

	tea "github.com/charmbracelet/bubbletea"
)

// suspend gives the terminal back to the shell until it calls the program to
// the foreground again. It is refused while the engine runs: nobody would see
// the countdown.
func (s *Screen) suspend() tea.Cmd {
	if s.engineRuns() {
		s.saying = "The engine is in its run: the screen stays until it is off."
		return nil
	}
	return tea.Exec(pause{}, func(err error) tea.Msg { return backMsg{err} })
}

// pause is the time in the background.
type pause struct{}

func (pause) Run() error          { return stopUntilContinued() }
func (pause) SetStdin(io.Reader)  {}
func (pause) SetStdout(io.Writer) {}
func (pause) SetStderr(io.Writer) {}

var errNoShell = errors.New("there is no shell here to come back from")
