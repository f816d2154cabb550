package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"daytank/cmd/internal/cli"
	"daytank/cmd/internal/settings"
)

var spring = issue{version: "1.2.0", date: "2026-03-14"}

func TestEveryCommandHasItsPage(t *testing.T) {
	files := pages(cli.Commands(), spring)
	commands, flags := 0, 0
	every(cli.Commands(), func(c *cobra.Command) {
		commands++
		page := string(files["man1/"+pageName(c)+".1"])
		for _, want := range []string{
			escaped(pageName(c)) + ` \- ` + escaped(c.Short) + "\n",
			"\n.SH \"SYNOPSIS\"\n" + bold(c.CommandPath()) + " ",
			"\n.TH \"" + strings.ToUpper(escaped(pageName(c))) + "\" 1 2026-03-14 \"daytank 1.2.0\" ",
		} {
			if !strings.Contains(page, want) {
				t.Errorf("the page of %s lacks %q", c.CommandPath(), want)
			}
		}
		c.LocalNonPersistentFlags().VisitAll(func(f *pflag.Flag) {
			flags++
			if !strings.Contains(page, bold("--"+f.Name)) {
				t.Errorf("the page of %s lacks --%s", c.CommandPath(), f.Name)
			}
		})
		for line := range strings.Lines(c.Example) {
			if line := escaped(strings.TrimSpace(line)); !strings.Contains(page, "\n"+line+"\n") {
				t.Errorf("the page of %s lacks the example %q", c.CommandPath(), line)
			}
		}
	})
	if len(files) != commands || commands < 30 || flags < 60 {
		t.Errorf("%d pages, %d commands, %d flags", len(files), commands, flags)
	}
}

func TestPageOfTheProgram(t *testing.T) {
	page := string(pages(cli.Commands(), spring)["man1/daytank.1"])
	var want []string
	for _, c := range cli.Codes() {
		want = append(want, fmt.Sprintf(".TP\n\\fB%d\\fR\n%s\n", c.Code, escaped(c.Meaning)))
	}
	for _, key := range settings.Keys() {
		want = append(want, ".TP\n"+bold("DAYTANK_"+strings.ToUpper(key.Name))+"\n")
	}
	for _, place := range []string{
		"$XDG_CONFIG_HOME/daytank/settings.yaml", "$XDG_DATA_HOME/daytank/records.db", "$XDG_CONFIG_HOME/daytank/library",
		"$XDG_CONFIG_HOME/daytank/people.yaml", "$XDG_CONFIG_HOME/daytank/signers", "$XDG_CONFIG_HOME/daytank/signing_key",
	} {
		want = append(want, ".TP\n"+italic(place)+"\n")
	}
	for _, text := range want {
		if !strings.Contains(page, text) {
			t.Errorf("the page lacks %q", text)
		}
	}
	cli.Commands().PersistentFlags().VisitAll(func(f *pflag.Flag) {
		if !strings.Contains(page, bold("--"+f.Name)) {
			t.Errorf("the page lacks --%s", f.Name)
		}
	})
}

// A page of a command of our own, with all that a page can have.
func TestPage(t *testing.T) {
	root := &cobra.Command{Use: "daytank", Short: "plans"}
	c := &cobra.Command{
		Use: "pour [JOB]", Short: "pour it in", Example: "  daytank pour VAN-07/1\n    --slow",
		Long: "Pours.\n.So it does, at 15 °C.\n\nlevel\n    in mL\n    default: 'full'\n\n  mark -1\n\nThat is a \\ all.",
		Run:  func(*cobra.Command, []string) {},
	}
	c.Flags().StringP("speed", "s", "slow", "`slow|fast`: how it is poured")
	c.Flags().Bool("dry", false, "without fluid")
	c.Flags().String("old", "", "")
	_ = c.Flags().MarkHidden("old")
	root.AddCommand(c)
	want := `.\" Made from the commands of the program; what is changed here is lost.
.TH "DAYTANK\-POUR" 1 2026-03-14 "daytank 1.2.0" "Commands of daytank"
.nh
.ad l
.SH "NAME"
daytank\-pour \- pour it in
.SH "SYNOPSIS"
\fBdaytank pour\fR [\fIoption\fR ...] [JOB]
.SH "DESCRIPTION"
Pours.
\&.So it does, at 15 \[u00B0]C.
.TP
\fBlevel\fR
in mL
.br
default: \(aqfull\(aq
.PP
.nf
.RS 4
mark \-1
.RE
.fi
.PP
That is a \e all.
.SH "OPTIONS"
.TP
\fB\-\-dry\fR
without fluid
.TP
\fB\-s\fR, \fB\-\-speed\fR \fIslow|fast\fR
how it is poured (default: slow)
.SH "EXAMPLES"
.nf
.RS 4
daytank pour VAN\-07/1
  \-\-slow
.RE
.fi
.SH "EXIT STATUS"
`
	got, rest, _ := strings.Cut(string(page(c, spring)), ".TP\n\\fB0\\fR\n")
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	if want := ".SH \"SEE ALSO\"\n\\fBdaytank\\fR(1)\n"; !strings.Contains(rest, want) {
		t.Errorf("%q lacks %q", rest, want)
	}
}

func TestWritten(t *testing.T) {
	first, second := t.TempDir(), t.TempDir()
	for _, folder := range []string{first, second} {
		if err := run([]string{"1.2.0", "2026-03-14", folder}); err != nil {
			t.Fatal(err)
		}
	}
	files := contents(t, first)
	if diff := cmp.Diff(files, contents(t, second)); diff != "" {
		t.Errorf("the second time differs: %s", diff)
	}
	for name, mark := range map[string]string{
		"man1/daytank-test-add.1":  ".TH \"DAYTANK\\-TEST\\-ADD\" 1 2026-03-14",
		"completions/daytank.bash": "complete -o default -F __start_daytank daytank",
		"completions/_daytank":     "#compdef daytank",
		"completions/daytank.fish": "complete -c daytank",
		"completions/daytank.ps1":  "Register-ArgumentCompleter -CommandName 'daytank'",
	} {
		if !strings.Contains(files[name], mark) {
			t.Errorf("%s lacks %q", name, mark)
		}
	}
	for name, text := range files {
		if strings.HasSuffix(name, ".1") && strings.ContainsFunc(text, func(c rune) bool { return c > '~' }) {
			t.Errorf("%s is not plain ASCII", name)
		}
	}
}

func contents(t *testing.T, folder string) map[string]string {
	t.Helper()
	files := map[string]string{}
	names, err := filepath.Glob(filepath.Join(folder, "*", "*"))
	if err != nil || len(names) == 0 {
		t.Fatalf("%d files, %v", len(names), err)
	}
	for _, name := range names {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		below, err := filepath.Rel(folder, name)
		if err != nil {
			t.Fatal(err)
		}
		files[filepath.ToSlash(below)] = string(text)
	}
	return files
}

func TestRefused(t *testing.T) {
	for _, c := range []struct {
		args []string
		want string
	}{
		{nil, "call it as"},
		{[]string{"1.2.0", "2026-03-14"}, "call it as"},
		{[]string{"", "2026-03-14", "x"}, "no version"},
		{[]string{"1.2.0\"\n.so /etc/passwd", "2026-03-14", "x"}, "no version"},
		{[]string{"1.2.0", "14 March", "x"}, "no date"},
		{[]string{"1.2.0", "2026-02-30", "x"}, "no date"},
	} {
		if err := run(c.args); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%q: %v, want %q", c.args, err, c.want)
		}
	}
}
