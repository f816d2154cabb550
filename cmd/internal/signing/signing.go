// Package signing holds the keys that sign off jobs: one in a file of OpenSSH's form,
// with a passphrase or without, or one in an agent. A key never leaves this package, a
// passphrase is kept nowhere.
package signing

import (
	"crypto/ed25519"
	"crypto/rand"
	"encoding/pem"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net"
	"os"
	"path/filepath"
	"strings"
	"time"

	"golang.org/x/crypto/ssh"
	"golang.org/x/crypto/ssh/agent"

	"daytank/cmd/internal/whole"
)

// Errors of a key.
var (
	ErrPassphrase = errors.New("this is not the passphrase of the key")
	ErrNoKey      = errors.New("there is no key here")
)

// New makes an ed25519 key in a file that must not be there yet, readable by its owner
// only, and its public half beside it with .pub behind the name. An empty passphrase is
// none.
func New(file, comment, passphrase string) (ssh.PublicKey, error) {
	_, private, err := ed25519.GenerateKey(rand.Reader)
	if err != nil {
		return nil, err
	}
	var block *pem.Block
	if passphrase == "" {
		block, err = ssh.MarshalPrivateKey(private, comment)
	} else {
		block, err = ssh.MarshalPrivateKeyWithPassphrase(private, comment, []byte(passphrase))
	}
	if err != nil {
		return nil, err
	}
	signer, err := ssh.NewSignerFromKey(private)
	if err != nil {
		return nil, err
	}
	if err := os.MkdirAll(filepath.Dir(file), 0o700); err != nil {
		return nil, err
	}
	if err := whole.Create(file, pem.EncodeToMemory(block)); err != nil {
		return nil, err
	}
	public := signer.PublicKey()
	return public, whole.Replace(file+".pub", []byte(Line(public)+" "+comment+"\n"))
}

// Line gives a public key as it stands in a file: type and key.
func Line(key ssh.PublicKey) string { return strings.TrimSpace(string(ssh.MarshalAuthorizedKey(key))) }

// longestKey is what the file of a key may have at most, in bytes; the largest has some
// thousands.
const longestKey = 1 << 20

// Open reads the private key in a file. The passphrase is asked for only where it has
// one; [ErrPassphrase] says that it was wrong, [ErrNoKey] that there is no file.
func Open(file string, passphrase func() (string, error)) (ssh.Signer, error) {
	text, err := whole.Read(file, longestKey)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("%s: %w", file, ErrNoKey)
	}
	if err != nil {
		return nil, err
	}
	signer, err := ssh.ParsePrivateKey(text)
	var locked *ssh.PassphraseMissingError
	if !errors.As(err, &locked) {
		if err != nil {
			return nil, fmt.Errorf("%s is no private key that reads: %w", file, err)
		}
		return signer, nil
	}
	typed, err := passphrase()
	if err != nil {
		return nil, err
	}
	signer, err = ssh.ParsePrivateKeyWithPassphrase(text, []byte(typed))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", file, ErrPassphrase)
	}
	return signer, nil
}

// agentPatience is how long an agent may take, with a person who confirms the use of the
// key there.
const agentPatience = 45 * time.Second

// FromAgent gives a key of the agent behind a socket that is one of those wanted. Close
// ends the use of the agent, and of the key.
func FromAgent(socket string, wanted func(ssh.PublicKey) bool) (signer ssh.Signer, closer io.Closer, err error) {
	if socket == "" {
		return nil, nil, fmt.Errorf("no agent is running: %w", ErrNoKey)
	}
	conn, err := net.Dial("unix", socket)
	if err != nil {
		return nil, nil, fmt.Errorf("the agent does not answer: %w", err)
	}
	if err := conn.SetDeadline(time.Now().Add(agentPatience)); err != nil { // also for the signature
		return nil, nil, errors.Join(err, conn.Close())
	}
	signers, err := agent.NewClient(conn).Signers()
	if err != nil {
		return nil, nil, errors.Join(fmt.Errorf("the agent does not answer: %w", err), conn.Close())
	}
	for _, s := range signers {
		if wanted(s.PublicKey()) {
			return s, conn, nil
		}
	}
	return nil, nil, errors.Join(fmt.Errorf("none of the agent's %d keys is one of those who may sign: %w", len(signers), ErrNoKey), conn.Close())
}
