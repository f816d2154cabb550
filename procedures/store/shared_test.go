package store

import (
	"testing"

	"daytank/procedures/store/cluster"
)

var shop = cluster.Shop{SetUp: SetUpPostgres}

// openShared opens a database as a bay does.
func openShared(t testing.TB, name string) *postgres {
	t.Helper()
	return openAs(t, shop.Server(t).Address(name, cluster.Bay))
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
