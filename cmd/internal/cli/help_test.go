package cli

import (
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/spf13/cobra"
)

func TestCompletion(t *testing.T) {
	home := t.TempDir()
	for shell, mark := range map[string]string{
		"bash": "complete -o default -F __start_daytank daytank",
		"zsh":  "#compdef daytank",
		"fish": "complete -c daytank",

		"powershell": "Register-ArgumentCompleter -CommandName 'daytank'",
	} {
		got := runIn(home, "completion "+shell, nil)
		if got.Code != Done || !strings.Contains(got.Stdout, mark) || got.Stderr != "" {
			t.Errorf("%s: status %d, %d bytes without %q; stderr %q", shell, got.Code, len(got.Stdout), mark, got.Stderr)
		}
	}
	for line, want := range map[string]string{
		"__complete settings --units m": "metric\n",
		"__complete completion f":       "fish\n",
		"__complete help comp":          "completion\n",
		"__complete se":                 "settings\t",
	} {
		if got := runIn(home, line, nil); got.Code != Done || !strings.HasPrefix(got.Stdout, want) {
			t.Errorf("%s: %+v, want first %q", line, got, want)
		}
	}
}

func TestHelp(t *testing.T) {
	home := t.TempDir()
	if root := runIn(home, "", nil); root != runIn(home, "--help", nil) || root != runIn(home, "help", nil) {
		t.Error("daytank, daytank --help and daytank help differ")
	}
	if flag := runIn(home, "settings -h", nil); flag != runIn(home, "help settings", nil) {
		t.Error("daytank settings -h and daytank help settings differ")
	}
	a := &app{env: Env{}.filled()}
	everyCommand(a.newRoot(constructors), func(c *cobra.Command) {
		words := strings.TrimPrefix(c.CommandPath(), program)
		got := runIn(home, words+" --help", nil)
		if got.Code != Done || !strings.Contains(got.Stdout, "\ncall it as\n") || c.Short == "" {
			t.Errorf("%s --help: %+v", c.CommandPath(), got)
		}
		for line := range strings.Lines(got.Stdout) {
			if n := utf8.RuneCountInString(strings.TrimRight(line, "\n")); n > defaultWidth {
				t.Errorf("%s --help: %d columns: %s", c.CommandPath(), n, line)
			}
		}
	})
}

// The examples of the help run, in a folder with a job file and an exported
// record, and a home with three jobs. Those that walk need a terminal, and are refused here.
func TestHelpExamplesRun(t *testing.T) {
	home := t.TempDir()
	van, err := os.ReadFile(vanFile)
	if err != nil {
		t.Fatal(err)
	}
	logs, err := filepath.Abs(logFolder)
	if err != nil {
		t.Fatal(err)
	}
	t.Chdir(home)
	if err := os.WriteFile("van.yaml", van, 0o644); err != nil {
		t.Fatal(err)
	}
	records := filepath.Join(home, ".local/share/daytank/records.db")
	for name, from := range map[string]string{"before.csv": "van-before-hot.csv", "after.csv": "van-after-hot.csv", "a.csv": "van-before-hot.csv", "b.csv": "van-before-hot-again.csv", "c.csv": "van-after-hot.csv"} {
		log, err := os.ReadFile(filepath.Join(logs, from))
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(name, log, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	settings := filepath.Join(home, ".config/daytank/settings.yaml")
	if err := errors.Join(os.MkdirAll(filepath.Dir(settings), 0o700), os.WriteFile(settings, []byte("operator: Mara Quill\n"), 0o600)); err != nil {
		t.Fatal(err)
	}
	for range 3 {
		if out, code := runAs(t, home, "demo", "--store", records); code != 0 {
			t.Fatalf("demo: status %d\n%s", code, out)
		}
	}
	if out, code := runAs(t, home, "export", "VAN-07/3", "--to", "friday.jsonl", "--store", records); code != 0 {
		t.Fatalf("export: status %d\n%s", code, out)
	}
	a := &app{env: Env{}.filled()}
	ran := 0
	everyCommand(a.newRoot(constructors), func(c *cobra.Command) {
		if strings.HasPrefix(c.CommandPath(), "daytank share") {
			return // see TestExamplesOfShare
		}
		for line := range strings.Lines(c.Example) {
			args, ok := strings.CutPrefix(strings.TrimSpace(line), program)
			if !ok {
				t.Errorf("%s: example %q does not start with %s", c.CommandPath(), line, program)
			}
			want := int(Done)
			switch {
			case c.Name() == "walk" || c.CommandPath() == "daytank test read" || strings.Contains(args, "--by-hand"):
				want = int(Refused) // there is no terminal
			case c.CommandPath() == "daytank new":
				want = int(Stopped) // nothing is answered
			}
			cmd := exec.Command(os.Args[0], words(strings.ReplaceAll(args, "'", `"`))...)
			cmd.Env = environ(home)
			if out, _ := cmd.CombinedOutput(); cmd.ProcessState.ExitCode() != want {
				t.Errorf("%s: example %q: %v, want %d\n%s", c.CommandPath(), line, cmd.ProcessState, want, out)
			}
			ran++
		}
	})
	if ran == 0 {
		t.Error("no command has an example")
	}
}

func everyCommand(c *cobra.Command, do func(*cobra.Command)) {
	do(c)
	for _, child := range c.Commands() {
		everyCommand(child, do)
	}
}
