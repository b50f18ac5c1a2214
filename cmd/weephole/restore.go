package main

import (
	"errors"
	"fmt"
	"io/fs"

	"weephole/internal/exit"
	"weephole/internal/store"
	"weephole/internal/store/sqlite"
	"weephole/internal/store/sqlstore"

	"github.com/spf13/cobra"
)

const restoreLong = `Puts a backup into a data folder that has no shop's data in it yet. The backup is
checked first and not changed. The result is compared with it row by row and
reported. Everything is restored or nothing. A folder that still has a shop's data
in it is never overwritten: name an empty one, or move the old one away.

The database of a folder whose bench crashed can be named too. What lies beside it
(-wal, tally.jsonl) belongs to it and is read as well.

With --store or --store-file the backup is put into an empty PostgreSQL database.`

const restoreExamples = `  weephole restore /media/stick/weephole.db
  weephole restore weephole.db --data /srv/weephole`

func restoreCommand(env environment) *cobra.Command {
	var into place
	cmd := &cobra.Command{
		Use:     "restore FILE",
		Short:   "put a backup into an empty data folder",
		Long:    restoreLong,
		Example: restoreExamples,
		Args:    oneArgument("a backup"),
		RunE: func(cmd *cobra.Command, args []string) error {
			address, err := into.server()
			if err != nil {
				return err
			}
			dir := dataFolder(into.data)
			var what sqlstore.Survey
			if address == "" {
				what, err = sqlite.Restore(cmd.Context(), args[0], dir)
			} else {
				err = restoreServer(cmd, env, args[0], into)
			}
			for _, theirs := range []error{fs.ErrExist, fs.ErrNotExist, fs.ErrInvalid, store.ErrDamaged, store.ErrNewer, store.ErrInUse} {
				if errors.Is(err, theirs) {
					return exit.Wrong(err)
				}
			}
			if err != nil || address != "" {
				return err
			}
			_, err = fmt.Fprintf(env.Out, "Restored into %s: %s.\n", dir, what)
			return err
		},
	}
	into.flags(cmd.Flags())
	return cmd
}
