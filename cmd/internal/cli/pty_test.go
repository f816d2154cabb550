package cli

import (
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"os/signal"
	"strings"
	"syscall"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"daytank/procedures/checklist"
	"daytank/procedures/report"
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
	if len(job.Readings) < 8 && !raceDetector { // which is too slow for a clock this fast
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
