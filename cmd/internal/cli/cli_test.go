package cli

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"
	"github.com/spf13/cobra"

	"daytank/cmd/internal/settings"
	"daytank/planner/strict"
)

// result is what one run of the program left behind.
type result struct {
	Code           Code
	Stdout, Stderr string
}

// runIn runs the program for an invented user whose home is the folder, with
// more environment variables and more commands.
func runIn(home, line string, environ []string, more ...func(*app) *cobra.Command) result {
	var stdout, stderr bytes.Buffer
	code := run(context.Background(), Env{
		Args: strings.Fields(line), Stdout: &stdout, Stderr: &stderr,
		Environ: append([]string{"HOME=" + home}, environ...),
	}, append(constructors, more...))
	return result{Code(code), stdout.String(), stderr.String()}
}

// saying makes a command `try` that ends with the error.
func saying(err error) func(*app) *cobra.Command {
	return func(*app) *cobra.Command {
		return &cobra.Command{Use: "try", Args: noArguments, RunE: func(*cobra.Command, []string) error { return err }}
	}
}

func TestMisuse(t *testing.T) {
	tests := []struct{ line, stderr string }{
		{"bilge", "daytank: unknown command \"daytank bilge\"\nhint: daytank --help says how it is called\n"},
		{"wlak", "daytank: unknown command \"daytank wlak\"\nhint: did you mean plan or walk?\n"},
		{"setings", "daytank: unknown command \"daytank setings\"\nhint: did you mean settings?\n"},
		{"setings --json", "daytank: unknown command \"daytank setings\"\nhint: did you mean settings?\n"},
		{"help setings", "daytank: unknown command \"daytank setings\"\nhint: did you mean settings?\n"},
		{"--unts us", "daytank: unknown flag: --unts\nhint: did you mean --units?\n"},
		{"settings --jsn", "daytank: unknown flag: --jsn\nhint: did you mean --json?\n"},
		{"settings -q", "daytank: unknown shorthand flag: 'q' in -q\nhint: daytank settings --help says how it is called\n"},
		{"settings --store", "daytank: flag needs an argument: --store\nhint: daytank settings --help says how it is called\n"},
		{"settings --json=maybe", "daytank: invalid argument \"maybe\" for \"--json\" flag: strconv.ParseBool: parsing \"maybe\": invalid syntax\nhint: daytank settings --help says how it is called\n"},
		{"settings VAN-07", "daytank: daytank settings takes no argument, \"VAN-07\" is one too many\nhint: daytank settings --help says how it is called\n"},
		{"settings --units imperial", "daytank: flag --units: units: \"imperial\" is not one of metric, us\nhint: daytank settings --help lists the settings and what they accept\n"},
		{"settings --config /nowhere.yaml", "daytank: settings file: open /nowhere.yaml: no such file or directory\nhint: leave out --config to use the settings file in its usual place, or none\n"},
		{"completion", "daytank: daytank completion: name one shell\nhint: choose one of bash, zsh, fish, powershell\n"},
		{"completion abacus", "daytank: no completion for shell \"abacus\"\nhint: choose one of bash, zsh, fish, powershell\n"},
		{"tests", "daytank: daytank tests: a further word is missing\nhint: choose one of add, read\nhint: daytank tests --help says how it is called\n"},
		{"tests ads", "daytank: unknown command \"daytank tests ads\"\nhint: did you mean add?\n"},
		{"tests ads --json", "daytank: unknown command \"daytank tests ads\"\nhint: did you mean add?\n"},
		{"tests add", "daytank: accepts 1 arg(s), received 0\nhint: daytank tests add --help says how it is called\n"},
		{"tests read", "daytank: required flag(s) \"log\" not set\nhint: daytank tests read --help says how it is called\n"},
	}
	home := t.TempDir()
	for _, test := range tests {
		t.Run(test.line, func(t *testing.T) {
			want := result{Usage, "", test.stderr}
			if diff := cmp.Diff(want, runIn(home, test.line, nil, newTests)); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
		})
	}
}

