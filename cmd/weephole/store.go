package main

import (
	"context"
	"flag"
	"fmt"
	"testing"

	"weephole/internal/exit"
	"weephole/internal/store"
	"weephole/internal/store/postgres"
	"weephole/internal/store/storetest"

	"github.com/jackc/pgx/v5"
	"github.com/spf13/cobra"
)

const storeCheckLong = `Finds out whether a database server that speaks PostgreSQL's protocol will do: it
runs the suite that every store has to pass. It works in schemas of its own
(weephole_check_1 and so on), which it removes afterwards. The role needs the right
to make them. Nothing else in the database is touched.

@FILE reads the address from the first line of a file, so that no password stands
on the command line. docs/data.md says which features are used.`

func storeCommand(env environment) *cobra.Command {
	cmd := &cobra.Command{
		Use:     "store COMMAND",
		Short:   "check whether a database server can keep the jobs",
		Long:    "About the database server that several benches may share (serve --store).",
		Example: "  weephole store check postgres://weephole@db.shop/weephole",
		Args:    noArguments,
		RunE:    func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(&cobra.Command{
		Use:     "check ADDRESS",
		Short:   "run the suite that every store has to pass",
		Long:    storeCheckLong,
		Example: "  weephole store check postgres://weephole@db.shop/weephole",
		Args:    oneArgument("an address"),
		RunE: func(cmd *cobra.Command, args []string) error {
			p := placeOf(args[0])
			if p.data != "" {
				p = place{address: p.data} // which says that it is none
			}
			address, err := p.server()
			if err != nil {
				return err
			}
			return checkStore(cmd.Context(), env, address)
		},
	})
	return cmd
}

// checkStore runs the conformance suite in schemas of its own.
func checkStore(ctx context.Context, env environment, address string) error {
	if !postgres.IsAddress(address) {
		return exit.Wrong(fmt.Errorf("%w; it begins with postgres://", postgres.ErrAddress))
	}
	c, err := pgx.ParseConfig(address)
	if err != nil {
		return exit.Wrong(postgres.ErrAddress)
	}
	db, err := pgx.ConnectConfig(ctx, c)
	if err != nil {
		return fmt.Errorf("%w: %s:%d: %w", store.ErrAway, c.Host, c.Port, err)
	}
	where := fmt.Sprintf("%s:%d", c.Host, c.Port)
	runSuite("store", func(t *testing.T) {
		t.Cleanup(func() { db.Close(context.Background()) })
		schemas := 0
		storetest.Run(t, func(t *testing.T, clock *storetest.Clock) store.Store {
			schemas++
			schema := fmt.Sprint("weephole_check_", schemas)
			if _, err := db.Exec(t.Context(), "CREATE SCHEMA "+schema); err != nil {
				t.Fatalf("make a schema: %v", err)
			}
			t.Cleanup(func() {
				if _, err := db.Exec(context.Background(), "DROP SCHEMA "+schema+" CASCADE"); err != nil {
					t.Errorf("remove schema %s: %v", schema, err)
				}
			})
			k, err := postgres.OpenSchema(t.Context(), address, schema, clock.Now)
			if err != nil {
				t.Fatal(err)
			}
			t.Cleanup(func() { k.Close() })
			for _, n := range k.Notices() {
				t.Log(n)
			}
			return k
		})
		if !t.Failed() {
			fmt.Fprintf(env.Out, "%s keeps all promises of a store.\n", where)
		}
	})
	return nil
}

// runSuite runs a test outside "go test" and ends the program: with status 1 if it
// failed, which is then said on the standard output. That is how package testing
// does it.
func runSuite(name string, suite func(*testing.T)) {
	testing.Init()
	_ = flag.CommandLine.Parse([]string{"-test.timeout=10m"}) // its own flags, which are known
	testing.Main(func(string, string) (bool, error) { return true, nil }, []testing.InternalTest{{Name: name, F: suite}}, nil, nil)
}
