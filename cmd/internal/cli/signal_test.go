//go:build unix

package cli

import (
	"bytes"
	"context"
	"os"
	"syscall"
	"testing"
	"time"

	"github.com/spf13/cobra"
)

func TestSignalsStopTheCommand(t *testing.T) {
	for _, sent := range []syscall.Signal{syscall.SIGINT, syscall.SIGTERM, syscall.SIGHUP, syscall.SIGQUIT} {
		t.Run(sent.String(), func(t *testing.T) {
			ctx, stop := untilSignal(context.Background())
			defer stop()
			var told os.Signal
			waiting := func(*app) *cobra.Command {
				return &cobra.Command{Use: "wait", RunE: func(cmd *cobra.Command, _ []string) error {
					if err := syscall.Kill(os.Getpid(), sent); err != nil {
						return err
					}
					select {
					case <-cmd.Context().Done():
					case <-time.After(10 * time.Second):
						t.Error("no signal came through")
					}
					told, _ = StoppedBy(cmd.Context())
					return cmd.Context().Err()
				}}
			}
			var stderr bytes.Buffer
			code := run(ctx, Env{Args: []string{"wait"}, Stderr: &stderr}, []func(*app) *cobra.Command{waiting})
			if want := "daytank: stopped by signal: " + sent.String() + "\n"; Code(code) != Stopped || stderr.String() != want {
				t.Errorf("status %d, stderr %q, want %d, %q", code, stderr.String(), Stopped, want)
			}
			if told != sent {
				t.Errorf("the command was told %v", told)
			}
		})
	}
}

func TestNothingStoppedIt(t *testing.T) {
	ctx, stop := untilSignal(context.Background())
	if s, ok := StoppedBy(ctx); ok {
		t.Errorf("stopped by %v at the start", s)
	}
	stop()
	<-ctx.Done()
	if s, ok := StoppedBy(ctx); ok {
		t.Errorf("stopped by %v after an ordinary end", s)
	}
}

func TestSleepEndsWithItsContext(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	start := time.Now()
	sleep(ctx, time.Minute)
	if took := time.Since(start); took > 10*time.Second {
		t.Errorf("slept %v", took)
	}
}