// newTests makes a command that only holds others, built as cobra intends.
func newTests(*app) *cobra.Command {
	done := func(*cobra.Command, []string) error { return nil }
	parent := &cobra.Command{Use: "tests"}
	read := &cobra.Command{Use: "read", RunE: done}
	read.Flags().String("log", "", "")
	if err := read.MarkFlagRequired("log"); err != nil {
		panic(err)
	}
	parent.AddCommand(&cobra.Command{Use: "add", Args: cobra.ExactArgs(1), RunE: done}, read)
	return parent
}

func TestErrorsEndWithTheirCode(t *testing.T) {
	broken := errors.New("store /srv/records.db: disk full")
	tests := []struct {
		name string
		err  error
		want result
	}{
		{"none", nil, result{Done, "", ""}},
		{"any", broken, result{Failed, "", "daytank: store /srv/records.db: disk full\n"}},
		{"with hints", fail(Failed, broken, "make room", "or give --store"), result{Failed, "", "daytank: store /srv/records.db: disk full\nhint: make room\nhint: or give --store\n"}},
		{"usage", usage("charge \"2\": a unit is missing"), result{Usage, "", "daytank: charge \"2\": a unit is missing\n"}},
		{"refused", fail(Refused, errors.New("no extinguisher")), result{Refused, "", "daytank: no extinguisher\n"}},
		{"stopped", fail(Stopped, errors.New("left at step 14")), result{Stopped, "", "daytank: left at step 14\n"}},
		{"unverified", fail(Unverified, errors.New("event 9: hash differs")), result{Unverified, "", "daytank: event 9: hash differs\n"}},
		{"wrapped", fmt.Errorf("job VAN-07/3: %w", fail(Refused, errors.New("no extinguisher"), "fetch one")), result{Refused, "", "daytank: job VAN-07/3: no extinguisher\nhint: fetch one\n"}},
		{"silent", end(Refused), result{Refused, "", ""}},
		{"silent and done", end(Done), result{Done, "", ""}},
		{"silent, wrapped", fmt.Errorf("job VAN-07/3: %w", end(Unverified)), result{Unverified, "", ""}},
		{"file with problems", fmt.Errorf("reading: %w", strict.Problems{{File: "job.yaml", Line: 2, Column: 1, Message: "a"}, {File: "job.yaml", Line: 3, Column: 1, Message: "b"}}), result{Usage, "", "daytank: reading: job.yaml:2:1: a\ndaytank: job.yaml:3:1: b\n"}},
		{"cancelled by itself", context.Canceled, result{Failed, "", "daytank: context canceled\n"}},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			if diff := cmp.Diff(test.want, runIn(t.TempDir(), "try", nil, saying(test.err))); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
		})
	}
}

func TestFailOfNothingIsNothing(t *testing.T) {
	if err := fail(Refused, nil, "a hint"); err != nil {
		t.Errorf("fail(Refused, nil) = %v", err)
	}
}

// The numbers are an interface: design, help and code must agree on them.
func TestCodes(t *testing.T) {
	want := "0 done, 1 failed, 2 wrong usage, or a file that does not read, 3 refused by safety, 4 stopped by the user, or left part way, 5 a record does not verify"
	var got []string
	for _, c := range codes {
		got = append(got, fmt.Sprintf("%d %s", c.Code, c.Meaning))
	}
	if diff := cmp.Diff(want, strings.Join(got, ", ")); diff != "" {
		t.Errorf("codes (-want +got):\n%s", diff)
	}
	help := runIn(t.TempDir(), "--help", nil).Stdout
	for _, c := range codes {
		if line := fmt.Sprintf("\n  %d  %s\n", c.Code, c.Meaning); !strings.Contains(help, line) {
			t.Errorf("help lacks %q", line)
		}
	}
}

