//go:build unix

package bay

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/creack/pty"

	"daytank/cmd/internal/sitting"
	"daytank/procedures/checklist"
	"daytank/procedures/checklist/rehearsal"
	"daytank/procedures/record"
	"daytank/procedures/store"
)

// asWalk makes the test binary walk the demo van on its terminal, with the
// records in the file it names; deaf makes it take no notice of a hangup.
const (
	asWalk = "BAY_TEST_RECORDS"
	deaf   = "BAY_TEST_DEAF"
)

// noRaceNap has a program built with the race detector end at once: by itself it
// sleeps for a second first.
const noRaceNap = "GORACE=atexit_sleep_ms=0"

func TestMain(m *testing.M) {
	for _, s := range []os.Signal{os.Interrupt, syscall.SIGHUP} { // ignored where the tests run in the background
		if signal.Ignored(s) {
			signal.Notify(make(chan os.Signal, 1), s)
		}
	}
	records := os.Getenv(asWalk)
	if records == "" {
		os.Exit(m.Run())
	}
	if os.Getenv(deaf) != "" {
		signal.Ignore(syscall.SIGHUP)
	}
	result, err := walkIn(records)
	if err != nil {
		fmt.Println("failed:", err)
		os.Exit(1)
	}
	fmt.Printf("ended: %s %s\n", result.Ending, result.Reason)
}

// stoppedBy is the signal that ended a walk.
type stoppedBy struct{ os.Signal }

func (s stoppedBy) Error() string { return "signal: " + s.Signal.String() }

func walkIn(records string) (Result, error) {
	ctx, cancel := context.WithCancelCause(context.Background())
	got := make(chan os.Signal, 1)
	signal.Notify(got, syscall.SIGTERM)
	if !signal.Ignored(syscall.SIGHUP) {
		signal.Notify(got, syscall.SIGHUP)
	}
	go func() { cancel(stoppedBy{<-got}) }()
	kept, err := store.OpenSQLite(ctx, records)
	if err != nil {
		return Result{}, err
	}
	defer kept.Close()
	bench, err := realBench(kept)
	if err != nil {
		return Result{}, err
	}
	at, again, err := take(ctx, bench)
	if err != nil {
		return Result{}, err
	}
	return Run(ctx, Config{
		Sitting: at, Operator: "Tobi Fenn", EmergencyNumber: "112", Whys: true, Again: again,
		Events: func(ctx context.Context) ([]record.Event, error) { return kept.Events(ctx, at.Summary.Job) },
		In:     os.Stdin, Out: os.Stdout, Now: time.Now,
		Sleep: func(ctx context.Context, d time.Duration) {
			select {
			case <-time.After(d):
			case <-ctx.Done():
			}
		},
		Stopped: func() string { return context.Cause(ctx).Error() },
	})
}

// take begins the job of the van, or takes it up.
func take(ctx context.Context, bench sitting.Bench) (*sitting.Sitting, bool, error) {
	jobs, err := bench.Store.Jobs(ctx, store.Query{Limit: 1})
	if err != nil {
		return nil, false, err
	}
	if len(jobs) > 0 {
		at, err := bench.Resume(ctx, jobs[0].Job)
		return at, true, err
	}
	planned, err := planVan(bench)
	if err != nil {
		return nil, false, err
	}
	at, err := bench.Begin(ctx, planned)
	return at, false, err
}

// console is a program in a pseudo-terminal, with what stands on its screen.
type console struct {
	t       *testing.T
	tty     *os.File // the terminal's other end
	polled  *os.File // the same, to read and write, so that it can be closed meanwhile
	cmd     *exec.Cmd
	records string
	mu      sync.Mutex
	grid    grid
	wrote   int
	closed  chan struct{}
}

func openConsole(t *testing.T, records string, command []string, extra ...string) *console {
	t.Helper()
	cmd := exec.Command(command[0], command[1:]...)
	cmd.Env = []string{"PATH=" + os.Getenv("PATH"), asWalk + "=" + records, "TERM=xterm-256color", "PS1=shell-prompt ", noRaceNap}
	cmd.Env = append(cmd.Env, extra...)
	tty, err := pty.StartWithSize(cmd, &pty.Winsize{Rows: 24, Cols: 80})
	if err != nil {
		t.Fatal(err)
	}
	fd, err := syscall.Dup(int(tty.Fd()))
	if err != nil {
		t.Fatal(err)
	}
	if err := syscall.SetNonblock(fd, true); err != nil {
		t.Fatal(err)
	}
	c := &console{t: t, tty: tty, polled: os.NewFile(uintptr(fd), "terminal"), cmd: cmd, records: records, grid: newGrid(80, 24), closed: make(chan struct{})}
	go c.read()
	t.Cleanup(func() { cmd.Process.Kill(); c.close() })
	return c
}

