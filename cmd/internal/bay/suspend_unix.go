//go:build unix

package bay

import (
	"os"
	"os/signal"
	"syscall"
	"time"
)

// stopsWithin is how soon a process stops that is told to, if it does.
const stopsWithin = 300 * time.Millisecond

// stopUntilContinued stops the processes of this job, as the terminal would,
// and returns once they go on. A process that no shell watches over is not
// stopped by that signal (POSIX.1-2017, orphaned process groups): it must not
// wait for ever to be continued.
func stopUntilContinued() error {
	continued := make(chan os.Signal, 1)
	signal.Notify(continued, syscall.SIGCONT)
	defer signal.Stop(continued)
	if err := syscall.Kill(0, syscall.SIGTSTP); err != nil {
		return err
	}
	select {
	case <-continued:
		return nil
	case <-time.After(stopsWithin):
	}
	select {
	case <-continued:
		return nil
	default:
		return errNoShell
	}
}
