package cli

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
	"github.com/spf13/cobra"

	"daytank/procedures/store"
	"daytank/procedures/store/cluster"
)

// shop is the database server of these tests.
var shop = cluster.Shop{SetUp: store.SetUpPostgres}

// The whole program with records that several bays share; see [TestScripts]. Each script
// has a database of its own without anything in it: SHARED is its address for a bay, OWNER
// for its owner, READER and STRANGER for others.
func TestSharedScripts(t *testing.T) {
	server := shop.Server(t)
	testscript.Run(t, testscript.Params{
		Dir: "../../../testdata/script/shared",
		Setup: func(env *testscript.Env) error {
			if err := scriptHome(env); err != nil {
				return err
			}
			database := shop.Database(t, cluster.Empty)
			for name, login := range map[string]string{"SHARED": cluster.Bay, "OWNER": cluster.Owner, "READER": cluster.Screen, "STRANGER": cluster.Stranger} {
				env.Setenv(name, server.Address(database, login))
			}
			return nil
		},
		Cmds: map[string]func(ts *testscript.TestScript, neg bool, args []string){"status": wantStatus},
	})
}

// inShop runs the program with the records of a home and those that are shared, and holds
// its status.
func inShop(t *testing.T, address, home, bay, who string, status Code, args ...string) string {
	t.Helper()
	cmd := exec.Command(os.Args[0], args...)
	cmd.Env = append(environ(home), "DAYTANK_STORE="+filepath.Join(home, "records.db"), "DAYTANK_SHARE="+address, "DAYTANK_BAY="+bay, "DAYTANK_OPERATOR="+who)
	out, err := cmd.CombinedOutput()
	if cmd.ProcessState == nil {
		t.Fatal(err)
	}
	if code := cmd.ProcessState.ExitCode(); code != int(status) {
		t.Fatalf("daytank %v: status %d, want %d\n%s", args, code, status, out)
	}
	return string(out)
}

// The supervisor works on the shared records: sends a job back, which goes to the bay that it
// came from and is explained there, and signs it when it is in again. The bay has the
// signature with its next sending.
func TestReviewOfSharedRecords(t *testing.T) {
	address := shop.Server(t).Address(shop.Database(t, cluster.Template), cluster.Bay)
	bay, desk := t.TempDir(), t.TempDir()
	inShop(t, address, bay, "bay 1", "Mara Quill", Done, "import", vanRecord)
	inShop(t, address, bay, "bay 1", "Mara Quill", Done, "share", "send")
	inShop(t, address, desk, "desk", "Ines Holm", Done, "review", "signers", "new", "Ines Holm", "--without-passphrase")
	conversation := func(home, name, who string, flags []string, steps ...string) string {
		t.Helper()
		environ := append(environ(home), "DAYTANK_STORE="+filepath.Join(home, "records.db"), "DAYTANK_SHARE="+address, "DAYTANK_BAY="+name, "DAYTANK_OPERATOR="+who)
		p := startWith(t, environ, append([]string{"review", "VAN-07/1", "--line"}, flags...)...)
		for i := 0; i < len(steps); i += 2 {
			p.expect(steps[i])
			p.send(steps[i+1] + "\r")
		}
		if code := p.ended(); code != 0 {
			t.Fatalf("status %d:\n%s", code, tail(p.text()))
		}
		return p.text()
	}

	said := conversation(desk, "desk", "Ines Holm", []string{"--shared"}, "b send back", "b", "Enter ends > ", "leak-look: which joint?", "Enter ends > ", "", "q leave", "q")
	if !strings.Contains(said, "VAN-07/1 is handed back to bay 1.") {
		t.Errorf("nothing says that it is handed back:\n%s", tail(said))
	}
	said = inShop(t, address, bay, "bay 1", "Mara Quill", Done, "share", "send")
	if !strings.Contains(said, "2 fetched; held by bay 1") {
		t.Errorf("%s", said)
	}
	said = inShop(t, address, desk, "desk", "Ines Holm", Done, "review", "--shared", "--state", "sent back")
	if !strings.Contains(said, "VAN-07/1") {
		t.Errorf("the desk does not see it: %s", said)
	}
	said = conversation(bay, "bay 1", "Mara Quill", nil, "x explain", "x", "Enter leaves it > ", "leak-look: the one at the filter", "h hand in", "h", "q leave", "q")
	if !strings.Contains(said, "held by office") {
		t.Errorf("it is not handed to the office:\n%s", tail(said))
	}
	conversation(desk, "desk", "Ines Holm", []string{"--shared"}, "s sign", "s", "fit to go back on the road?", "fit, clean work", "remarks, or Enter", "", "waits", "waits", "as Ines Holm > ", "sign", "q leave", "q")
	if said := inShop(t, address, desk, "desk", "Ines Holm", Done, "verify", "VAN-07/1", "--shared"); !strings.Contains(said, "work signed by Ines Holm") {
		t.Errorf("%s", said)
	}
	inShop(t, address, bay, "bay 1", "Mara Quill", Done, "share", "send")
	if said := inShop(t, address, bay, "bay 1", "Mara Quill", Done, "show", "VAN-07/1"); !strings.Contains(said, "work signed by Ines Holm") && !strings.Contains(said, "signed") {
		t.Errorf("the bay does not have the signature: %s", said)
	}
}

