package cli

import (
	"database/sql"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"syscall"
	"testing"
	"time"

	"daytank/procedures/record"
)

// needed skips a test where a program of OpenSSH is not there. The continuous integration
// installs it, and fails where a test is skipped.
func needed(t *testing.T, names ...string) {
	t.Helper()
	for _, name := range names {
		if _, err := exec.LookPath(name); err != nil {
			t.Skip(name + " is not installed")
		}
	}
}

// reviewed has a job that is ready for review, in a home of its own.
func reviewed(t *testing.T) string {
	t.Helper()
	home := t.TempDir()
	if out, code := runAs(t, home, "import", "../../../testdata/records/van.jsonl"); code != 0 {
		t.Fatalf("status %d: %s", code, out)
	}
	return home
}

// asReviewer runs the program in a pseudo-terminal in the name of the supervisor.
func asReviewer(t *testing.T, home string, args ...string) *terminal {
	t.Helper()
	p := startWith(t, append(environ(home), "DAYTANK_OPERATOR=Ines Holm", "DAYTANK_STORE="+filepath.Join(home, "records.db")), args...)
	p.home = home
	return p
}

// The supervisor makes a key with a passphrase and signs a job, in plain lines and on the
// screen; then it verifies, by this program and by ssh-keygen.
func TestSignInATerminal(t *testing.T) {
	needed(t, "ssh-keygen")
	for name, line := range map[string][]string{"in lines": {"--line"}, "on the screen": nil} {
		t.Run(name, func(t *testing.T) {
			home := reviewed(t)
			p := asReviewer(t, home, "review", "signers", "new", "Ines Holm")
			for _, question := range []string{"passphrase > ", "once more > "} {
				p.expect(question)
				p.send("salt water\r")
			}
			p.expect("now lets Ines Holm sign off jobs")
			if code := p.ended(); code != 0 {
				t.Fatalf("status %d", code)
			}
			if strings.Contains(p.text(), "salt") {
				t.Error("the passphrase is shown")
			}
			p = asReviewer(t, home, append([]string{"review"}, line...)...)
			for _, step := range []struct{ question, answer string }{
				{"number opens a job", "1"},
				{"s sign", "s"},
				{"is it fit to go back on the road?", "fit, clean work"},
				{"remarks, or Enter", ""},
				{"waits", "waits"},
				{"to sign the work of VAN-07/1 as Ines Holm", "sign"},
				{"passphrase of", "fresh water"},
				{"that was not it; passphrase of", "salt water"},
				{"Signed: work of VAN-07/1", ""},
				{"k recall", "q"},
			} {
				p.expect(step.question)
				if step.answer != "" || strings.HasPrefix(step.question, "remarks") {
					p.hit(step.answer)
					p.hit("\r")
				}
			}
			if code := p.ended(); code != 0 {
				t.Fatalf("status %d:\n%s", code, tail(p.text()))
			}
			out, code := runAs(t, home, "verify")
			if code != 0 || !regexp.MustCompile(`work signed by Ines Holm on [0-9-]{10}: fit, clean\s+work\n`).MatchString(out) || !strings.Contains(out, "sha256") {
				t.Errorf("verify: status %d, %s", code, out)
			}
			file := filepath.Join(home, "van.jsonl")
			out, code = runAs(t, home, "export", "VAN-07/1", "--to", file, "--sign-offs", filepath.Join(home, "signed"))
			if code != 0 {
				t.Fatalf("export: status %d, %s", code, out)
			}
			command := out[strings.Index(out, "ssh-keygen"):]
			said, err := exec.Command("sh", "-c", command).CombinedOutput()
			if err != nil || !strings.Contains(string(said), "Good") {
				t.Errorf("%s: %v, %s", command, err, said)
			}
			if out, code = runAs(t, home, "verify", file); code != 0 || !strings.Contains(out, "signed by Ines Holm") {
				t.Errorf("verify of the file: status %d, %s", code, out)
			}
			signers := filepath.Join(home, ".config", "daytank", "signers")
			if err := os.WriteFile(signers, []byte("# nobody\n"), 0o600); err != nil {
				t.Fatal(err)
			}
			if out, code = runAs(t, home, "verify"); code != int(Unverified) || !strings.Contains(out, "NOT TO BE TRUSTED:") {
				t.Errorf("verify without the signer: status %d, %s", code, out)
			}
		})
	}
}

// Ctrl-C, a signal and the end of the input leave the desk with status 4.
func TestReviewIsLeft(t *testing.T) {
	for name, c := range map[string]struct{ keys, says string }{
		"interrupt": {"\x03", ""}, "end": {"\x04", "the input has ended"}, "terminate": {"", "stopped by signal: terminated"},
	} {
		for face, line := range map[string][]string{"in lines": {"--line"}, "on the screen": nil} {
			t.Run(name+" "+face, func(t *testing.T) {
				p := asReviewer(t, reviewed(t), append([]string{"review", "VAN-07/1"}, line...)...)
				p.expect("s sign")
				p.hit(c.keys)
				if c.keys == "" {
					p.cmd.Process.Signal(syscall.SIGTERM)
				}
				if code := p.ended(); code != int(Stopped) || !strings.Contains(p.text(), c.says) {
					t.Errorf("status %d:\n%s", code, tail(p.text()))
				}
			})
		}
	}
}