func openWalk(t *testing.T, extra ...string) *console {
	t.Helper()
	return openConsole(t, filepath.Join(t.TempDir(), "records.db"), []string{os.Args[0]}, extra...)
}

func (c *console) read() {
	buffer := make([]byte, 8192)
	for {
		n, err := c.polled.Read(buffer)
		c.mu.Lock()
		c.grid.write(buffer[:n])
		c.wrote += n
		c.mu.Unlock()
		if err != nil {
			close(c.closed)
			return
		}
	}
}

// close is the window that is closed, or the line that is cut.
func (c *console) close() {
	c.tty.Close()
	c.polled.Close()
}

func (c *console) text() string {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.grid.String()
}

func (c *console) written() int {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.wrote
}

// patience is how long a test waits for the program.
const patience = 30 * time.Second

// see waits until a text stands on the screen.
func (c *console) see(want string) {
	c.t.Helper()
	deadline := time.Now().Add(patience)
	for !strings.Contains(c.text(), want) {
		if time.Now().After(deadline) {
			c.t.Fatalf("%q never came:\n%s", want, c.text())
		}
		time.Sleep(5 * time.Millisecond)
	}
}

// hit types keys as a quick hand does.
func (c *console) hit(keys string) {
	c.t.Helper()
	time.Sleep(unseen + 20*time.Millisecond)
	for _, key := range keys {
		if _, err := c.polled.WriteString(string(key)); err != nil {
			c.t.Fatal(err)
		}
		time.Sleep(perKey + 5*time.Millisecond)
	}
}

// enter types a line.
func (c *console) enter(text string) {
	c.t.Helper()
	c.hit(text)
	time.Sleep(unseen)
	c.hit("\r")
}

// ended waits for the end of the program and gives its status.
func (c *console) ended() int {
	c.t.Helper()
	done := make(chan struct{})
	go func() { c.cmd.Wait(); close(done) }()
	select {
	case <-done:
		return c.cmd.ProcessState.ExitCode()
	case <-time.After(patience):
		c.t.Fatalf("the program did not end:\n%s", c.text())
		return -1
	}
}

// record gives the record of the walk, and what it asks.
func (c *console) record() ([]record.Event, checklist.Ask, checklist.Checklist) {
	c.t.Helper()
	kept, err := store.OpenSQLite(c.t.Context(), c.records)
	if err != nil {
		c.t.Fatal(err)
	}
	defer kept.Close()
	jobs, err := kept.Jobs(c.t.Context(), store.Query{Limit: 1})
	if err != nil || len(jobs) == 0 {
		c.t.Fatalf("no job: %v\n%s", err, c.text())
	}
	events, err := kept.Events(c.t.Context(), jobs[0].Job)
	if err != nil {
		c.t.Fatal(err)
	}
	bench, err := realBench(kept)
	if err != nil {
		c.t.Fatal(err)
	}
	at, err := bench.Read(c.t.Context(), jobs[0].Job)
	if err != nil {
		c.t.Fatal(err)
	}
	return events, at.State().Ask(bench.Now()), at.State().List()
}

// walkTo answers as planned until a step is asked.
func (c *console) walkTo(step string) {
	c.t.Helper()
	c.see("Enter begins")
	c.enter("")
	c.see("in your own words")
	for range 40 {
		events, ask, list := c.record()
		if ask.Step.ID == step {
			return
		}
		text, _ := rehearsal.Answer(ask, list)
		c.enter(text)
		for deadline := time.Now().Add(patience); ; time.Sleep(10 * time.Millisecond) {
			if now, _, _ := c.record(); len(now) > len(events) {
				break
			}
			if time.Now().After(deadline) {
				c.t.Fatalf("%q at %s %s was not taken:\n%s", text, ask.Kind, ask.Step.ID, c.text())
			}
		}
	}
	c.t.Fatalf("never came to %s:\n%s", step, c.text())
}

