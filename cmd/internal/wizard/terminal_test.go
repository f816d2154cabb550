//go:build unix

package wizard

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/creack/pty"

	"daytank/cmd/internal/prompt"
)

// asWizard makes the test binary run as a wizard in the folder named, on the screen
// or in lines.
const (
	asWizard = "DAYTANK_TEST_AS_WIZARD"
	asLines  = "DAYTANK_TEST_IN_LINES"
)

// noRaceNap has a program built with the race detector end at once: by itself it
// sleeps for a second first.
const noRaceNap = "GORACE=atexit_sleep_ms=0"

func TestMain(m *testing.M) {
	folder := os.Getenv(asWizard)
	if folder == "" {
		os.Exit(m.Run())
	}
	os.Exit(wizardIn(folder))
}

// wizardIn runs a wizard at this terminal, and writes the job that it saves.
func wizardIn(folder string) int {
	d, err := deskWith(filepath.Join(folder, "drafts"))
	if err != nil {
		fmt.Println(err)
		return 1
	}
	d.config.In, d.config.Out = os.Stdin, os.Stdout
	run := RunScreen
	if os.Getenv(asLines) != "" {
		run = RunLine
		d.config.Talk = prompt.New(os.Stdin, os.Stdout, nil)
	}
	r, err := run(context.Background(), d.config)
	if len(d.saved) > 0 {
		if err := os.WriteFile(filepath.Join(folder, "saved.yaml"), d.saved[0].Basis.Job.File(), 0o600); err != nil {
			fmt.Println(err)
		}
	}
	fmt.Printf("ended: %+v %v\n", r, err)
	if err != nil && !errors.Is(err, ErrLeft) {
		return 1
	}
	return 0
}

// console is a wizard in a pseudo-terminal.
type console struct {
	t    *testing.T
	tty  *os.File
	mu   sync.Mutex
	said strings.Builder
	done chan struct{}
}

func (d *desk) inTerminal(folder string, inLines bool) *console {
	d.t.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = []string{asWizard + "=" + folder, "TERM=xterm-256color", noRaceNap}
	if inLines {
		cmd.Env = append(cmd.Env, asLines+"=1")
	}
	tty, err := pty.StartWithSize(cmd, &pty.Winsize{Rows: 24, Cols: 80})
	if err != nil {
		d.t.Fatal(err)
	}
	c := &console{t: d.t, tty: tty, done: make(chan struct{})}
	go func() {
		part := make([]byte, 8192)
		for {
			n, err := tty.Read(part)
			c.mu.Lock()
			c.said.Write(part[:n])
			c.mu.Unlock()
			if err != nil {
				cmd.Wait()
				close(c.done)
				return
			}
		}
	}()
	d.t.Cleanup(func() { cmd.Process.Kill(); tty.Close() })
	return c
}

func (c *console) text() string {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.said.String()
}

// wait waits until the words are said after what was said before, and then nothing
// more for a moment; without words until anything is, and then nothing for longer.
func (c *console) wait(from int, words string) {
	c.t.Helper()
	still := 20 * time.Millisecond
	if words == "" {
		still = 150 * time.Millisecond
	}
	last, since := from, time.Now()
	for deadline := time.Now().Add(30 * time.Second); time.Now().Before(deadline); time.Sleep(2 * time.Millisecond) {
		said := c.text()
		if len(said) != last {
			last, since = len(said), time.Now()
		}
		if last > from && strings.Contains(said[from:], words) && time.Since(since) >= still {
			return
		}
		select {
		case <-c.done:
			return
		default:
		}
	}
	c.t.Fatalf("nothing is said, or not %q:\n%s", words, c.text()[max(0, from-2000):])
}

// send sends keys one after another, and waits for what comes of them.
func (c *console) send(words string, keys ...string) {
	c.t.Helper()
	from := len(c.text())
	for _, k := range keys {
		if _, err := io.WriteString(c.tty, k); err != nil {
			c.t.Fatal(err)
		}
	}
	c.wait(from, words)
}

// asks gives how what is asked begins that stands at a place; none where it is the same
// as before.
func asks(before, at place, inLines bool) string {
	q, ok := at.of()
	was, _ := before.of()
	switch {
	case was.Path == q.Path:
		return ""
	case !ok && inLines:
		return "plan > "
	case !ok:
		return "Plan, page"
	}
	return q.Ask[:min(len(q.Ask), 60)] // no more than stands on a line
}

