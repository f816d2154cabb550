package prompt

import (
	"context"
	"errors"
	"io"
	"strings"
	"testing"
	"time"
	"unicode/utf8"
)

func sleep(ctx context.Context, d time.Duration) {
	select {
	case <-time.After(d):
	case <-ctx.Done():
	}
}

// reading gives a Line over a pipe, and its other end.
func reading(t *testing.T) (*Line, *io.PipeWriter, *strings.Builder) {
	t.Helper()
	in, w := io.Pipe()
	var out strings.Builder
	t.Cleanup(func() { w.Close() })
	return New(in, &out, sleep), w, &out
}

func TestReadALine(t *testing.T) {
	l, w, out := reading(t)
	go io.WriteString(w, "  dead \r\n")
	got, err := l.Read(t.Context(), "fuse number > ", 0)
	if err != nil || got != "dead" || out.String() != "fuse number > " {
		t.Errorf("%q, %v, wrote %q", got, err, out.String())
	}
}

// The end of the input is an error, never an answer: neither an empty one nor
// the beginning of a line that was not entered.
func TestEndOfInputIsNoAnswer(t *testing.T) {
	for _, typed := range []string{"", "dea"} {
		l, w, _ := reading(t)
		go func() {
			io.WriteString(w, typed)
			w.Close()
		}()
		for range 3 {
			if got, err := l.Read(t.Context(), "", 0); !errors.Is(err, ErrEnd) || got != "" {
				t.Errorf("after %q: %q, %v", typed, got, err)
			}
		}
	}
}

func TestReadWakes(t *testing.T) {
	l, w, _ := reading(t)
	if got, err := l.Read(t.Context(), "", time.Millisecond); !errors.Is(err, ErrWake) || got != "" {
		t.Errorf("%q, %v", got, err)
	}
	go io.WriteString(w, "later\n")
	if got, err := l.Read(t.Context(), "", time.Minute); err != nil || got != "later" {
		t.Errorf("%q, %v", got, err)
	}
}

func TestReadIsInterrupted(t *testing.T) {
	l, _, _ := reading(t)
	cause := errors.New("hangup")
	ctx, cancel := context.WithCancelCause(t.Context())
	cancel(cause)
	if _, err := l.Read(ctx, "", 0); !errors.Is(err, cause) {
		t.Errorf("%v", err)
	}
}

// What was typed or pasted before a question stands there does not count, nor
// does what comes sooner than anybody reads.
func TestReadFresh(t *testing.T) {
	l, w, out := reading(t)
	io.WriteString(w, "dead\ndry\n23\n")
	deadline := time.Now().Add(5 * time.Second)
	for len(l.lines) < 3 && time.Now().Before(deadline) {
		time.Sleep(time.Millisecond)
	}
	// The clock is read when a question stands and when its line has come: each line is
	// typed once its question stands, however slowly this machine runs.
	times := []time.Duration{0, 10 * time.Millisecond, time.Second, 3 * time.Second}
	typed := []string{"too soon\n", "", "seen\n", ""}
	mono := func() time.Duration {
		now, next := times[0], typed[0]
		times, typed = times[1:], typed[1:]
		if next != "" {
			go io.WriteString(w, next)
		}
		return now
	}
	got, err := l.ReadFresh(t.Context(), "look > ", 0, mono)
	if err != nil || got != "seen" {
		t.Errorf("%q, %v", got, err)
	}
	if n := strings.Count(out.String(), "does not count"); n != 2 {
		t.Errorf("said %d times, want twice: %q", n, out.String())
	}
}

func TestReadFreshKeepsTheEnd(t *testing.T) {
	l, w, _ := reading(t)
	w.Close()
	deadline := time.Now().Add(5 * time.Second)
	for len(l.lines) == 0 && time.Now().Before(deadline) {
		time.Sleep(time.Millisecond)
	}
	for range 2 {
		if got, err := l.ReadFresh(t.Context(), "", 0, func() time.Duration { return 0 }); !errors.Is(err, ErrEnd) {
			t.Errorf("%q, %v", got, err)
		}
	}
}

// A line that is not UTF-8 is no answer and ends nothing: it is said, and asked again.
func TestNotText(t *testing.T) {
	l, w, out := reading(t)
	go io.WriteString(w, "caf\xe9\ncafe\n")
	got, err := l.Read(t.Context(), "why > ", 0)
	if err != nil || got != "cafe" || strings.Count(out.String(), "why > ") != 2 || !strings.Contains(out.String(), "this is not UTF-8 text") {
		t.Errorf("%q, %v, wrote %q", got, err, out.String())
	}
	l, w, _ = reading(t)
	long := strings.Repeat("é", longestLine)
	go io.WriteString(w, "x"+long+"\n") // cut in the middle of a letter
	if got, err := l.Read(t.Context(), "", 0); err != nil || len(got) < longestLine-2 || !utf8.ValidString(got) {
		t.Errorf("%d bytes, %v", len(got), err)
	}
}
