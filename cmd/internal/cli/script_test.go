package cli

import (
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

// The whole-program scripts run the program itself, each in a folder and with a
// home of its own. Beside the commands of testscript there is
//
//	status N daytank ARG...   runs it and wants the status N
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:           "../../../testdata/script",
		UpdateScripts: *update,
		Setup:         scriptHome,
		Cmds:          map[string]func(ts *testscript.TestScript, neg bool, args []string){"status": wantStatus},
	})
}

// scriptHome puts into the folder of a script what it works on, and makes it its home.
func scriptHome(env *testscript.Env) error {
	for _, name := range []string{"van.yaml", "tractor.yaml", "boat.yaml", "six-mistakes.yaml"} {
		text, err := os.ReadFile("../../../testdata/jobs/" + name)
		if err != nil {
			return err
		}
		if err := os.WriteFile(env.WorkDir+"/"+name, text, 0o644); err != nil {
			return err
		}
	}
	for to, from := range map[string]string{"logs": logFolder, "records": "../../../testdata/records"} {
		if err := os.CopyFS(env.WorkDir+"/"+to, os.DirFS(from)); err != nil {
			return err
		}
	}
	env.Setenv("HOME", env.WorkDir+"/home")
	env.Setenv("TZ", "UTC")
	env.Vars = append(env.Vars, noRaceNap)
	return nil
}

// wantStatus runs a command and holds its status.
func wantStatus(ts *testscript.TestScript, _ bool, args []string) {
	if len(args) < 2 {
		ts.Fatalf("status N COMMAND ARG...")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	err = ts.Exec(args[1], args[2:]...)
	got := 0
	if err != nil {
		_, text, found := strings.Cut(err.Error(), "exit status ")
		if !found {
			ts.Fatalf("%v", err)
		}
		got, _ = strconv.Atoi(text)
	}
	if got != want {
		ts.Fatalf("status %d, want %d", got, want)
	}
}