// lastPause gives the reason of the pause that a record ends with.
func (c *console) lastPause() string {
	c.t.Helper()
	events, _, _ := c.record()
	last := events[len(events)-1]
	if last.Kind != record.KindPaused {
		c.t.Fatalf("the record ends with %s", last.Kind)
	}
	body, err := record.As[record.Paused](last)
	if err != nil {
		c.t.Fatal(err)
	}
	return body.Reason
}

// The first phase of the van in a real terminal, resized on the way, left safe
// and taken up again.
func TestFirstPhaseInATerminal(t *testing.T) {
	c := openWalk(t)
	c.walkTo("parked")
	c.see("Place and people · 5 of 58")
	c.see("> now   Park on level ground")

	resize := func(columns, rows int) {
		c.mu.Lock()
		defer c.mu.Unlock()
		c.grid = newGrid(columns, rows)
		if err := pty.Setsize(c.tty, &pty.Winsize{Rows: uint16(rows), Cols: uint16(columns)}); err != nil {
			t.Fatal(err)
		}
	}
	resize(40, 12)
	c.see("5 of 58  Place and people")
	resize(80, 24)
	c.see("> now   Park on level ground")

	c.hit("p")
	c.see("Key off and out, in your pocket.")
	c.enter("")
	if code := c.ended(); code != 0 {
		t.Errorf("status %d:\n%s", code, c.text())
	}
	c.see("ended: left safe")
	if strings.Contains(c.text(), "Key off and out") {
		t.Errorf("the screen has not gone:\n%s", c.text())
	}
	if got := c.lastPause(); got != "left by Tobi Fenn" {
		t.Errorf("paused: %q", got)
	}

	again := openConsole(t, c.records, []string{os.Args[0]})
	again.see("Taken up where it was left")
	again.see("> now   Park on level ground")
}

// A terminal that goes away answers nothing, and the walk is kept: by the
// signal, or, where that is ignored, by the end of the input.
func TestTerminalGoesAway(t *testing.T) {
	for _, c := range []struct {
		name  string
		extra []string
		stop  func(c *console)
		want  string
	}{
		{"closed", nil, (*console).close, ""},
		{"closed, hangup ignored", []string{deaf + "=1"}, (*console).close, inputEnded},
		{"terminated", nil, func(c *console) { c.cmd.Process.Signal(syscall.SIGTERM) }, "signal: terminated"},
		{"hung up", nil, func(c *console) { c.cmd.Process.Signal(syscall.SIGHUP) }, "signal: hangup"},
		{"interrupted", nil, func(c *console) { c.hit("\x03") }, "signal: interrupt"},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			at := openWalk(t, c.extra...)
			at.see("Enter begins")
			at.enter("")
			at.see("in your own words")
			at.hit("the return is tied") // and no Enter
			at.see("the return is tied_")
			before, _, _ := at.record()
			c.stop(at)
			at.ended()
			after, _, _ := at.record()
			if len(after) != len(before)+1 {
				t.Errorf("%d events more", len(after)-len(before))
			}
			got := at.lastPause()
			if c.want == "" && (got == "signal: hangup" || got == inputEnded) { // whichever is first
				return
			}
			if got != c.want {
				t.Errorf("paused: %q, want %q", got, c.want)
			}
		})
	}
}

// Where nothing changes nothing is written.
func TestIdleTerminal(t *testing.T) {
	c := openWalk(t)
	c.see("Enter begins")
	c.enter("")
	c.see("in your own words")
	time.Sleep(300 * time.Millisecond)
	before := c.written()
	time.Sleep(2 * time.Second)
	if more := c.written() - before; more > 0 {
		t.Errorf("%d bytes in two seconds", more)
	}
}

// Ctrl-Z gives the shell its terminal back, and fg the screen. Where there is
// no shell it must not hang.
func TestSuspend(t *testing.T) {
	alone := openWalk(t)
	alone.see("Enter begins")
	alone.hit("\x1a")
	alone.enter("")
	alone.see("in your own words")
	alone.hit("\x1a")
	alone.see("Not suspended: there is no shell here")

	c := openConsole(t, filepath.Join(t.TempDir(), "records.db"), []string{"sh", "-i"}, "ENV=", "HISTFILE=")
	c.see("shell-prompt")
	c.hit(strconv.Quote(os.Args[0]) + "\r")
	c.see("Enter begins")
	c.enter("")
	c.see("in your own words")
	c.hit("\x1a")
	c.see("Stopped")
	c.hit("fg\r")
	c.see("in your own words")
	c.see("Back.")
	c.enter("the return is tied to the lid")
	c.see("Type in a few words what is wrong")
}
