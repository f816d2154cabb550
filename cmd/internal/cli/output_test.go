package cli

import (
	"bytes"
	"errors"
	"path/filepath"
	"strings"
	"testing"
)

// fullDisk takes so many bytes and no more.
type fullDisk struct{ left int }

func (f *fullDisk) Write(text []byte) (int, error) {
	if f.left -= len(text); f.left < 0 {
		return 0, errors.New("no space left on device")
	}
	return len(text), nil
}

// A command whose output is lost has not done its work, however little of it was lost.
func TestOutputThatIsLost(t *testing.T) {
	home := t.TempDir()
	for _, args := range [][]string{{"--version"}, {"help"}, {"check"}, {"plan", vanFile}, {"library", "show", "hose-rating"}, {"verify", filepath.Join(root, "testdata/records/van.jsonl")}} {
		for _, room := range []int{0, 3} {
			var stderr bytes.Buffer
			env := realEnv()
			env.Args, env.Stdin, env.Stdout, env.Stderr, env.Environ, env.Getenv = args, nil, &fullDisk{room}, &stderr, environ(home), nil
			env.StdinIsTerminal, env.StdoutIsTerminal = nil, nil
			if code := Run(t.Context(), env); Code(code) != Failed || !strings.Contains(stderr.String(), "no space left on device") {
				t.Errorf("%v with room for %d: status %d, %s", args, room, code, stderr.String())
			}
		}
	}
}
