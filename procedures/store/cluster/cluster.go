// Package cluster runs a PostgreSQL server of a test's own: in a temporary folder, on a
// free port of the loopback address, with users of its own. It is for tests, and in no
// program.
//
// The programs of PostgreSQL are those in the folder that [Programs] names, or else the
// newest that Debian's packages have put where they put them. They refuse to run as root;
// there they run as the user that the packages make.
//
// The server ends with the test that started it, also where that is killed: a shell
// watches a pipe from the test, and when it closes takes the server and its folder away.
package cluster

import (
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"errors"
	"fmt"
	"io"
	"math/big"
	"net"
	"net/url"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"time"

	"github.com/jackc/pgx/v5/pgconn"
)

// Programs is the variable that names the folder with initdb and postgres.
const Programs = "DAYTANK_POSTGRES_BIN"

// ErrNone says that PostgreSQL is not installed.
var ErrNone = errors.New("PostgreSQL is not installed (Debian: postgresql), and " + Programs + " names no folder with its programs")

// Users that every server has. Locked and Sealed are groups for users that tests make:
// members of Locked log in by password, those of Sealed by password and with TLS only;
// anybody else just by name.
const (
	Admin  = "admin" // may do everything
	Locked = "locked"
	Sealed = "sealed"
)

// Server is a running server.
type Server struct {
	Port        int
	Certificate string // file with the server's certificate, of the name localhost

	folder, programs string
	runAs            *syscall.SysProcAttr // nil: as whoever runs the test
	uid, gid         int
	server           *exec.Cmd
	ended            chan struct{} // closed when the server has
	dog              *exec.Cmd     // the shell that watches
	leash            io.WriteCloser
}

// Start makes a server and starts it. Settings are those of postgresql.conf, as [Fast].
func Start(ctx context.Context, settings ...string) (*Server, error) {
	programs, err := find()
	if err != nil {
		return nil, err
	}
	s := &Server{programs: programs}
	if s.folder, err = os.MkdirTemp("", "cluster-"); err != nil {
		return nil, err
	}
	if err := s.make(ctx); err != nil {
		return nil, errors.Join(err, os.RemoveAll(s.folder))
	}
	if err := s.Run(ctx, settings...); err != nil {
		return nil, errors.Join(err, os.RemoveAll(s.folder))
	}
	return s, nil
}

// find gives the folder with the programs.
func find() (string, error) {
	folders, err := filepath.Glob("/usr/lib/postgresql/*/bin")
	if err != nil {
		return "", err
	}
	slices.SortFunc(folders, func(a, b string) int { return version(b) - version(a) })
	if named := os.Getenv(Programs); named != "" {
		folders = []string{named}
	}
	for _, folder := range folders {
		if _, err := os.Stat(filepath.Join(folder, "initdb")); err == nil {
			return folder, nil
		}
	}
	return "", ErrNone
}

func version(folder string) int {
	n, _ := strconv.Atoi(filepath.Base(filepath.Dir(folder))) // 0 for what is no number
	return n
}

func (s *Server) data() string { return filepath.Join(s.folder, "data") }

// make makes the folder of a server that does not run yet.
func (s *Server) make(ctx context.Context) error {
	if os.Getuid() == 0 {
		owner, err := user.Lookup("postgres")
		if err != nil {
			return err
		}
		s.uid, _ = strconv.Atoi(owner.Uid) // on unix they are numbers
		s.gid, _ = strconv.Atoi(owner.Gid)
		s.runAs = asUser(s.uid, s.gid)
		if err := os.Chown(s.folder, s.uid, s.gid); err != nil {
			return err
		}
	}
	initdb := exec.CommandContext(ctx, filepath.Join(s.programs, "initdb"), "--pgdata", s.data(), "--username", Admin,
		"--auth", "trust", "--encoding", "UTF8", "--locale", "C", "--no-sync", "--no-instructions")
	initdb.SysProcAttr, initdb.Dir = s.runAs, s.folder
	if said, err := initdb.CombinedOutput(); err != nil {
		return fmt.Errorf("initdb: %w: %s", err, said)
	}
	rules := "host all +" + Locked + " 127.0.0.1/32 scram-sha-256\n" +
		"hostssl all +" + Sealed + " 127.0.0.1/32 scram-sha-256\n" +
		"hostnossl all +" + Sealed + " 127.0.0.1/32 reject\n" +
		"host all all 127.0.0.1/32 trust\n"
	if err := s.write("pg_hba.conf", rules); err != nil {
		return err
	}
	return s.makeCertificate()
}

// write writes a file of the server, readable by it alone.
func (s *Server) write(name, text string) error {
	path := filepath.Join(s.data(), name)
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		return err
	}
	if s.runAs == nil {
		return nil
	}
	return os.Chown(path, s.uid, s.gid)
}

