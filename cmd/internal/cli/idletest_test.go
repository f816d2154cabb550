package cli

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"
)

// bay is a terminal beside an engine, with a clock that sleeping moves on.
type bayside struct {
	home string
	now  time.Time
	out  bytes.Buffer
	err  bytes.Buffer
}

func newBayside(t *testing.T) *bayside {
	t.Helper()
	b := &bayside{home: t.TempDir(), now: time.Date(2026, 3, 20, 8, 0, 0, 0, time.UTC)}
	if code := b.run(t, "", "demo", "--store", b.store()); code != int(Done) {
		t.Fatalf("demo: %d\n%s", code, b.err.String())
	}
	return b
}

func (b *bayside) store() string { return filepath.Join(b.home, "records.db") }

// run runs a command at the terminal, with what is typed.
func (b *bayside) run(t *testing.T, typed string, args ...string) int {
	t.Helper()
	b.out.Reset()
	b.err.Reset()
	start := b.now
	return Run(context.Background(), Env{
		Args: args, Stdin: strings.NewReader(typed), Stdout: &b.out, Stderr: &b.err,
		Environ: []string{"HOME=" + b.home, "DAYTANK_OPERATOR=Mara Quill"},
		Now:     func() time.Time { return b.now }, Mono: func() time.Duration { return b.now.Sub(start) },
		Sleep: func(ctx context.Context, d time.Duration) {
			if ctx.Err() == nil {
				b.now = b.now.Add(d)
			}
		},
		NewID:           uuid.NewV7,
		StdinIsTerminal: func() bool { return true }, StdoutIsTerminal: func() bool { return true },
	})
}

// minutes gives so many lines of a display that wavers about its means.
func minutes(from, to int) string {
	var b strings.Builder
	for i := from; i <= to; i++ {
		w := float64(i%3-1) / 10
		fmt.Fprintf(&b, "86 800 %.1f %.1f 0,5 -0.4\n", 1.2+w, -1.3-w)
	}
	return b.String()
}

// A test is read live, a line each minute; what is no line is asked again; a reading
// that was left goes on, and what was typed is on the disk before the next is asked.
func TestReadLive(t *testing.T) {
	b := newBayside(t)
	// The run ended today, so the test would be taken as one after it.
	args := []string{"test", "read", "VAN-07/1", "--before", "--hot", "--store", b.store()}
	typed := "\n" + "86 800 1.2\n" + "86 800 1.2 x 0.5 -0.4\n" + "86 9000 1.2 -1.3 0.5 -0.4\n" + minutes(0, 4) + "q\n"
	if code := b.run(t, typed, args...); code != int(Stopped) {
		t.Fatalf("left: %d\n%s%s", code, b.out.String(), b.err.String())
	}
	for _, want := range []string{"3 values, and 6 are wanted: coolant, speed, correction 1", `correction 2: "x" is no number`, "speed: 9000 is outside 200 to 3000", "next at 1:00"} {
		if !strings.Contains(b.out.String(), want) {
			t.Errorf("not said: %s\n%s", want, b.out.String())
		}
	}
	if !strings.Contains(b.err.String(), "left after 5 lines; they are kept") {
		t.Errorf("%s", b.err.String())
	}
	files, err := filepath.Glob(filepath.Join(b.home, ".local/share/daytank/tests/*-live.txt"))
	if err != nil || len(files) != 1 {
		t.Fatalf("%v, %v", files, err)
	}
	if code := b.run(t, minutes(5, 10)+"adds\n\n", args...); code != int(Done) {
		t.Fatalf("went on: %d\n%s%s", code, b.out.String(), b.err.String())
	}
	for _, want := range []string{"Going on where it was left, after 4:00", "VAN-07/1: before, hot, run 1: kept", "cylinder 1: 1.19 mm3/stroke", "11 samples"} {
		if !strings.Contains(b.out.String(), want) {
			t.Errorf("not said: %s\n%s", want, b.out.String())
		}
	}
	if _, err := os.Stat(files[0]); !os.IsNotExist(err) {
		t.Errorf("what was kept on the way is still there: %v", err)
	}
	if code := b.run(t, "", "test", "compare", "VAN-07/1", "--store", b.store()); code != int(Done) || !strings.Contains(b.out.String(), "no hot test after") {
		t.Errorf("%d\n%s%s", code, b.out.String(), b.err.String())
	}
}

