package signing

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"
	"golang.org/x/crypto/ssh"

	"daytank/procedures/record"
	"daytank/procedures/review"
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

// tool runs a program of OpenSSH, which these tests are held against (ssh-keygen(1),
// ssh-agent(1), PROTOCOL.sshsig).
func tool(t *testing.T, stdin []byte, env []string, name string, args ...string) string {
	t.Helper()
	cmd := exec.Command(name, args...)
	cmd.Stdin, cmd.Env = bytes.NewReader(stdin), append(os.Environ(), env...)
	out, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("%s %s: %v\n%s", name, strings.Join(args, " "), err, out)
	}
	return string(out)
}

var signOff = record.SignOff{
	Job: uuid.MustParse("018f3a5c-7d20-7000-8000-000000000001"), Head: record.Hash{7}, Seq: 223, Which: record.SignOffWork,
	Verdict: "fit, clean work", Remarks: "Öl war gut", Principal: "Ines Holm", At: time.Date(2026, 6, 1, 8, 0, 0, 0, time.UTC),
}

func bytesOf(t *testing.T) []byte {
	t.Helper()
	text, err := signOff.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// bench has a key of ssh-keygen and the list of signers with it.
func bench(t *testing.T, kind, passphrase string) (key, list string) {
	t.Helper()
	folder := t.TempDir()
	key, list = filepath.Join(folder, "key"), filepath.Join(folder, "signers")
	tool(t, nil, nil, "ssh-keygen", "-q", "-t", kind, "-N", passphrase, "-C", "test", "-f", key)
	public, err := os.ReadFile(key + ".pub")
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(list, fmt.Appendf(nil, "\"Ines Holm\" namespaces=%q %s", record.SignatureNamespace, public), 0o600); err != nil {
		t.Fatal(err)
	}
	return key, list
}

func signersOf(t *testing.T, list string) *review.Signers {
	t.Helper()
	text, err := os.ReadFile(list)
	if err != nil {
		t.Fatal(err)
	}
	s, err := review.ParseSigners(list, text, time.UTC)
	if err != nil {
		t.Fatal(err)
	}
	return &s
}

// accepted holds a signature of ours against ssh-keygen -Y verify.
func accepted(t *testing.T, list, armored string) {
	t.Helper()
	file := filepath.Join(t.TempDir(), "sig")
	if err := os.WriteFile(file, []byte(armored), 0o600); err != nil {
		t.Fatal(err)
	}
	said := tool(t, bytesOf(t), nil, "ssh-keygen", "-Y", "verify", "-f", list, "-I", "Ines Holm", "-n", record.SignatureNamespace, "-s", file)
	if !strings.Contains(said, "Good") {
		t.Errorf("ssh-keygen says %s", said)
	}
}

// ssh-keygen -Y verify accepts what we sign, and we accept what ssh-keygen -Y sign signs:
// with keys of three kinds, with a passphrase and without.
func TestWithOpenSSH(t *testing.T) {
	needed(t, "ssh-keygen")
	for _, kind := range []string{"ed25519", "rsa", "ecdsa"} {
		for _, passphrase := range []string{"", "salt water"} {
			t.Run(kind+" "+passphrase, func(t *testing.T) {
				key, list := bench(t, kind, passphrase)
				asked := 0
				signer, err := Open(key, func() (string, error) { asked++; return passphrase, nil })
				if err != nil {
					t.Fatal(err)
				}
				if (asked == 1) != (passphrase != "") {
					t.Errorf("asked %d times for a passphrase", asked)
				}
				armored, err := review.Sign(signOff, signer)
				if err != nil {
					t.Fatal(err)
				}
				accepted(t, list, armored)
				if _, err := review.Check(signOff, armored, signersOf(t, list)); err != nil {
					t.Errorf("ours: %v", err)
				}
				if passphrase != "" {
					_, err := Open(key, func() (string, error) { return "fresh water", nil })
					if !errors.Is(err, ErrPassphrase) {
						t.Errorf("a wrong passphrase: %v", err)
					}
					tool(t, nil, nil, "ssh-keygen", "-q", "-p", "-P", passphrase, "-N", "", "-f", key) // ssh-keygen would ask the terminal
				}
				theirs := tool(t, bytesOf(t), nil, "ssh-keygen", "-q", "-Y", "sign", "-f", key, "-n", record.SignatureNamespace)
				theirs = theirs[strings.Index(theirs, "-----BEGIN"):]
				if _, err := review.Check(signOff, theirs, signersOf(t, list)); err != nil {
					t.Errorf("theirs: %v", err)
				}
				changed := signOff
				changed.Verdict = "not fit"
				if _, err := review.Check(changed, theirs, signersOf(t, list)); err == nil {
					t.Error("theirs is accepted for other words")
				}
				elsewhere := tool(t, bytesOf(t), nil, "ssh-keygen", "-q", "-Y", "sign", "-f", key, "-n", "file")
				elsewhere = elsewhere[strings.Index(elsewhere, "-----BEGIN"):]
				if _, err := review.Check(signOff, elsewhere, signersOf(t, list)); err == nil {
					t.Error("a signature of another namespace is accepted")
				}
			})
		}
	}
}

// A key in an agent signs as one in a file does; one that is not wanted is left alone.
func TestAgent(t *testing.T) {
	needed(t, "ssh-keygen", "ssh-agent", "ssh-add")
	socket := filepath.Join(t.TempDir(), "agent")
	agent := exec.Command("ssh-agent", "-D", "-a", socket)
	if err := agent.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { agent.Process.Kill(); agent.Wait() })
	for began := time.Now(); time.Since(began) < 10*time.Second; time.Sleep(10 * time.Millisecond) {
		if _, err := os.Stat(socket); err == nil {
			break
		}
	}
	for _, kind := range []string{"ed25519", "rsa", "ecdsa"} {
		key, list := bench(t, kind, "")
		tool(t, nil, []string{"SSH_AUTH_SOCK=" + socket}, "ssh-add", "-q", key)
		signers := signersOf(t, list)
		signer, closer, err := FromAgent(socket, func(k ssh.PublicKey) bool {
			_, err := signers.Find("Ines Holm", k, signOff.At)
			return err == nil
		})
		if err != nil {
			t.Fatal(err)
		}
		armored, err := review.Sign(signOff, signer)
		if err != nil {
			t.Fatal(err)
		}
		accepted(t, list, armored)
		if err := closer.Close(); err != nil {
			t.Error(err)
		}
	}
	if _, _, err := FromAgent(socket, func(ssh.PublicKey) bool { return false }); !errors.Is(err, ErrNoKey) {
		t.Errorf("no key that is wanted: %v", err)
	}
	for _, socket := range []string{"", filepath.Join(t.TempDir(), "nothing")} {
		if _, _, err := FromAgent(socket, func(ssh.PublicKey) bool { return true }); err == nil {
			t.Errorf("an agent at %q", socket)
		}
	}
}

