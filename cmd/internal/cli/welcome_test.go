package cli

import (
	"io/fs"
	"path/filepath"
	"strings"
	"testing"
	"time"
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
		for began := time.Now(); !draftIn(home) && time.Since(began) < patience; time.Sleep(50 * time.Millisecond) {
		}
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

// The program alone offers a job that was begun and not walked to its end, and walks it on;
// a new one is begun all the same.
func TestOpenJobIsOffered(t *testing.T) {
	home := t.TempDir()
	p := start(t, home, "new", "--line")
	for _, a := range answersOfTheVan {
		p.expect("\r\n> ")
		p.send(a + "\r")
	}
	for _, key := range []string{"1", "s"} {
		p.expect("plan > ")
		p.send(key + "\r")
	}
	p.expect("VAN-07/1 is ready.")
	if code := p.ended(); code != 0 {
		t.Fatalf("status %d:\n%s", code, tail(p.text()))
	}
	stands := "ready, not begun"
	for _, face := range [][]string{nil, {"--line"}} {
		p = start(t, home, face...)
		p.expect("There is work that was not finished")
		p.expect("walk VAN-07/1: " + stands)
		stands = "left part way"
		p.send("1")
		p.hit("\r")
		p.expect("Enter begins", "in your own words, what you will do about it")
		p.send("\x03")
		if code := p.ended(); code != int(Stopped) {
			t.Errorf("%v: status %d:\n%s", face, code, tail(p.text()))
		}

		p = start(t, home, face...)
		p.expect("There is work that was not finished")
		p.send("new")
		p.hit("\r")
		p.expect("What do you call the vehicle?")
		p.send("\x03")
		p.ended()
	}
	p = start(t, home, "new")
	p.expect("What do you call the vehicle?")
	p.send("\x03")
	p.ended()
}

// draftIn tells whether a draft is kept in a home, below whatever folder.
func draftIn(home string) bool {
	found := false
	_ = filepath.WalkDir(home, func(path string, d fs.DirEntry, err error) error {
		found = found || err == nil && !d.IsDir() && strings.Contains(path, "drafts") && strings.HasSuffix(path, ".yaml")
		return nil
	})
	return found
}