// typed gives the keys that do on the screen what a line does in plain lines, at a
// question.
func typed(s *Session, at place, line string) []string {
	q, ok := at.of()
	page, more := strings.CutPrefix(line, "+ ")
	switch {
	case !ok && more:
		return []string{"+", fmt.Sprint(pageIndex(page) + 1), "\r"}
	case !ok, line == "+":
		return []string{line}
	case q.Kind == Choice && line == "":
		return []string{"\t"}
	case q.Kind == Choice:
		for i, o := range q.Options(s.Engines) {
			if o.Word == line {
				return []string{"\x1b[H" + strings.Repeat("\x1b[B", i+1), "\r"}
			}
		}
	case line == "":
		return []string{"\r"}
	}
	return []string{line, "\r"}
}

// The demo van, an engine of one's own with nothing measured, and a plan with stops
// that are lifted, each answered from start to end in a real terminal, on the screen
// and in plain lines, with the draft kept after every answer.
func TestWholeWizardInATerminal(t *testing.T) {
	for name, p := range map[string]script{"the van": theVan, "their own": theirOwn, "with a stop": withAStop} {
		for _, inLines := range []bool{false, true} {
			t.Run(fmt.Sprintf("%s, in lines %v", name, inLines), func(t *testing.T) {
				t.Parallel()
				want := newDesk(t)
				lines := want.lines(p)
				if _, _, err := want.inLines(lines); err != nil && !errors.Is(err, ErrLeft) {
					t.Fatal(err)
				}
				folder := t.TempDir()
				d := newDesk(t)
				c := d.inTerminal(folder, inLines)
				c.wait(0, "")
				session, err := Begin(d.config)
				if err != nil {
					t.Fatal(err)
				}
				at := session.start()
				for _, line := range lines {
					keys := []string{line + "\r"}
					if !inLines {
						keys = typed(session, at, line)
					}
					before := at
					at = d.follow(session, at, line)
					if _, asked := before.of(); !asked && len(keys) > 1 { // "+1" at once is a text
						c.send("", keys[0])
						keys = keys[1:]
					}
					c.send(asks(before, at, inLines), keys...)
					// Whatever ends it now, on whichever page, every answer is in the draft.
					if q, asked := before.of(); asked && asks(before, at, inLines) != "" {
						left, err := (shelf{filepath.Join(folder, "drafts")}).open()
						if err != nil || len(left) != 1 || !left[0].equalTo(session.kept.Draft) {
							t.Fatalf("after %s: %d drafts, %v: %+v\n%s", q.Path, len(left), err, left, c.text()[max(0, len(c.text())-2000):])
						}
					}
				}
				if len(want.saved) == 0 {
					c.send("", map[bool]string{true: "p\r", false: "\x1b"}[inLines])
				}
				select {
				case <-c.done:
				case <-time.After(20 * time.Second):
					t.Fatalf("it did not end:\n%s", c.text())
				}
				if len(want.saved) > 0 {
					got, err := os.ReadFile(filepath.Join(folder, "saved.yaml"))
					if err != nil || string(got) != string(want.saved[0].Basis.Job.File()) {
						t.Errorf("%v; saved\n%s\nit ended with\n%s", err, got, c.text()[max(0, len(c.text())-1500):])
					}
					return
				}
				left, err := (shelf{filepath.Join(folder, "drafts")}).open()
				if err != nil || len(left) != 1 || !left[0].equalTo(want.drafts()[0].Draft) {
					t.Errorf("%d drafts, %v\n%s", len(left), err, c.text()[max(0, len(c.text())-1500):])
				}
			})
		}
	}
}

// follow goes where a line leads; at the plan only what opens a page does.
func (d *desk) follow(s *Session, at place, line string) place {
	d.t.Helper()
	q, ok := at.of()
	page, opens := strings.CutPrefix(line, "+ ")
	var err error
	switch {
	case ok:
		at, err = d.obeyed(s, q, at, line)
	case opens:
		at, err = s.obey(more, page, at)
	}
	if err != nil {
		d.t.Fatal(err)
	}
	return at
}

// A terminal that is gone, or a signal, ends the wizard with the draft kept.
func TestScreenEndsWithItsInput(t *testing.T) {
	for name, end := range map[string]func(in *os.File, cancel func()){
		"end of input": func(in *os.File, _ func()) { in.Close() },
		"cancelled":    func(_ *os.File, cancel func()) { cancel() },
	} {
		t.Run(name, func(t *testing.T) {
			from, to, err := os.Pipe()
			if err != nil {
				t.Fatal(err)
			}
			t.Cleanup(func() { to.Close() })
			d := newDesk(t)
			d.config.In, d.config.Out = from, &strings.Builder{}
			ctx, cancel := context.WithCancel(t.Context())
			go func() {
				to.WriteString("VAN-07\r")
				time.Sleep(200 * time.Millisecond)
				end(to, cancel)
			}()
			r, err := RunScreen(ctx, d.config)
			if !errors.Is(err, ErrLeft) || r.Draft == "" {
				t.Errorf("%+v, %v", r, err)
			}
		})
	}
}
