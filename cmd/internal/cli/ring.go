package cli

import (
	"context"
	"os/exec"
	"strings"
	"sync/atomic"
)

// ringer runs the command of the setting alarm_command beside each bell. One that
// still runs is left to ring; one that cannot be started rings nothing, and the bell
// stays. It is run without a shell: a program and its arguments, split at spaces.
func ringer(ctx context.Context, command string) func() {
	words := strings.Fields(command)
	if len(words) == 0 {
		return nil
	}
	var rings atomic.Bool
	return func() {
		if !rings.CompareAndSwap(false, true) {
			return
		}
		go func() {
			defer rings.Store(false)
			_ = exec.CommandContext(ctx, words[0], words[1:]...).Run() // the bell has rung already
		}()
	}
}

// call rings in plain lines: the bell, and the command beside it.
func (w *walker) call() string {
	if w.rings != nil {
		w.rings()
	}
	if !w.app.env.StdoutIsTerminal() {
		return ""
	}
	return "\a"
}