func TestVersion(t *testing.T) {
	got := runIn(t.TempDir(), "--version", nil)
	if got.Code != Done || got.Stderr != "" || !regexp.MustCompile(`^daytank \S+ \(go1\.\S+\)\n$`).MatchString(got.Stdout) {
		t.Errorf("%+v", got)
	}
}

// What is needed to mend a settings file must work with a broken one.
func TestBrokenSettingsStopOnlyWhoNeedsThem(t *testing.T) {
	home := t.TempDir()
	writeSettingsFile(t, home, "unts: us\n")
	for _, line := range []string{"", "--version", "--help", "help settings", "settings --help", "completion bash"} {
		if got := runIn(home, line, nil); got.Code != Done || got.Stderr != "" || got.Stdout == "" {
			t.Errorf("daytank %s: %+v", line, got)
		}
	}
	want := "daytank: " + home + "/.config/daytank/settings.yaml:1:1: unts: this key is not known here; did you mean units?\n"
	if got := runIn(home, "settings", nil); got.Code != Usage || !strings.HasPrefix(got.Stderr, want) || got.Stdout != "" {
		t.Errorf("daytank settings: %+v", got)
	}
}

func writeSettingsFile(t *testing.T, home, text string) {
	t.Helper()
	dir := filepath.Join(home, ".config", "daytank")
	if err := os.MkdirAll(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "settings.yaml"), []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

func TestSettingsTable(t *testing.T) {
	home := t.TempDir()
	writeSettingsFile(t, home, "operator: Mara Quill\n")
	got := runIn(home, "settings --units us", []string{"DAYTANK_WHYS=off", "DAYTANK_UNIT=us"})
	want := strings.ReplaceAll(`key               value                               from
units             us                                  flag --units
decimal           point                               default
operator          Mara Quill                          file HOME/.config/daytank/settings.yaml
store             HOME/.local/share/daytank/records.db  default
whys              off                                 DAYTANK_WHYS
library           HOME/.config/daytank/library        default
emergency_number  (not set)                           default
alarm_command     (not set)                           default
photo_inbox       (not set)                           default
people            HOME/.config/daytank/people.yaml    default
shop              (not set)                           default
review_signers    HOME/.config/daytank/signers        default
signing_key       HOME/.config/daytank/signing_key    default
share             (not set)                           default
bay               (not set)                           default
followup_days     7                                   default
followup_distance  200 km                              default
followup_hours    25 h                                default

settings file: HOME/.config/daytank/settings.yaml
`, "HOME", home)
	if diff := cmp.Diff(squeeze(want), squeeze(got.Stdout)); diff != "" {
		t.Errorf("table (-want +got):\n%s", diff)
	}
	if from := columnsOf(got.Stdout, "from", "default"); len(from) != 2 || from[0] != from[1] {
		t.Errorf("columns are not aligned, at %v:\n%s", from, got.Stdout)
	}
	warning := "daytank: warning: environment variable DAYTANK_UNIT is no setting; did you mean DAYTANK_UNITS?\n"
	if got.Code != Done || got.Stderr != warning {
		t.Errorf("status %d, stderr %q", got.Code, got.Stderr)
	}
}

var spaces = regexp.MustCompile(`  +`)

func squeeze(s string) string { return spaces.ReplaceAllString(s, "  ") }

// columnsOf gives the column at which each word first starts in a line.
func columnsOf(text string, words ...string) []int {
	var at []int
	for _, word := range words {
		for line := range strings.Lines(text) {
			if before, _, ok := strings.Cut(line, word); ok {
				at = append(at, utf8.RuneCountInString(before))
				break
			}
		}
	}
	return at
}

func TestSettingsJSON(t *testing.T) {
	home := t.TempDir()
	out := runIn(home, "settings --json --operator Tobi", nil)
	decoder := json.NewDecoder(strings.NewReader(out.Stdout))
	decoder.DisallowUnknownFields()
	var got settingsJSON
	if err := decoder.Decode(&got); err != nil {
		t.Fatalf("%v in:\n%s", err, out.Stdout)
	}
	if len(got.Settings) != len(settings.Keys()) {
		t.Fatalf("%d settings, want %d", len(got.Settings), len(settings.Keys()))
	}
	units := settingJSON{Key: "units", Value: "metric", From: "default", Accepted: []string{"metric", "us"}, Doc: settings.Keys()[0].Doc}
	operator := settingJSON{Key: "operator", Value: "Tobi", From: "flag --operator", Doc: settings.Keys()[2].Doc}
	want := settingsJSON{File: home + "/.config/daytank/settings.yaml", Settings: []settingJSON{units, got.Settings[1], operator}}
	got.Settings = got.Settings[:3]
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

func TestSettingsWithoutHome(t *testing.T) {
	var stdout bytes.Buffer
	code := Run(context.Background(), Env{Args: []string{"settings"}, Stdout: &stdout})
	if code != int(Done) || !strings.Contains(stdout.String(), "no place for one") {
		t.Errorf("status %d:\n%s", code, stdout.String())
	}
}

func TestSettingsAreReadOnce(t *testing.T) {
	twice := func(a *app) *cobra.Command {
		return &cobra.Command{Use: "try", RunE: func(*cobra.Command, []string) error {
			if _, err := a.settings(); err != nil {
				return err
			}
			printer, err := a.printer()
			if !printer.DecimalComma {
				return errors.New("the printer does not follow the settings")
			}
			return err
		}}
	}
	got := runIn(t.TempDir(), "try", []string{"DAYTANK_DECIMAL=comma", "DAYTANK_BERTH=7"}, twice)
	want := result{Done, "", "daytank: warning: environment variable DAYTANK_BERTH is no setting\n"}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

func TestScreenOrLines(t *testing.T) {
	yes, no := func() bool { return true }, func() bool { return false }
	tests := []struct {
		name         string
		flags        globalFlags
		in, out      func() bool
		environ      []string
		line, colour bool
	}{
		{"terminal", globalFlags{}, yes, yes, nil, false, true},
		{"asked for lines", globalFlags{line: true}, yes, yes, nil, true, true},
		{"piped in", globalFlags{}, no, yes, nil, true, true},
		{"piped out", globalFlags{}, yes, no, nil, true, false},
		{"dumb terminal", globalFlags{}, yes, yes, []string{"TERM=dumb"}, true, false},
		{"no-color", globalFlags{noColor: true}, yes, yes, nil, false, false},
		{"NO_COLOR", globalFlags{}, yes, yes, []string{"NO_COLOR=1"}, false, false},
		// no-color.org: set and not empty, whatever the value.
		{"NO_COLOR empty", globalFlags{}, yes, yes, []string{"NO_COLOR="}, false, true},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			a := &app{flags: test.flags, env: Env{StdinIsTerminal: test.in, StdoutIsTerminal: test.out, Environ: test.environ}.filled()}
			if a.lineMode() != test.line || a.colour() != test.colour {
				t.Errorf("lines %v, colour %v; want %v, %v", a.lineMode(), a.colour(), test.line, test.colour)
			}
		})
	}
}

func TestLookUpTakesTheLast(t *testing.T) {
	env := Env{Environ: []string{"A=1", "AB=2", "A=3=4"}}.filled()
	for name, want := range map[string]string{"A": "3=4", "AB": "2", "B": ""} {
		if got := env.Getenv(name); got != want {
			t.Errorf("%s is %q, want %q", name, got, want)
		}
	}
}

// A command that is shown to go on with names the store that this one used, and can be
// pasted into a shell.
func TestCommandToGoOnWith(t *testing.T) {
	a := &app{}
	if got := a.command("walk", "VAN-07/3"); got != "daytank walk VAN-07/3" {
		t.Errorf("%s", got)
	}
	a.flags.store = "my bay's records.db"
	if got := a.command("walk", "$(reboot)/1"); got != `daytank walk '$(reboot)/1' --store 'my bay'\''s records.db'` {
		t.Errorf("%s", got)
	}
}
