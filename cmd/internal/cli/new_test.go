package cli

import (
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
)

// answersOfTheVan are what the wizard asks for the demo van's engine, on the short
// path.
var answersOfTheVan = []string{
	"VAN-07", "van-2-1", "67 °C", "600 mL", "3 L", "8 mm x 1.5 m", "8 mm x 1.5 m", "usual", "18 °C", "outdoors", "2",
}

// choices gives the number of an option of a choice, as it stands on the screen.
var choices = map[string]string{"outdoors": "1"}

// wizardAt runs the wizard in a terminal.
func wizardAt(t *testing.T, home string, args ...string) *terminal {
	t.Helper()
	return start(t, home, args...)
}

// drafts gives the drafts in a home.
func draftsIn(t *testing.T, home string) []string {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(home, ".local/share/daytank/drafts/*.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	return files
}

// answer types one answer on the screen: a line, or the option that it names.
func (p *terminal) answer(text string) {
	p.t.Helper()
	if number, choice := choices[text]; choice {
		text = number
	}
	p.send(text)
	p.hit("\r")
}

// daytank new at a terminal asks on the screen, and saves a job that is walked.
func TestWizardOnTheScreenInATerminal(t *testing.T) {
	home := t.TempDir()
	p := wizardAt(t, home, "new")
	p.expect("What do you call the vehicle?")
	p.answer(answersOfTheVan[0])
	p.expect("Which engine is it")
	p.send("3") // the van, behind boat and tractor
	p.hit("\r")
	for i, said := range []string{"What is the flash point", "How much is in one pack", "How much does the container hold", "The supply hose", "And the return hose", "What should the engine do", "How warm is the air", "Where is it done", "How many people"} {
		p.expect(said)
		p.answer(answersOfTheVan[i+2])
	}
	p.expect("1 stop to lift first")
	p.hit("1")
	p.expect("Planned again")
	p.hit("s")
	p.expect("VAN-07/1 is ready.")
	if code := p.ended(); code != 0 {
		t.Fatalf("status %d:\n%s", code, tail(p.text()))
	}
	if left := draftsIn(t, home); len(left) != 0 {
		t.Errorf("drafts are left: %v", left)
	}
	if out, _ := runAs(t, home, "jobs"); !strings.Contains(out, "VAN-07/1  ready") {
		t.Errorf("no job:\n%s", out)
	}
	walked := start(t, home, "walk", "VAN-07/1")
	walked.expect("Enter begins")
}

// The same in plain lines, to a job that is walked at once.
func TestWizardInLinesInATerminal(t *testing.T) {
	home := t.TempDir()
	p := wizardAt(t, home, "new", "--line")
	for _, a := range answersOfTheVan {
		p.expect("\r\n> ")
		p.send(a + "\r")
	}
	p.expect("plan > ")
	p.send("1\r")
	p.expect("Planned again")
	p.expect("plan > ")
	p.send("w\r")
	p.expect("Saved as VAN-07/1.")
	p.expect("in your own words, what you will do about it")
	if code := func() int { p.send("\x03"); return p.ended() }(); code != int(Stopped) {
		t.Errorf("status %d:\n%s", code, tail(p.text()))
	}
}

// However the wizard ends, on the screen and in lines, the draft is kept and the
// next one offers to go on with it.
func TestWizardIsLeftInATerminal(t *testing.T) {
	for name, c := range map[string]struct {
		args []string
		stop func(p *terminal)
		code int
	}{
		"interrupt":             {[]string{"new"}, func(p *terminal) { p.send("\x03") }, 4},
		"escape":                {[]string{"new"}, func(p *terminal) { p.send("\x1b") }, 4},
		"terminate":             {[]string{"new"}, func(p *terminal) { p.cmd.Process.Signal(syscall.SIGTERM) }, 4},
		"hangup":                {[]string{"new"}, func(p *terminal) { p.cmd.Process.Signal(syscall.SIGHUP) }, 4},
		"kill":                  {[]string{"new"}, func(p *terminal) { p.cmd.Process.Kill() }, -1},
		"interrupt in lines":    {[]string{"new", "--line"}, func(p *terminal) { p.send("\x03") }, 4},
		"terminate in lines":    {[]string{"new", "--line"}, func(p *terminal) { p.cmd.Process.Signal(syscall.SIGTERM) }, 4},
		"end of input in lines": {[]string{"new", "--line"}, func(p *terminal) { p.send("\x04") }, 4},
		"left in lines":         {[]string{"new", "--line"}, func(p *terminal) { p.send("p\r") }, 4},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			home := t.TempDir()
			p := wizardAt(t, home, c.args...)
			p.expect("What do you call the vehicle?")
			p.answer("VAN-07")
			p.expect("Which engine is it")
			c.stop(p)
			if code := p.ended(); code != c.code {
				t.Errorf("status %d, want %d:\n%s", code, c.code, tail(p.text()))
			}
			kept := draftsIn(t, home)
			if len(kept) != 1 {
				t.Fatalf("drafts %v:\n%s", kept, tail(p.text()))
			}
			text, err := os.ReadFile(kept[0])
			if err != nil || !strings.Contains(string(text), "asset: VAN-07") {
				t.Errorf("%v\n%s", err, text)
			}
			if info, err := os.Stat(kept[0]); err != nil || info.Mode().Perm() != 0o600 {
				t.Errorf("mode %v, %v", info.Mode(), err)
			}
			again := wizardAt(t, home, c.args...)
			again.expect("There is a draft that was not finished")
			again.expect("go on with VAN-07, left at Engine")
		})
	}
}

// Without a terminal the wizard asks in plain lines, and the end of the input
// leaves it.
func TestWizardWithoutATerminal(t *testing.T) {
	home := t.TempDir()
	if out, code := runAs(t, home, "new"); code != int(Stopped) || !strings.Contains(out, "What do you call the vehicle?") {
		t.Errorf("status %d:\n%s", code, out)
	}
	if out, code := runAs(t, home); code != 0 || !strings.Contains(out, "Usage") && !strings.Contains(out, "usage") {
		t.Errorf("status %d:\n%s", code, out)
	}
}