// A live reading that was left for long begins anew; its lines stay.
func TestReadLiveTooLate(t *testing.T) {
	b := newBayside(t)
	args := []string{"test", "read", "VAN-07/1", "--before", "--hot", "--store", b.store()}
	b.run(t, "\n"+minutes(0, 2), args...)
	b.now = b.now.Add(10 * time.Minute)
	if code := b.run(t, "\n"+minutes(0, 10)+"\n\n", args...); code != int(Done) || !strings.Contains(b.out.String(), "too long ago") {
		t.Errorf("%d\n%s%s", code, b.out.String(), b.err.String())
	}
	old, err := filepath.Glob(filepath.Join(b.home, ".local/share/daytank/tests/*.old"))
	if err != nil || len(old) != 1 {
		t.Errorf("%v, %v", old, err)
	}
}

// A test typed from a sheet; where it could not be compared it is kept only if wanted.
func TestTypedTest(t *testing.T) {
	b := newBayside(t)
	args := []string{"test", "add", "VAN-07/1", "--before", "--hot", "--store", b.store()}
	if code := b.run(t, minutes(0, 3)+"end\n\n\n"+"no\n", args...); code != int(Stopped) || !strings.Contains(b.out.String(), "it could not be compared: 3 min of idle") {
		t.Fatalf("%d\n%s%s", code, b.out.String(), b.err.String())
	}
	if code := b.run(t, minutes(4, 10)+"takes\ngear=neutral\n", args...); code != int(Done) || !strings.Contains(b.out.String(), "before, hot, run 1: kept") {
		t.Fatalf("%d\n%s%s", code, b.out.String(), b.err.String())
	}
	if code := b.run(t, minutes(0, 10)+"\n", "test", "add", "VAN-07/1", "--after", "--hot", "--store", b.store()); code != int(Done) || !strings.Contains(b.out.String(), "conditions; Enter if as before, gear=neutral") {
		t.Fatalf("%d\n%s%s", code, b.out.String(), b.err.String())
	}
	if code := b.run(t, "", "test", "compare", "VAN-07/1", "--store", b.store()); code != int(Done) || !strings.Contains(b.out.String(), "No change shown (suggested), hot") {
		t.Errorf("%d\n%s%s", code, b.out.String(), b.err.String())
	}
}

// What is not certain of a log is asked at the terminal, once for each header.
func TestColumnsAreAsked(t *testing.T) {
	b := newBayside(t)
	log := filepath.Join(b.home, "own.csv")
	var text strings.Builder
	text.WriteString("tick,water,a,b,c,d\n")
	for i := range 121 {
		w := float64(i%3-1) / 10
		fmt.Fprintf(&text, "%d,86,%.1f,%.1f,0.5,-0.4\n", 5*i, 1.2+w, -1.3-w)
	}
	if err := os.WriteFile(log, []byte(text.String()), 0o600); err != nil {
		t.Fatal(err)
	}
	args := []string{"test", "compare", "--before-hot", log, "--after-hot", log}
	if code := b.run(t, "time=1\n\nsoot=2\nq\n", args...); code != int(Stopped) {
		t.Fatalf("%d\n%s%s", code, b.out.String(), b.err.String())
	}
	for _, want := range []string{"still not certain: no column looks like a correction", "no role of a column", "#1   tick"} {
		if !strings.Contains(b.out.String(), want) {
			t.Errorf("not said: %s\n%s", want, b.out.String())
		}
	}
	if code := b.run(t, "time=1 coolant=2 correction.1=3 correction.2=4\ncorrection.3=5 correction.4=6 unit=mm3/stroke\n\n", args...); code != int(Done) {
		t.Fatalf("%d\n%s%s", code, b.out.String(), b.err.String())
	}
	if code := b.run(t, "", args...); code != int(Done) || !strings.Contains(b.err.String(), "columns as you said for this header before") {
		t.Errorf("%d\n%s%s", code, b.out.String(), b.err.String())
	}
}
