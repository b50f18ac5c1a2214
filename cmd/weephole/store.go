package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"os"
	"testing"

	"weephole/internal/exit"
	"weephole/internal/store"
	"weephole/internal/store/postgres"
	"weephole/internal/store/storetest"

	"github.com/spf13/cobra"
)

const storeCheckLong = `Finds out whether a database server that speaks PostgreSQL's protocol will do: it
runs the suite that every store has to pass. It works in schemas of its own
(weephole_check_TIME_RUN_1 and so on), which it removes afterwards, also when it is
stopped (Ctrl-C). What a killed check left is removed by the next one that is run an
hour later or more. The role needs the right to make schemas. Nothing else in the
database is touched.

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

// checkStore runs the conformance suite in schemas of its own. It does not come back:
// the suite ends the program, or ctx does.
func checkStore(ctx context.Context, env environment, address string) error {
	scratch, err := postgres.OpenScratch(ctx, address)
	if errors.Is(err, postgres.ErrAddress) || errors.Is(err, postgres.ErrNoSchemas) {
		return exit.Wrong(err)
	}
	if err != nil {
		return err
	}
	// A signal ends ctx, and the suite takes no notice of that.
	context.AfterFunc(ctx, func() {
		fmt.Fprintln(env.Err, "The check is stopped; its schemas are removed.")
		if err := scratch.Clear(context.WithoutCancel(ctx)); err != nil {
			fmt.Fprintln(env.Err, err)
		}
		os.Exit(exit.Failed)
	})
	runSuite("store", func(t *testing.T) {
		t.Cleanup(func() {
			if ctx.Err() != nil {
				select {} // whoever removes the schemas ends the program when he is done
			}
			scratch.Close(context.Background())
		})
		storetest.Run(t, func(t *testing.T, clock *storetest.Clock) store.Store {
			schema, err := scratch.Schema(t.Context())
			if err != nil {
				t.Fatalf("make a schema: %v", err)
			}
			t.Cleanup(func() {
				if err := scratch.Drop(context.Background(), schema); err != nil {
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
			fmt.Fprintf(env.Out, "%s keeps all promises of a store.\n", scratch.Where())
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