func (s *Server) makeCertificate() error {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return err
	}
	now := time.Now()
	signed := &x509.Certificate{
		SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: "localhost"}, DNSNames: []string{"localhost"},
		NotBefore: now.Add(-time.Hour), NotAfter: now.Add(24 * time.Hour), IsCA: true, BasicConstraintsValid: true,
	}
	certificate, err := x509.CreateCertificate(rand.Reader, signed, signed, key.Public(), key)
	if err != nil {
		return err
	}
	private, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		return err
	}
	s.Certificate = filepath.Join(s.data(), "server.crt")
	return errors.Join(
		s.write("server.crt", string(pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: certificate}))),
		s.write("server.key", string(pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: private}))))
}

// watchdog waits until its pipe closes, which is when the test is gone; told that all is
// done it leaves things alone.
const watchdog = `read -r word
[ "$word" = done ] && exit
kill -QUIT "$0"; sleep 1; rm -rf "$1"`

// Run starts a server that was made, or was stopped by [Server.Kill]: on the same port.
// What is left of one that was killed may hold it up for a while.
func (s *Server) Run(ctx context.Context, settings ...string) error {
	const attempts = 20
	for attempt := 1; ; attempt++ {
		err := s.run(ctx, settings)
		if !errors.Is(err, errEnded) {
			return err
		}
		if err = errors.Join(err, s.dismiss()); attempt == attempts {
			return err
		}
		time.Sleep(100 * time.Millisecond)
	}
}

var errEnded = errors.New("the server has ended")

func (s *Server) run(ctx context.Context, settings []string) error {
	if s.Port == 0 {
		port, err := freePort()
		if err != nil {
			return err
		}
		s.Port = port
	}
	log, err := os.OpenFile(filepath.Join(s.folder, "log"), os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	defer log.Close()
	args := []string{"-D", s.data(), "-p", strconv.Itoa(s.Port), "-k", ""}
	for _, setting := range append([]string{"listen_addresses=127.0.0.1", "ssl=on", "max_connections=60", "shared_buffers=64MB"}, settings...) {
		args = append(args, "-c", setting)
	}
	s.server = exec.Command(filepath.Join(s.programs, "postgres"), args...)
	s.server.SysProcAttr, s.server.Dir, s.server.Stdout, s.server.Stderr = s.runAs, s.folder, log, log
	if err := s.server.Start(); err != nil {
		return err
	}
	s.ended = make(chan struct{})
	go func() {
		s.server.Wait() // how it ended says nothing
		close(s.ended)
	}()
	s.dog = exec.Command("/bin/sh", "-c", watchdog, strconv.Itoa(s.server.Process.Pid), s.folder)
	if s.leash, err = s.dog.StdinPipe(); err != nil {
		return err
	}
	if err := s.dog.Start(); err != nil {
		return err
	}
	return s.ready(ctx)
}

func freePort() (int, error) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return 0, err
	}
	defer l.Close()
	return l.Addr().(*net.TCPAddr).Port, nil
}

// ready waits until the server answers.
func (s *Server) ready(ctx context.Context) error {
	ctx, cancel := context.WithTimeout(ctx, time.Minute)
	defer cancel()
	for {
		err := s.Do(ctx, "postgres", "SELECT 1")
		if err == nil {
			return nil
		}
		said, _ := os.ReadFile(filepath.Join(s.folder, "log")) // what there is
		select {
		case <-s.ended:
			return fmt.Errorf("%w: %s", errEnded, said)
		case <-ctx.Done():
			return fmt.Errorf("the server does not answer: %w\n%s", err, said)
		case <-time.After(20 * time.Millisecond):
		}
	}
}

// Do runs statements in a database as Admin.
func (s *Server) Do(ctx context.Context, database, statements string) error {
	conn, err := pgconn.Connect(ctx, s.Address(database, Admin))
	if err != nil {
		return err
	}
	defer conn.Close(ctx)
	_, err = conn.Exec(ctx, statements).ReadAll()
	return err
}

// Address gives the address of a database for a user. More are parameters of it, as
// sslmode=disable, which is there unless they say otherwise.
func (s *Server) Address(database, user string, more ...string) string {
	values := url.Values{"sslmode": {"disable"}}
	for _, parameter := range more {
		name, value, _ := strings.Cut(parameter, "=")
		values.Set(name, value)
	}
	u := url.URL{Scheme: "postgres", User: url.User(user), Host: net.JoinHostPort("127.0.0.1", strconv.Itoa(s.Port)), Path: database, RawQuery: values.Encode()}
	return u.String()
}

// Kill ends the server at once, without a chance to write anything, and waits until it is
// gone. [Server.Run] starts it again.
func (s *Server) Kill() error { return s.end(syscall.SIGKILL) }

// Close ends the server and takes its folder away.
func (s *Server) Close() error {
	return errors.Join(s.end(syscall.SIGQUIT), os.RemoveAll(s.folder))
}

func (s *Server) end(signal os.Signal) error {
	err := s.server.Process.Signal(signal)
	<-s.ended
	return errors.Join(err, s.dismiss())
}

// dismiss tells the watchdog of a server that has ended that all is done.
func (s *Server) dismiss() error {
	_, err := io.WriteString(s.leash, "done\n")
	return errors.Join(err, s.dog.Wait())
}
