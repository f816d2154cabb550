package cli

import (
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// hit types as a hand does: a screen takes nothing that comes faster.
func (p *terminal) hit(keys string) {
	p.t.Helper()
	time.Sleep(200 * time.Millisecond)
	for _, key := range keys {
		p.send(string(key))
		time.Sleep(25 * time.Millisecond)
	}
}

// hitLine types a line.
func (p *terminal) hitLine(text string) {
	p.t.Helper()
	p.hit(text)
	p.hit("\r")
}

// At a terminal a walk is on the screen: who works is asked in plain lines
// first, what ends it stands in plain lines below.
func TestWalkOnTheScreenInATerminal(t *testing.T) {
	home := t.TempDir()
	p := startWith(t, append(environ(home), "DAYTANK_STORE="+filepath.Join(home, "records.db")), "walk", vanFile)
	p.home = home
	p.expect("your name > ")
	p.send("Tobi Fenn\r")
	p.expect("\x1b[?1049h") // the screen is lent
	p.expect("Enter begins")
	p.hit("\r")
	p.expect("in your own words")
	p.hitLine("the return is tied and Mara stands at the key")
	for _, caution := range []string{"in the soak the supply hose", "swallowed or breathed"} {
		p.expect(caution)
		p.hitLine("we both know of it: " + caution)
	}
	p.expect("Type in a few words what is wrong")
	p.hitLine("uneven idle when warm")
	p.expect("Read the stored faults")
	if ask, _ := p.asked(); ask.Step.ID != "faults-read" {
		t.Errorf("the record is at %s", ask.Step.ID)
	}
	p.hit("\x03")
	p.expect("\x1b[?1049l") // and given back
	p.expect("Left part way (signal: interrupt); everything entered is kept.")
	p.expect("daytank walk VAN-07/1 takes it up again")
	if code := p.ended(); code != int(Stopped) {
		t.Errorf("status %d:\n%s", code, tail(p.text()))
	}

	p = start(t, home, "walk")
	p.expect("Taken up where it was left")
	p.send("\x1bOP") // F1
	p.expect("Enter what to do next")
	p.hit("\r")
	p.expect("RUNAWAY")
	p.hit("\r")
	if code := p.ended(); code != int(Stopped) {
		t.Errorf("status %d after an emergency:\n%s", code, tail(p.text()))
	}
	if out, _ := runAs(t, home, "jobs"); !strings.Contains(out, "stopped") {
		t.Errorf("the job is not stopped:\n%s", out)
	}
}

// A plan with a stop is refused before there is a screen.
func TestScreenIsNotLentToAStop(t *testing.T) {
	p := start(t, t.TempDir(), "walk", vanFile, "--set", "rig.return_cooler=none")
	p.expect("STOP: this plan is not walked.")
	if code := p.ended(); code != int(Refused) {
		t.Errorf("status %d", code)
	}
	if strings.Contains(p.text(), "\x1b[?1049h") {
		t.Error("the screen was lent")
	}
}
