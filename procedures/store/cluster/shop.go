package cluster

import (
	"context"
	"errors"
	"fmt"
	"os"
	"sync"
	"sync/atomic"
	"testing"
)

// Logins that a shop has besides those of every server.
const (
	Owner    = "shop"     // of the databases; may make roles, but is no superuser
	Bay      = "bay"      // member of daytank_bay
	Screen   = "screen"   // member of daytank_reader
	Stranger = "stranger" // member of nothing
)

// Template is the database that is set up once, for others to be copies of; Empty is one
// without anything in it.
const (
	Template = "made_up_front"
	Empty    = "template0"
)

// Fast is the setting of servers that need not outlive a power cut. What is committed is
// with the system before it is acknowledged all the same, and outlives the server.
const Fast = "fsync=off"

// Shop is the server that the tests of a package share. It starts with the first of them
// that needs it; Close ends it, in TestMain.
type Shop struct {
	SetUp func(ctx context.Context, address string) error // makes a store in a database

	once   sync.Once
	server *Server
	err    error
	count  atomic.Int64
}

// Server gives the server. Without PostgreSQL the test is skipped, which .ci/run does not
// let pass.
func (s *Shop) Server(t testing.TB) *Server {
	t.Helper()
	s.once.Do(func() { s.server, s.err = s.start(context.Background()) })
	if errors.Is(s.err, ErrNone) {
		t.Skip(s.err)
	}
	if s.err != nil {
		t.Fatal(s.err)
	}
	return s.server
}

func (s *Shop) start(ctx context.Context) (*Server, error) {
	server, err := Start(ctx, Fast)
	if err != nil {
		return nil, err
	}
	for _, step := range []func() error{
		func() error {
			return server.Do(ctx, "postgres", fmt.Sprintf(`CREATE ROLE %s; CREATE ROLE %s; CREATE ROLE %s LOGIN CREATEROLE;
				CREATE ROLE %s LOGIN; CREATE ROLE %s LOGIN; CREATE ROLE %s LOGIN`, Locked, Sealed, Owner, Bay, Screen, Stranger))
		},
		func() error { return server.Do(ctx, "postgres", "CREATE DATABASE "+Template+" OWNER "+Owner) },
		func() error { return s.SetUp(ctx, server.Address(Template, Owner)) },
		func() error {
			return server.Do(ctx, "postgres", fmt.Sprintf(`GRANT daytank_bay TO %s; GRANT daytank_reader TO %s`, Bay, Screen))
		},
	} {
		if err := step(); err != nil {
			return nil, errors.Join(err, server.Close())
		}
	}
	return server, nil
}

// Close ends the server, if there is one.
func (s *Shop) Close() {
	if s.server == nil {
		return
	}
	if err := s.server.Close(); err != nil {
		fmt.Fprintln(os.Stderr, err)
	}
}

// Database makes a database for the test, as a copy of another.
func (s *Shop) Database(t testing.TB, from string) string {
	t.Helper()
	server := s.Server(t)
	name := fmt.Sprintf("shop_%d", s.count.Add(1))
	if err := server.Do(t.Context(), "postgres", "CREATE DATABASE "+name+" TEMPLATE "+from+" OWNER "+Owner); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := server.Do(context.Background(), "postgres", "DROP DATABASE "+name+" WITH (FORCE)"); err != nil {
			t.Error(err)
		}
	})
	return name
}
