//go:build unix

package quiet_test

import (
	"bytes"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	_ "github.com/charmbracelet/huh" // for go.mod: it looks at no import in testdata
	"github.com/creack/pty"
)

const escape = 0x1b

// build makes a program of testdata and gives its path.
func build(t *testing.T, name string) string {
	t.Helper()
	program := filepath.Join(t.TempDir(), name)
	out, err := exec.Command("go", "build", "-o", program, "./testdata/"+name).CombinedOutput()
	if err != nil {
		t.Fatalf("building %s: %v\n%s", name, err, out)
	}
	return program
}

// start runs a program in a terminal where nobody answers and gives what it
// wrote until it ended, or until enough is true of it.
func start(t *testing.T, program string, enough func([]byte) bool) ([]byte, time.Duration) {
	t.Helper()
	cmd := exec.Command(program)
	// Nothing else of the environment: under CI, for one, the library asks nothing.
	cmd.Env = []string{"TERM=xterm-256color"}
	begun := time.Now()
	terminal, err := pty.Start(cmd)
	if err != nil {
		t.Fatal(err)
	}
	defer terminal.Close()
	defer cmd.Wait()
	defer cmd.Process.Kill()
	var wrote []byte
	part := make([]byte, 1024)
	for !enough(wrote) {
		n, err := terminal.Read(part)
		wrote = append(wrote, part[:n]...)
		if err != nil { // EIO once the program is gone
			break
		}
	}
	return wrote, time.Since(begun)
}

func TestSilentTerminalIsNotAsked(t *testing.T) {
	program := build(t, "quiet")
	var took time.Duration
	for range 3 { // a busy machine may be slow once; a waiting program is always
		var wrote []byte
		wrote, took = start(t, program, func([]byte) bool { return false })
		if got := strings.TrimSpace(string(wrote)); got != "started" {
			t.Fatalf("wrote %q, want only %q", wrote, "started")
		}
		if took < time.Second {
			return
		}
	}
	t.Errorf("took %v, want under 1 s", took)
}

// Without this package the question is asked: the test above would be worth
// nothing, and this package too, if it were not.
func TestFormLibraryAsksByItself(t *testing.T) {
	wrote, _ := start(t, build(t, "asking"), func(b []byte) bool {
		return bytes.IndexByte(b, escape) >= 0
	})
	if bytes.IndexByte(wrote, escape) < 0 {
		t.Errorf("wrote %q without a question to the terminal: package quiet is no longer needed", wrote)
	}
}
