package cli

import (
	"encoding/json"
	"path/filepath"
	"strings"
	"testing"

	"daytank/procedures/checklist/rehearsal"
	"daytank/procedures/report"
)

// A PIN is typed twice, shown never, and proves who released a hold point; the
// wrong one releases nothing.
func TestPINInATerminal(t *testing.T) {
	home := t.TempDir()
	p := start(t, home, "people", "add", "Mara Quill")
	p.expect("PIN of Mara Quill > ")
	p.send("4711\r")
	p.expect("once more > ")
	p.send("4711\r")
	p.expect("Mara Quill is in the list")
	if code := p.ended(); code != 0 || strings.Contains(p.text(), "4711") {
		t.Fatalf("status %d:\n%s", code, p.text())
	}

	p = start(t, home, "walk", "--line", vanFile)
	p.walkUntil("rig-tight")
	p.expect(" > ")
	ask, list := p.asked()
	proof, _ := rehearsal.Answer(ask, list)
	p.send(proof + "\r")
	p.expect("second person who has looked")
	p.expect(" > ")
	p.send("Mara Quill\r")
	p.expect("named, not proved > ")
	p.send("0815\r")
	p.expect("Not taken: this is not the PIN of Mara Quill.")
	p.expect(" > ")
	p.send("Mara Quill\r")
	p.expect("named, not proved > ")
	p.send("4711\r")
	p.expect(" > ")
	p.send("p\r")
	p.ended()
	if strings.Contains(p.text(), "4711") {
		t.Errorf("the PIN is shown:\n%s", tail(p.text()))
	}
	out, _ := runAs(t, home, "show", "VAN-07/1", "--json")
	var job report.Job
	if err := json.Unmarshal([]byte(out), &job); err != nil {
		t.Fatal(err)
	}
	for _, s := range job.Steps {
		if s.Released != "" {
			if s.Released != "Mara Quill" {
				t.Errorf("%s released by %q", s.Step, s.Released)
			}
			return
		}
	}
	t.Errorf("nothing was released; people in %s", filepath.Join(home, ".config/daytank/people.yaml"))
}
