//go:build unix

package main

import (
	"errors"
	"os/exec"
	"path/filepath"
	"regexp"
	"testing"
	"time"

	"github.com/creack/pty"
)

// build makes the program as a user would and gives its path.
func build(t *testing.T, flags ...string) string {
	t.Helper()
	program := filepath.Join(t.TempDir(), "daytank")
	args := append(append([]string{"build", "-o", program}, flags...), ".")
	if out, err := exec.Command("go", args...).CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	return program
}

// inSilentTerminal runs the program in a terminal where nobody answers and
// gives all it wrote and how long it took.
func inSilentTerminal(t *testing.T, program string, args ...string) (string, time.Duration) {
	t.Helper()
	cmd := exec.Command(program, args...)
	// Nothing else of the environment: under CI, for one, no library asks a
	// terminal anything, and the test would hold nothing.
	cmd.Env = []string{"TERM=xterm-256color", "HOME=" + t.TempDir()}
	begun := time.Now()
	terminal, err := pty.Start(cmd)
	if err != nil {
		t.Fatal(err)
	}
	defer terminal.Close()
	var wrote []byte
	part := make([]byte, 4096)
	for {
		n, err := terminal.Read(part)
		wrote = append(wrote, part[:n]...)
		if err != nil { // EIO once the program is gone
			break
		}
	}
	if err := cmd.Wait(); err != nil {
		t.Fatalf("%v: %s", err, wrote)
	}
	return string(wrote), time.Since(begun)
}

// The whole of what is written is compared, so that no escape sequence is in
// it; waiting for a terminal's answer takes five seconds.
func TestVersionInSilentTerminal(t *testing.T) {
	program := build(t, "-ldflags", "-X daytank/cmd/internal/cli.version=7.3.1")
	want := regexp.MustCompile(`^daytank 7\.3\.1 \(go1\.[^ ]+\)\r\n$`)
	var took time.Duration
	for range 3 { // a busy machine may be slow once; a waiting program is always
		var wrote string
		wrote, took = inSilentTerminal(t, program, "--version")
		if !want.MatchString(wrote) {
			t.Fatalf("wrote %q, want %s", wrote, want)
		}
		if took < time.Second {
			return
		}
	}
	t.Errorf("took %v, want under 1 s", took)
}

func TestStatusReachesTheSystem(t *testing.T) {
	program := build(t)
	out, err := exec.Command(program, "wlak").Output()
	var exit *exec.ExitError
	if !errors.As(err, &exit) || exit.ExitCode() != 2 {
		t.Fatalf("ended with %v, want status 2", err)
	}
	want := "daytank: unknown command \"daytank wlak\"\nhint: did you mean plan or walk?\n"
	if len(out) > 0 || string(exit.Stderr) != want {
		t.Errorf("stdout %q, stderr %q, want stderr %q", out, exit.Stderr, want)
	}
}
