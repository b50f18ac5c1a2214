package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"

	"weephole/internal/exit"
	"weephole/internal/store/sqlite"

	"github.com/spf13/cobra"
)

const backupLong = `Writes everything in the data folder into one file, as it is at one moment: jobs
with their logs and photos, settings, known devices and the tally. The bench may
be open. The copy is checked before it gets its name, and only you can read it.

Without a name it goes into the data folder's "backups", with the date in its
name. --keep N then removes all but the newest N of those.

A backup on the same disk helps only against mistakes: keep one somewhere else.`

const backupExamples = `  weephole backup /media/stick/weephole.db
  weephole backup --keep 14`

// backupName is how a dated backup is called; its dates sort.
const backupName = "weephole-20060102-150405.db"

func backupCommand(env environment) *cobra.Command {
	var from place
	var keep int
	cmd := &cobra.Command{
		Use:     "backup [FILE]",
		Short:   "copy all jobs into one file, while the bench is open or not",
		Long:    backupLong,
		Example: backupExamples,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) > 1 {
				return exit.Usage(fmt.Errorf("backup takes one file name, but got %d", len(args)))
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			address, err := from.server()
			if err != nil {
				return err
			}
			dir := dataFolder(from.data)
			if keep < 0 || keep > 0 && len(args) > 0 {
				return exit.Usage(errors.New("--keep is a number of dated backups, for use without a file name"))
			}
			folder := filepath.Join(dir, "backups")
			path := filepath.Join(folder, env.Now().UTC().Format(backupName))
			if len(args) > 0 {
				path = args[0]
			} else if err := os.MkdirAll(folder, 0o700); err != nil {
				return err
			}
			if address != "" {
				err = backupServer(cmd, env, path, from)
			} else {
				err = sqlite.Backup(cmd.Context(), dir, path)
			}
			if errors.Is(err, fs.ErrNotExist) || errors.Is(err, fs.ErrExist) {
				return exit.Wrong(err)
			}
			if err != nil {
				return err
			}
			fmt.Fprintln(env.Out, path)
			if keep > 0 {
				return thin(folder, path, keep)
			}
			return nil
		},
	}
	from.flags(cmd.Flags())
	cmd.Flags().IntVar(&keep, "keep", 0, "how many dated backups to keep; 0 keeps all")
	return cmd
}

// thin removes the oldest dated backups beyond keep, but never the one that was
// just made: a clock that was set back gives it the oldest name.
func thin(folder, made string, keep int) error {
	list, err := filepath.Glob(filepath.Join(folder, "weephole-[0-9]*-[0-9]*.db"))
	if err != nil {
		return err
	}
	slices.Sort(list)
	list = slices.DeleteFunc(list, func(name string) bool { return name == made })
	for len(list) > keep-1 {
		if err := os.Remove(list[0]); err != nil {
			return err
		}
		list = list[1:]
	}
	return nil
}