// A walk goes on where the workshop's server does not answer, and says so; its entries are
// kept here, and sent once it answers.
func TestWalkWithoutTheOffice(t *testing.T) {
	server := shop.Server(t)
	database := shop.Database(t, cluster.Template)
	home := t.TempDir()
	environ := func(address string) []string {
		return append(environ(home), "DAYTANK_STORE="+filepath.Join(home, "records.db"), "DAYTANK_SHARE="+address, "DAYTANK_BAY=bay 1", "DAYTANK_OPERATOR=Tobi Fenn")
	}
	p := startWith(t, environ("postgres://bay@127.0.0.1:1/records"), "walk", vanFile, "--line")
	p.home = home
	p.walkUntil("oil-read")
	p.send("p\r")
	if code := p.ended(); code != int(Stopped) || strings.Count(p.text(), "not shared now") != 2 {
		t.Fatalf("status %d:\n%s", code, tail(p.text()))
	}
	p = startWith(t, environ(server.Address(database, cluster.Bay)), "walk", "--line")
	p.home = home
	p.expect("Taken up where it was left")
	p.send("p\r")
	if code := p.ended(); code != int(Stopped) || !regexp.MustCompile(`shared: VAN-07/1, \d+ events sent`).MatchString(p.text()) {
		t.Fatalf("status %d:\n%s", code, tail(p.text()))
	}
	if said := inShop(t, server.Address(database, cluster.Screen), home, "bay 1", "", Done, "jobs", "--shared"); !strings.Contains(said, "paused") {
		t.Errorf("the shared records say %s", said)
	}
}

// The examples of the help of share run, in their order.
func TestExamplesOfShare(t *testing.T) {
	server := shop.Server(t)
	address, home := server.Address(shop.Database(t, cluster.Template), cluster.Bay), t.TempDir()
	empty := server.Address(shop.Database(t, cluster.Empty), cluster.Owner)
	records := filepath.Join(home, "records.db")
	for range 3 {
		if out, code := runAs(t, home, "demo", "--store", records); code != 0 {
			t.Fatalf("demo: status %d\n%s", code, out)
		}
	}
	ran := 0
	everyCommand(newShareCommand(&app{env: Env{}.filled()}), func(c *cobra.Command) {
		for line := range strings.Lines(c.Example) {
			line = strings.ReplaceAll(strings.TrimSpace(line), "postgres://owner@server/records", empty)
			inShop(t, address, home, "bay 1", "Mara Quill", Done, words(line)[1:]...)
			ran++
		}
	})
	if ran < 6 {
		t.Errorf("%d examples", ran)
	}
}
