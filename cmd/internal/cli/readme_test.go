package cli

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

const root = "../../.."

// shown is a command of the README with what is shown below it. A line of three
// dots stands for any lines; a line may end in three dots.
type shown struct {
	command string
	lines   []string
}

// readReadme gives the commands in the console blocks of the README.
func readReadme(t *testing.T) []shown {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(root, "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	var all []shown
	for i, block := range strings.Split(string(text), "```") {
		if i%2 == 0 {
			continue
		}
		if screen, ok := strings.CutPrefix(block, "text\n"); ok {
			isLiveRun(t, screen)
			continue
		}
		body, ok := strings.CutPrefix(block, "console\n")
		if !ok {
			t.Errorf("a block of the README is not marked console:\n%s", block)
			continue
		}
		for line := range strings.Lines(body) {
			line = strings.TrimRight(line, "\n")
			if command, ok := strings.CutPrefix(line, "$ "); ok {
				all = append(all, shown{command: command})
			} else if len(all) > 0 {
				all[len(all)-1].lines = append(all[len(all)-1].lines, line)
			}
		}
	}
	return all
}

// isLiveRun holds that the screen shown is that of the live run, as its tests have
// it.
func isLiveRun(t *testing.T, screen string) {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(root, "cmd/internal/bay/testdata/live-run.txt"))
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(screen) {
		if line = strings.TrimRight(line, "\n"); !strings.Contains(string(text), "|"+line) {
			t.Errorf("the screen of the live run has no line %q", line)
		}
	}
}

// Every command shown in the README runs and says what is shown, in the order
// of the page, with one home.
func TestReadme(t *testing.T) {
	commands := readReadme(t)
	if len(commands) < 10 {
		t.Fatalf("%d commands in the README", len(commands))
	}
	home := t.TempDir()
	for _, c := range commands {
		t.Log(c.command)
		switch {
		case c.command == "go test ./...":
			// This test is part of it; the continuous integration runs it as written.
			ci, err := os.ReadFile(filepath.Join(root, ".ci/run"))
			if err != nil || !strings.Contains(string(ci), "go test") {
				t.Errorf("the continuous integration does not run the test command: %v", err)
			}
		case strings.HasSuffix(c.command, "go build ./cmd/daytank"):
			buildStatic(t)
		case c.command == `export PATH="$PWD:$PATH"`: // the tests run the program by its own path
		case strings.Contains(c.command, "daytank walk"):
			walkAsShown(t, home, c)
		default:
			line := strings.TrimPrefix(c.command, "go run ./cmd/")
			args := words(line)
			if args[0] != program {
				t.Errorf("%q: nothing here runs this command", c.command)
				continue
			}
			out, code := runAtRoot(t, home, args[1:])
			if code != 0 {
				t.Errorf("%q: status %d", c.command, code)
			}
			matches(t, c, out)
		}
	}
}

// words splits a command line at spaces outside quotation marks.
func words(line string) []string {
	var all []string
	for _, m := range regexp.MustCompile(`"([^"]*)"|(\S+)`).FindAllStringSubmatch(line, -1) {
		all = append(all, m[1]+m[2])
	}
	return all
}

// noRaceNap has a program built with the race detector end at once: by itself it
// sleeps for a second first.
const noRaceNap = "GORACE=atexit_sleep_ms=0"

func environ(home string) []string {
	return []string{asProgram + "=1", "HOME=" + home, "TZ=UTC", "PATH=" + os.Getenv("PATH"), "TERM=xterm", noRaceNap}
}

func runAtRoot(t *testing.T, home string, args []string) (string, int) {
	t.Helper()
	cmd := exec.Command(os.Args[0], args...)
	cmd.Env, cmd.Dir = environ(home), root
	out, err := cmd.Output()
	if cmd.ProcessState == nil {
		t.Fatal(err)
	}
	return string(out), cmd.ProcessState.ExitCode()
}

func buildStatic(t *testing.T) {
	t.Helper()
	cmd := exec.Command("go", "build", "-o", filepath.Join(t.TempDir(), program), "./cmd/daytank")
	cmd.Dir, cmd.Env = root, append(os.Environ(), "CGO_ENABLED=0")
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Errorf("the static build: %v\n%s", err, out)
	}
}

// matches holds that the lines shown stand in the output, in their order, and
// next to each other where no dots are between them.
func matches(t *testing.T, c shown, out string) {
	t.Helper()
	said := strings.Split(strings.TrimRight(out, "\n"), "\n")
	at, loose := 0, false
	for _, line := range c.lines {
		if line == "..." {
			loose = true
			continue
		}
		from := at
		for at < len(said) && loose && !like(line, said[at]) {
			at++
		}
		if at >= len(said) || !like(line, said[at]) {
			t.Errorf("%q: %q does not stand behind line %d of what it says:\n%s", c.command, line, from, out)
			return
		}
		at, loose = at+1, false
	}
	if !loose && at < len(said) {
		t.Errorf("%q says more than is shown: %q", c.command, said[at])
	}
}

func like(shown, said string) bool {
	said = strings.TrimRight(said, " ")
	if begin, open := strings.CutSuffix(shown, "..."); open {
		return strings.HasPrefix(said, begin)
	}
	return strings.TrimRight(shown, " ") == said
}

var threeDigits = regexp.MustCompile(` \(or \d \d \d\)$`)

// walkAsShown types what the README shows as typed, and expects what stands
// between. It ends with the last line shown.
func walkAsShown(t *testing.T, home string, c shown) {
	t.Helper()
	dir, err := filepath.Abs(root)
	if err != nil {
		t.Fatal(err)
	}
	args := words(strings.TrimPrefix(c.command, "$ "))[1:]
	for i, a := range args {
		if strings.HasPrefix(a, "testdata/") {
			args[i] = filepath.Join(dir, a)
		}
	}
	p := startWith(t, environ(home), args...)
	for _, line := range c.lines {
		question, typed, asks := strings.Cut(line, "> ")
		switch {
		case line == "...":
		case asks && (question == "  " || strings.HasSuffix(question, " ")):
			p.expect(strings.TrimSpace(question) + " > ")
			p.send(typed + "\r")
		default:
			p.expect(threeDigits.ReplaceAllString(line, ""))
		}
	}
	p.ended()
}
