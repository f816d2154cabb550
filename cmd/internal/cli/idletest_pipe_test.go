//go:build unix

package cli

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/google/uuid"
)

// A log may come through a pipe; waiting for one that nobody writes to can be broken
// off.
func TestLogFromPipe(t *testing.T) {
	b := newBayside(t)
	pipe := filepath.Join(b.home, "log.pipe")
	if err := syscall.Mkfifo(pipe, 0o600); err != nil {
		t.Fatal(err)
	}
	log, err := os.ReadFile(filepath.Join(logFolder, "van-before-hot.csv"))
	if err != nil {
		t.Fatal(err)
	}
	wrote := make(chan error, 1)
	go func() { wrote <- os.WriteFile(pipe, log, 0o600) }()
	if code := b.run(t, "\n\n", "test", "add", "VAN-07/1", pipe, "--before", "--store", b.store()); code != int(Done) {
		t.Errorf("%d\n%s%s", code, b.out.String(), b.err.String())
	}
	if err := <-wrote; err != nil {
		t.Error(err)
	}

	ctx, cancel := context.WithCancelCause(t.Context())
	time.AfterFunc(50*time.Millisecond, func() { cancel(Signalled{os.Interrupt}) })
	start := time.Now()
	code := Run(ctx, Env{
		Args: []string{"test", "compare", "--before-hot", pipe}, Environ: []string{"HOME=" + b.home},
		Now: time.Now, Mono: func() time.Duration { return 0 }, Sleep: sleep, NewID: uuid.NewV7,
	})
	if code != int(Stopped) || time.Since(start) > 10*time.Second {
		t.Errorf("status %d after %v", code, time.Since(start))
	}
	// Let the reader that waits go.
	if w, err := os.OpenFile(pipe, os.O_WRONLY|syscall.O_NONBLOCK, 0); err == nil {
		_ = w.Close()
	}
}

// A log that is still being written is read as far as its lines are whole.
func TestGrowingLog(t *testing.T) {
	b := newBayside(t)
	log, err := os.ReadFile(filepath.Join(logFolder, "van-before-hot.csv"))
	if err != nil {
		t.Fatal(err)
	}
	growing := filepath.Join(b.home, "growing.csv")
	if err := os.WriteFile(growing, log[:len(log)-10], 0o600); err != nil {
		t.Fatal(err)
	}
	if code := b.run(t, "\n\n", "test", "add", "VAN-07/1", growing, "--before", "--store", b.store()); code != int(Done) {
		t.Errorf("%d\n%s%s", code, b.out.String(), b.err.String())
	}
	if said := strings.Join(strings.Fields(b.err.String()), " "); !strings.Contains(said, "the last line, 122, breaks off and was left out") {
		t.Errorf("nothing said of the line that breaks off:\n%s", said)
	}
}