// A key made here is one that ssh-keygen reads; it is its owner's only, and is not written
// over another one.
func TestNew(t *testing.T) {
	needed(t, "ssh-keygen")
	for _, passphrase := range []string{"", "salt water"} {
		file := filepath.Join(t.TempDir(), "a", "key")
		public, err := New(file, "Ines Holm", passphrase)
		if err != nil {
			t.Fatal(err)
		}
		info, err := os.Stat(file)
		if err != nil || info.Mode().Perm() != 0o600 {
			t.Errorf("mode %v, %v", info.Mode(), err)
		}
		said := tool(t, nil, nil, "ssh-keygen", "-y", "-P", passphrase, "-f", file)
		if !strings.HasPrefix(said, Line(public)) {
			t.Errorf("ssh-keygen reads %s, want %s", said, Line(public))
		}
		beside, err := os.ReadFile(file + ".pub")
		if err != nil || string(beside) != Line(public)+" Ines Holm\n" {
			t.Errorf("%s, %v", beside, err)
		}
		if _, err := New(file, "Ines Holm", ""); !errors.Is(err, os.ErrExist) {
			t.Errorf("over another one: %v", err)
		}
	}
	if _, err := Open(filepath.Join(t.TempDir(), "key"), nil); !errors.Is(err, ErrNoKey) {
		t.Errorf("no file: %v", err)
	}
	file := filepath.Join(t.TempDir(), "text")
	if err := os.WriteFile(file, []byte("asset: VAN-07\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := Open(file, nil); err == nil || !strings.Contains(err.Error(), "no private key that reads") {
		t.Errorf("no key: %v", err)
	}
}
