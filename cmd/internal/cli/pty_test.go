package cli

import (
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/rogpeppe/go-internal/testscript"

	"daytank/procedures/checklist"
	"daytank/procedures/checklist/rehearsal"
	"daytank/procedures/report"
	"daytank/procedures/store"
)

var update = flag.Bool("update", false, "write what the scripts expect anew")

// asProgram makes the test binary run as the program, with a clock so many times
// as fast.
const asProgram = "DAYTANK_TEST_AS_PROGRAM"

// fastForTests is how much faster waits pass in a walk of these tests.
const fastForTests = 600

func TestMain(m *testing.M) {
	hearSignals()
	if os.Getenv(asProgram) == "" {
		testscript.Main(m, map[string]func(){program: func() { os.Exit(Main()) }})
	}
	ctx, stop := untilSignal(context.Background())
	env := realEnv()
	env.Args = os.Args[1:]
	a := &app{env: env}
	if fast, shared := sharedClockOf(os.Getenv(asProgram)); shared {
		fast.set(a)
	} else {
		a.hasten(fastForTests)
	}
	code := Run(ctx, a.env)
	stop()
	os.Exit(code)
}

// hearSignals makes the tests and what they start hear the signals that a shell
// has those ignore that run in the background.
func hearSignals() {
	for _, s := range []os.Signal{os.Interrupt, syscall.SIGHUP} {
		if signal.Ignored(s) {
			signal.Notify(make(chan os.Signal, 1), s)
		}
	}
}

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
		m := regexp.MustCompile(`run (\d+):(\d+) `).FindAllStringSubmatch(said, -1)
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

const (
	vanFile   = "../../../testdata/jobs/van.yaml"
	logFolder = "../../../testdata/logs"
)

// The main job in a real terminal: a van is walked from start to "to review"
// with every confirmation typed, then shown and verified.
func TestWalkOfTheVanInATerminal(t *testing.T) {
	home := t.TempDir()
	p := start(t, home, "walk", "--line", vanFile)
	p.walkUntil("")
	if code := p.ended(); code != 0 {
		t.Fatalf("status %d:\n%s", code, tail(p.text()))
	}
	out, code := runAs(t, home, "show", "VAN-07/1", "--json")
	if code != 0 {
		t.Fatalf("show: status %d", code)
	}
	var job report.Job
	if err := json.Unmarshal([]byte(out), &job); err != nil {
		t.Fatal(err)
	}
	if job.State != "to review" {
		t.Errorf("state %q, want to review", job.State)
	}
	confirmed := 0
	for _, s := range job.Steps {
		if s.PlannedS <= 0 {
			t.Errorf("step %s has no planned time", s.Step)
		}
		if s.Status == "done" && s.TakenS == nil {
			t.Errorf("step %s is done without a time", s.Step)
		}
		if s.Kind == "confirm" && s.Status == "done" {
			confirmed++
			if s.Proof == "" {
				t.Errorf("step %s is confirmed with nothing", s.Step)
			}
		}
		if s.Kind == "value" && s.Status == "done" && len(s.Values) == 0 {
			t.Errorf("step %s has no value", s.Step)
		}
	}
	if confirmed < 10 {
		t.Errorf("%d confirmations", confirmed)
	}
	if len(job.Readings) < 8 {
		t.Errorf("%d readings of the run", len(job.Readings))
	}
	if out, code = runAs(t, home, "verify"); code != 0 || !strings.Contains(out, "VAN-07/1  intact") {
		t.Errorf("verify: status %d, %s", code, out)
	}
}

// A walk that is ended in any way is taken up where it was, with everything
// kept.
func TestWalkIsTakenUpAfterEveryEnd(t *testing.T) {
	for name, stop := range map[string]func(p *terminal) int{
		"interrupt": func(p *terminal) int { p.send("\x03"); return 4 },
		"terminate": func(p *terminal) int { p.cmd.Process.Signal(syscall.SIGTERM); return 4 },
		"hangup":    func(p *terminal) int { p.cmd.Process.Signal(syscall.SIGHUP); return 4 },
		"kill":      func(p *terminal) int { p.cmd.Process.Kill(); return -1 },
		"end":       func(p *terminal) int { p.send("\x04"); return 4 },
		"leave":     func(p *terminal) int { p.send("p\r"); return 4 },
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			home := t.TempDir()
			p := start(t, home, "walk", "--line", vanFile)
			p.walkUntil("pump-dead")
			p.expect(" > ")
			want := stop(p)
			if code := p.ended(); code != want {
				t.Errorf("status %d, want %d:\n%s", code, want, tail(p.text()))
			}
			before, _ := runAs(t, home, "show", "VAN-07/1", "--json")
			p = start(t, home, "walk", "--line")
			if name == "kill" { // nobody left it: it may be open elsewhere
				p.expect("Nobody left VAN-07/1")
				p.expect(" > ")
				p.send("\r")
				p.expect("left where it is")
				if code := p.ended(); code != int(Stopped) {
					t.Errorf("status %d for a walk that is not taken over", code)
				}
				p = start(t, home, "walk", "--line")
				p.expect(" > ")
				p.send("take\r")
			}
			p.expect("Taken up where it was left")
			p.expect(" > ")
			after, _ := runAs(t, home, "show", "VAN-07/1", "--json")
			if diff := lostSteps(t, before, after); diff != "" {
				t.Errorf("lost on the way: %s", diff)
			}
			if out, code := runAs(t, home, "verify"); code != 0 {
				t.Errorf("verify: status %d, %s", code, out)
			}
		})
	}
}

