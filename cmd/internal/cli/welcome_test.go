package cli

import (
	"path/filepath"
	"strings"
	"testing"
)

// On an empty machine the program says on one screen what it is for, and offers the
// demonstration, a job and the commands; once something is kept it begins a job at once.
func TestWelcome(t *testing.T) {
	bare := func(home string, args ...string) *terminal {
		return startWith(t, append(environ(home), "DAYTANK_STORE="+filepath.Join(home, "records.db")), args...)
	}
	leave := func(p *terminal, want Code) string {
		t.Helper()
		if code := p.ended(); code != int(want) {
			t.Fatalf("status %d, want %d:\n%s", code, want, tail(p.text()))
		}
		return p.text()
	}
	for _, face := range [][]string{nil, {"--line"}} {
		home := t.TempDir()
		p := bare(home, face...)
		p.expect("Nothing is kept here yet", "or Enter to leave > ")
		p.expect("or Enter to leave > ")
		p.send("perhaps\r")
		p.expect("Type 1, 2 or 3.")
		p.expect("or Enter to leave > ")
		if lines := strings.Count(p.text(), "\n"); lines > 22 {
			t.Errorf("%d lines are no one screen", lines)
		}
		p.send("\r")
		if said := leave(p, Stopped); !strings.Contains(said, "planning aid") {
			t.Errorf("no caution:\n%s", said)
		}

		p = bare(home, face...)
		p.expect("or Enter to leave > ")
		p.send("1\r")
		if said := leave(p, Done); !strings.Contains(said, "DEMONSTRATION") {
			t.Errorf("no demonstration:\n%s", tail(said))
		}

		p = bare(home, face...)
		p.expect("or Enter to leave > ")
		p.send("3\r")
		if said := leave(p, Done); !strings.Contains(said, "daytank walk") && !strings.Contains(said, "walk  ") {
			t.Errorf("no commands:\n%s", tail(said))
		}

		p = bare(home, face...)
		p.expect("or Enter to leave > ")
		p.send("2\r")
		p.expect("What do you call the vehicle?")
		p.send("VAN-07\r")
		p.expect("VAN-07")
		p.send("\x04")
		p.send("\x03")
		leave(p, Stopped)

		p = bare(home, face...) // the draft is there
		p.expect("VAN-07")
		p.send("\x03")
		if said := leave(p, Stopped); strings.Contains(said, "Nothing is kept here yet") {
			t.Errorf("it forgets the draft:\n%s", tail(said))
		}
	}
}
