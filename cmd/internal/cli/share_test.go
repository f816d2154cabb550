package cli

import (
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

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
