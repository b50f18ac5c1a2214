package main

import (
	"errors"
	"fmt"
	"io/fs"

	"weephole/internal/exit"
	"weephole/internal/store"
	"weephole/internal/store/sqlite"

	"github.com/spf13/cobra"
)

const restoreLong = `Puts a backup into a data folder that has no jobs yet. The backup is looked over
first and stays as it is. A folder with jobs is never written over: name an empty
one, or move the old one away.`

const restoreExamples = `  weephole restore /media/stick/weephole.db
  weephole restore weephole.db --data /srv/weephole`

func restoreCommand(env environment) *cobra.Command {
	var data string
	cmd := &cobra.Command{
		Use:     "restore FILE",
		Short:   "put a backup into an empty data folder",
		Long:    restoreLong,
		Example: restoreExamples,
		Args:    oneArgument("a backup"),
		RunE: func(cmd *cobra.Command, args []string) error {
			dir := dataFolder(data)
			err := sqlite.Restore(cmd.Context(), args[0], dir)
			for _, theirs := range []error{fs.ErrExist, fs.ErrNotExist, store.ErrDamaged, store.ErrNewer} {
				if errors.Is(err, theirs) {
					return exit.Wrong(err)
				}
			}
			if err != nil {
				return err
			}
			fmt.Fprintln(env.Out, "Restored into", dir)
			return nil
		},
	}
	cmd.Flags().StringVar(&data, "data", "", "data folder; "+defaultData()+" if not given")
	return cmd
}