// A key in an agent signs where there is none in a file, and one that may not sign is not
// taken.
func TestSignByAgent(t *testing.T) {
	needed(t, "ssh-keygen", "ssh-agent", "ssh-add")
	home := reviewed(t)
	socket, key := filepath.Join(home, "agent"), filepath.Join(home, "key")
	agent := exec.Command("ssh-agent", "-D", "-a", socket)
	if err := agent.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { agent.Process.Kill(); agent.Wait() })
	for began := time.Now(); time.Since(began) < patience; time.Sleep(10 * time.Millisecond) {
		if _, err := os.Stat(socket); err == nil {
			break
		}
	}
	for _, command := range [][]string{{"ssh-keygen", "-q", "-t", "ecdsa", "-N", "", "-f", key}, {"ssh-add", "-q", key}} {
		cmd := exec.Command(command[0], command[1:]...)
		cmd.Env = append(os.Environ(), "SSH_AUTH_SOCK="+socket)
		if out, err := cmd.CombinedOutput(); err != nil {
			t.Fatalf("%s: %v, %s", command, err, out)
		}
	}
	public, err := os.ReadFile(key + ".pub")
	if err != nil {
		t.Fatal(err)
	}
	list := filepath.Join(home, "signers")
	sign := func(said string) {
		t.Helper()
		p := startWith(t, append(environ(home), "DAYTANK_OPERATOR=Ines Holm", "DAYTANK_STORE="+filepath.Join(home, "records.db"),
			"DAYTANK_REVIEW_SIGNERS="+list, "SSH_AUTH_SOCK="+socket), "review", "VAN-07/1", "--line")
		for _, answer := range []string{"s", "fit, clean work", "", "none", "sign"} {
			p.expect(" > ")
			p.send(answer + "\r")
		}
		p.expect(said)
		p.expect(" > ")
		p.send("q\r")
		if code := p.ended(); code != 0 {
			t.Errorf("status %d:\n%s", code, tail(p.text()))
		}
	}
	other := `"Ines Holm" ssh-ed25519 AAAAC3NzaC1lZDI1NTE5AAAAILyYUk0RRrRNaZbDdxsbqQ6+PyiU1JmhXGGdUtqR7fEZ` + "\n"
	if err := os.WriteFile(list, []byte(other), 0o600); err != nil {
		t.Fatal(err)
	}
	sign("Not signed: no key of Ines Holm")
	if err := os.WriteFile(list, []byte(other+`"Ines Holm" `+string(public)), 0o600); err != nil {
		t.Fatal(err)
	}
	sign("Signed: work of VAN-07/1")
	if out, _ := runAs(t, home, "jobs"); !strings.Contains(out, "signed") {
		t.Errorf("the job is not signed:\n%s", out)
	}
}

// What export prints for a shell is one word each, whatever a name has in it.
func TestQuotedForAShell(t *testing.T) {
	for _, text := range []string{"Ines Holm", "D'Arcy", "x'$(touch pwn)'", "`id`", `a"b\\c`, "*", "a;b"} {
		out, err := exec.Command("sh", "-c", "printf %s "+quoted(text)).Output()
		if err != nil || string(out) != text {
			t.Errorf("%q comes out as %q, %v", text, out, err)
		}
	}
}

// A record with a sign-off that is not to be trusted is not taken in: it would be out of
// the queue. Nor does the list of jobs say what its events do not.
func TestForgedSignOff(t *testing.T) {
	home := reviewed(t)
	f, err := os.Open(vanRecord)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	x, err := record.ReadExport(f)
	if err != nil {
		t.Fatal(err)
	}
	added, _, err := record.Seal(x.Head(), record.Stamp{At: time.Now().UTC().Truncate(time.Second), By: "Ines Holm"}, record.Signed{Which: record.SignOffWork, Verdict: "fit"})
	if err != nil {
		t.Fatal(err)
	}
	x.Events = append(x.Events, added...)
	forged := filepath.Join(home, "forged.jsonl")
	out, err := os.Create(forged)
	if err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(x.Write(out), out.Close()); err != nil {
		t.Fatal(err)
	}
	for _, command := range []string{"verify", "import"} {
		if said, code := runAs(t, home, command, forged); code != int(Unverified) {
			t.Errorf("%s: status %d, %s", command, code, said)
		}
	}
	if said, _ := runAs(t, home, "review"); !strings.Contains(said, "VAN-07/1") {
		t.Errorf("it is out of the queue:\n%s", said)
	}
	db, err := sql.Open("sqlite", filepath.Join(home, "records.db"))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := db.Exec(`UPDATE jobs SET state = 'signed'`); err != nil {
		t.Fatal(err)
	}
	db.Close()
	if said, code := runAs(t, home, "verify"); code != int(Unverified) || !strings.Contains(said, "the list of jobs says state signed, its events say to review") {
		t.Errorf("verify of a changed list: status %d, %s", code, said)
	}
	if said, code := runAs(t, home, "review", "VAN-07/1"); code != int(Unverified) || !strings.Contains(said, "RECORD DAMAGED") {
		t.Errorf("review of a changed list: status %d, %s", code, said)
	}
}
