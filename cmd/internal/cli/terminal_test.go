package cli

import (
	"context"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/creack/pty"

	"daytank/procedures/checklist"
	"daytank/procedures/checklist/rehearsal"
	"daytank/procedures/store"
)

// terminal is a program in a pseudo-terminal.
type terminal struct {
	t      *testing.T
	tty    *os.File
	cmd    *exec.Cmd
	mu     sync.Mutex
	screen strings.Builder
	seen   int // of the screen, by expect
	closed chan struct{}
	home   string
}

// start runs the program in a pseudo-terminal, with a home of its own.
func start(t *testing.T, home string, args ...string) *terminal {
	t.Helper()
	p := startWith(t, append(environ(home), "DAYTANK_OPERATOR=Tobi Fenn", "DAYTANK_STORE="+filepath.Join(home, "records.db")), args...)
	p.home = home
	return p
}

// startWith runs the program in a pseudo-terminal of 24 lines and 80 columns.
func startWith(t *testing.T, environ []string, args ...string) *terminal {
	t.Helper()
	cmd := exec.Command(os.Args[0], args...)
	cmd.Env = environ
	tty, err := pty.StartWithSize(cmd, &pty.Winsize{Rows: 24, Cols: 80})
	if err != nil {
		t.Fatal(err)
	}
	p := &terminal{t: t, tty: tty, cmd: cmd, closed: make(chan struct{})}
	go p.read()
	t.Cleanup(func() { cmd.Process.Kill(); tty.Close() })
	return p
}

func (p *terminal) read() {
	buffer := make([]byte, 4096)
	for {
		n, err := p.tty.Read(buffer)
		p.mu.Lock()
		p.screen.Write(buffer[:n])
		p.mu.Unlock()
		if err != nil {
			close(p.closed)
			return
		}
	}
}

func (p *terminal) text() string {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.screen.String()
}

// patience is how long a test waits for the program.
const patience = 60 * time.Second

// expect waits until one of the texts stands behind what was expected before.
func (p *terminal) expect(texts ...string) string {
	p.t.Helper()
	deadline := time.Now().Add(patience)
	for time.Now().Before(deadline) {
		text := p.text()
		for _, want := range texts {
			if i := strings.Index(text[p.seen:], want); i >= 0 {
				p.seen += i + len(want)
				return want
			}
		}
		select {
		case <-p.closed:
			if text := p.text(); strings.Contains(text[p.seen:], texts[0]) {
				continue
			}
			p.t.Fatalf("the program ended before %q:\n%s", texts, tail(p.text()))
		case <-time.After(2 * time.Millisecond):
		}
	}
	p.t.Fatalf("%q never came:\n%s", texts, tail(p.text()))
	return ""
}

func tail(text string) string { return text[max(0, len(text)-3000):] }

// send types, after the time that anybody takes to read.
func (p *terminal) send(text string) {
	p.t.Helper()
	time.Sleep(3 * time.Millisecond)
	if _, err := io.WriteString(p.tty, text); err != nil {
		p.t.Fatal(err)
	}
}

// ended waits for the end of the program and gives its status.
func (p *terminal) ended() int {
	p.t.Helper()
	done := make(chan int, 1)
	go func() {
		p.cmd.Wait()
		done <- p.cmd.ProcessState.ExitCode()
	}()
	select {
	case code := <-done:
		<-p.closed
		return code
	case <-time.After(patience):
		p.t.Fatalf("the program did not end:\n%s", tail(p.text()))
		return -1
	}
}

// asked reads from the store what the program asks, as a person reads it from
// the screen.
func (p *terminal) asked() (checklist.Ask, checklist.Checklist) {
	p.t.Helper()
	ctx := context.Background()
	a := &app{env: realEnv()}
	a.hasten(fastForTests)
	a.env.Getenv = func(name string) string { return map[string]string{"HOME": p.home}[name] }
	a.env.Environ = nil
	a.root = a.newRoot(nil)
	records := filepath.Join(p.home, "records.db")
	if err := a.root.PersistentFlags().Set("store", records); err != nil {
		p.t.Fatal(err)
	}
	library, err := a.books()
	if err != nil {
		p.t.Fatal(err)
	}
	kept, err := store.OpenSQLite(ctx, records)
	if err != nil {
		p.t.Fatal(err)
	}
	defer kept.Close()
	jobs, err := kept.Jobs(ctx, store.Query{Limit: 1})
	if err != nil || len(jobs) == 0 {
		p.t.Fatalf("no job in the store: %v\n%s", err, tail(p.text()))
	}
	bench, err := a.bench(kept, library, "Tobi Fenn")
	if err != nil {
		p.t.Fatal(err)
	}
	s, err := bench.Read(ctx, jobs[0].Job)
	if err != nil {
		p.t.Fatal(err)
	}
	return s.State().Ask(bench.Now()), s.State().List()
}

// walkUntil answers everything as planned until a step is asked, or the sitting
// is done.
func (p *terminal) walkUntil(step string) {
	p.t.Helper()
	for range 4000 {
		from := p.seen
		if p.expect(" > ", "The sitting is done") != " > " {
			return
		}
		said := p.text()[from:p.seen]
		ask, list := p.asked()
		if ask.Step.ID == step && step != "" {
			p.seen -= len(" > ")
			return
		}
		switch {
		case ask.Kind == checklist.AskWait:
			p.expect("The time is over.")
			p.expect(" > ")
		case ask.Kind == checklist.AskRun && ask.Run.Part != checklist.RunBaseline:
			// The program's clock is ahead of that of this test: the screen says
			// what is wanted.
			p.inRun(said, list)
			continue
		}
		text, _ := rehearsal.Answer(ask, list)
		p.send(text + "\r")
	}
	p.t.Fatalf("the walk never ended:\n%s", tail(p.text()))
}

// inRun does what the screen says in the live run; where it wants nothing yet,
// nothing.
func (p *terminal) inRun(said string, list checklist.Checklist) {
	p.t.Helper()
	switch {
	case strings.Contains(said, "LOOK"):
		p.send("1\r")
	case strings.Contains(said, "READING DUE"):
		// The time may stand before the question that was answered last.
		m := regexp.MustCompile(`run (\d+):(\d+) `).FindAllStringSubmatch(p.text()[:p.seen], -1)
		if len(m) == 0 {
			p.t.Fatalf("a reading is due and no time of the run was ever said:\n%s", tail(p.text()))
		}
		minutes, _ := strconv.Atoi(m[len(m)-1][1])
		ul, _ := list.Run.ExpectedUL(int64(minutes) * 60000)
		p.send(fmt.Sprintf("%d 30\r", ul/1000))
	case strings.Contains(said, "Enter once"):
		p.send("\r")
	}
}

// runAs runs the program without a terminal and gives what it wrote.
func runAs(t *testing.T, home string, args ...string) (stdout string, code int) {
	t.Helper()
	cmd := exec.Command(os.Args[0], args...)
	cmd.Env = append(environ(home), "DAYTANK_STORE="+filepath.Join(home, "records.db"))
	out, err := cmd.Output()
	if cmd.ProcessState == nil {
		t.Fatal(err)
	}
	return string(out), cmd.ProcessState.ExitCode()
}