// lostSteps gives what was done before and is not there any more. A proof that
// has to be given again is not lost: its answer stays.
func lostSteps(t *testing.T, before, after string) string {
	t.Helper()
	var a, b report.Job
	if err := json.Unmarshal([]byte(before), &a); err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal([]byte(after), &b); err != nil {
		t.Fatal(err)
	}
	lost := ""
	for i, s := range a.Steps {
		now := b.Steps[i]
		if fmt.Sprint(s.Values) != fmt.Sprint(now.Values) || s.Proof != now.Proof {
			lost += fmt.Sprintf("%s: %v %q, now %v %q\n", s.Step, s.Values, s.Proof, now.Values, now.Proof)
		}
	}
	return lost
}

// A whole script pasted at once answers nothing that it was typed before: the
// first line may, the rest does not count.
func TestPastedScriptAnswersNothing(t *testing.T) {
	home := t.TempDir()
	p := start(t, home, "walk", "--line", vanFile)
	p.expect(" > ")
	p.send("the return is tied and Mara is there\runeven idle\rnone\rnormal\rnone at all\r\r\r18\routside\rgreen\r")
	p.expect("does not count")
	p.expect(" > ")
	if ask, _ := p.asked(); ask.Kind != checklist.AskAcknowledge || ask.Finding.Rule != "siphon" {
		t.Errorf("the paste has come as far as %s %s", ask.Finding.Rule, ask.Step.ID)
	}
}

// Enter, Space and yes prove nothing, however often.
func TestMashingProvesNothing(t *testing.T) {
	home := t.TempDir()
	p := start(t, home, "walk", "--line", vanFile)
	p.walkUntil("ventilation")
	p.expect(" > ")
	for _, typed := range []string{"\r", " \r", "   \r", "y\r", "yes\r", "ok\r", "\r\r\r\r\r\r"} {
		p.send(typed)
		p.expect(" > ")
	}
	if ask, _ := p.asked(); ask.Step.ID != "ventilation" {
		t.Errorf("mashing has come as far as %s", ask.Step.ID)
	}
}

// A plan with a stop is not walked: status 3, what lifts it, and no job is made.
// Nor is a job that is open changed from outside.
func TestWalkRefuses(t *testing.T) {
	home := t.TempDir()
	p := start(t, home, "walk", "--line", vanFile, "--set", "rig.return_cooler=none")
	p.expect("STOP: this plan is not walked.")
	p.expect("what lifts it: lead the return through 3 m of metal coil")
	if code := p.ended(); code != int(Refused) {
		t.Errorf("status %d", code)
	}
	if out, _ := runAs(t, home, "jobs", "--json"); strings.TrimSpace(out) != "[]" {
		t.Errorf("a job was made: %s", out)
	}
	p = start(t, home, "walk", "--line", "VAN-07/1", "--set", "rig.charge=1 L")
	p.expect("--set changes the job of a file")
	if code := p.ended(); code != int(Usage) {
		t.Errorf("status %d", code)
	}
}

// What is found at the vehicle can make a stop: the walk goes no further, says
// what lifts it, and leaving it there is status 3.
func TestStopFoundAtTheVehicle(t *testing.T) {
	home := t.TempDir()
	p := start(t, home, "walk", "--line", vanFile)
	p.walkUntil("fuel-sample")
	p.expect(" > ")
	p.send("water\r")
	p.walkUntil("test-before-cold")
	p.expect(" > ")
	if text := p.text(); !strings.Contains(text, "STOP: what was found at the vehicle") || !strings.Contains(text, "drain tank") {
		t.Errorf("the stop does not say what lifts it:\n%s", tail(text))
	}
	p.send("p\r")
	if code := p.ended(); code != int(Refused) {
		t.Errorf("status %d", code)
	}
}
