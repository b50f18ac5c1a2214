package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"weephole/internal/exit"
	"weephole/internal/store/postgres"
	"weephole/internal/store/sqlite"
	"weephole/internal/store/sqlstore"

	"github.com/spf13/cobra"
)

const moveLong = `Copies everything from one store into another that is empty: jobs with their
history, logs and photos, settings, devices let in, the tally. Each is a data
folder or the address of a PostgreSQL database; @FILE reads the address from the
first line of a file, so that no password stands on the command line.

Close every bench on both first. Afterwards the two are compared row by row
(number and checksum of each table). A move that was broken off goes on where it
was when it is run again; until it is complete no bench opens what it fills.
The source stays as it is.`

const moveExamples = `  weephole move /srv/weephole postgres://weephole@db.shop/weephole
  weephole move @address.txt /srv/weephole`

func moveCommand(env environment) *cobra.Command {
	var shop string
	cmd := &cobra.Command{
		Use:     "move FROM TO",
		Short:   "copy a whole store into another: folder to database server, or back",
		Long:    moveLong,
		Example: moveExamples,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) != 2 {
				return exit.Usage(fmt.Errorf("move takes a store to read and one to fill, but got %d", len(args)))
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			from, to := placeOf(args[0]), placeOf(args[1])
			for _, p := range []*place{&from, &to} {
				if p.data == "" {
					p.shop = shop
				}
			}
			if from.data != "" {
				if _, err := os.Stat(filepath.Join(from.data, sqlite.FileName)); err != nil {
					return exit.Wrong(fmt.Errorf("move from %s: it is no data folder: %w", from.data, err))
				}
			}
			a, err := from.open(cmd.Context(), env, "weephole move")
			if err != nil {
				return err
			}
			defer a.Close() // it was only read
			if err := errors.Join(from.only(cmd.Context(), a), a.Moving(cmd.Context())); err != nil {
				return theirs(fmt.Errorf("move from %s: %w", args[0], err))
			}
			b, err := to.open(cmd.Context(), env, "weephole move")
			if err != nil {
				return err
			}
			defer b.Close() // each row is on the disk already
			if err := to.only(cmd.Context(), b); err != nil {
				return err
			}
			what, err := sqlstore.Move(cmd.Context(), a.base(), b.base(), env.moved)
			if err != nil {
				return theirs(err)
			}
			_, err = fmt.Fprintf(env.Out, "Moved and compared: %s.\n", what)
			return err
		},
	}
	cmd.Flags().StringVar(&shop, "shop", "", "which of the shops in a database server; "+postgres.Main+" if not given")
	return cmd
}

// moved says how far a move is.
func (env environment) moved(p sqlstore.Progress) {
	fmt.Fprintf(env.Err, "%d of %d jobs, %d of %d MB of logs and photos\n", p.Jobs, p.OfJobs, p.Bytes>>20, p.OfBytes>>20)
	if p.Jobs == p.OfJobs {
		fmt.Fprintln(env.Err, "All is copied; now the two are compared.")
	}
}

// placeOf is the place that an argument names: a folder, an address, or with @ a
// file that holds the address.
func placeOf(word string) place {
	if len(word) > 1 && word[0] == '@' {
		return place{addressFile: word[1:]}
	}
	return named(word)
}

// restoreServer fills an empty database on a server from a backup.
func restoreServer(cmd *cobra.Command, env environment, path string, p place) error {
	passing, err := os.MkdirTemp("", "weephole-restore-*")
	if err != nil {
		return err
	}
	defer os.RemoveAll(passing)
	folder := filepath.Join(passing, "data")
	if _, err := sqlite.Restore(cmd.Context(), path, folder); err != nil {
		return err
	}
	a, err := sqlite.Open(cmd.Context(), folder, env.Now) // brings an older backup up to date
	if err != nil {
		return err
	}
	defer a.Close() // it is a passing copy
	b, err := p.open(cmd.Context(), env, "weephole restore")
	if err != nil {
		return err
	}
	defer b.Close() // each row is on the disk already
	if err := p.only(cmd.Context(), b); err != nil {
		return err
	}
	what, err := sqlstore.Move(cmd.Context(), a.Keeper, b.base(), env.moved)
	if err != nil {
		return theirs(err)
	}
	_, err = fmt.Fprintf(env.Out, "Restored into the database: %s.\n", what)
	return err
}

// backupServer backs a database on a server up into a file.
func backupServer(cmd *cobra.Command, env environment, path string, p place) error {
	k, err := p.open(cmd.Context(), env, "weephole backup")
	if err != nil {
		return err
	}
	defer k.Close() // it was only read
	if err := p.only(cmd.Context(), k); err != nil {
		return err
	}
	err = k.Backup(cmd.Context(), path)
	if errors.Is(err, fs.ErrExist) {
		return exit.Wrong(err)
	}
	return err
}
