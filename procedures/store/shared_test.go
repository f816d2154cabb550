package store

import (
	"context"
	"errors"
	"fmt"
	"os"
	"sync"
	"sync/atomic"
	"testing"

	"daytank/procedures/store/cluster"
)

// The server that the tests of this package share; each has a database of its own.
var shop struct {
	once   sync.Once
	server *cluster.Server
	err    error
	count  atomic.Int64
}

const template = "made_up_front"

// server starts the server with the first test that needs it. Without PostgreSQL the test
// is skipped, which .ci/run does not let pass.
func server(t testing.TB) *cluster.Server {
	t.Helper()
	shop.once.Do(func() { shop.server, shop.err = startShop() })
	if errors.Is(shop.err, cluster.ErrNone) {
		t.Skip(shop.err)
	}
	if shop.err != nil {
		t.Fatal(shop.err)
	}
	return shop.server
}

// startShop makes the logins of a workshop, and a database that is set up by an owner who
// is no superuser, for others to be copies of.
func startShop() (*cluster.Server, error) {
	ctx := context.Background()
	s, err := cluster.Start(ctx, "fsync=off", "log_min_messages=fatal")
	if err != nil {
		return nil, err
	}
	if err := errors.Join(
		s.Do(ctx, "postgres", `CREATE ROLE locked; CREATE ROLE sealed; CREATE ROLE shop LOGIN CREATEROLE; CREATE ROLE bay LOGIN; CREATE ROLE screen LOGIN; CREATE ROLE stranger LOGIN`),
		s.Do(ctx, "postgres", "CREATE DATABASE "+template+" OWNER shop"),
		SetUpPostgres(ctx, s.Address(template, "shop")),
		s.Do(ctx, "postgres", `GRANT daytank_bay TO bay; GRANT daytank_reader TO screen`),
	); err != nil {
		return nil, errors.Join(err, s.Close())
	}
	return s, nil
}

// closeShop is for TestMain.
func closeShop() {
	if shop.server == nil {
		return
	}
	if err := shop.server.Close(); err != nil {
		fmt.Fprintln(os.Stderr, err)
	}
}

// database makes a database for the test, with or without a store.
func database(t testing.TB, from string) string {
	t.Helper()
	s := server(t)
	name := fmt.Sprintf("shop_%d", shop.count.Add(1))
	if err := s.Do(t.Context(), "postgres", "CREATE DATABASE "+name+" TEMPLATE "+from+" OWNER shop"); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Do(context.Background(), "postgres", "DROP DATABASE "+name+" WITH (FORCE)"); err != nil {
			t.Error(err)
		}
	})
	return name
}

// openShared opens a database as a bay does.
func openShared(t testing.TB, name string) *postgres {
	t.Helper()
	return openAs(t, server(t).Address(name, "bay"))
}

func openAs(t testing.TB, address string) *postgres {
	t.Helper()
	s, err := OpenPostgres(t.Context(), address)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return s.(*postgres)
}
