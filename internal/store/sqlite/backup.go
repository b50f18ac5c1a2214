package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"weephole/internal/store"
)

// Backup implements store.Store.
func (k *Keeper) Backup(ctx context.Context, path string) error {
	return Backup(ctx, k.dir, path)
}

// Backup copies the database of a data folder into one new file, whether or not
// a server is writing to it.
func Backup(ctx context.Context, dir, path string) error {
	from := filepath.Join(dir, FileName)
	if _, err := os.Stat(from); err != nil {
		return fmt.Errorf("back up %s: %w", from, err)
	}
	// A connection of its own, so that no entry waits for the copy; it may not be
	// query_only, which VACUUM INTO takes for writing.
	db, err := connect(from, 1, "synchronous(FULL)", "")
	if err != nil {
		return fmt.Errorf("back up %s: %w", from, err)
	}
	defer db.Close()
	if err := copyInto(ctx, db, path); err != nil {
		return fmt.Errorf("back up %s to %s: %w", from, path, explain(err))
	}
	return nil
}

// copyInto writes a consistent copy under a passing name, looks it over, makes
// sure that it is on the disk and then gives it its own name.
func copyInto(ctx context.Context, db *sql.DB, path string) (err error) {
	if _, err := os.Stat(path); err == nil {
		return fmt.Errorf("%s: %w", path, fs.ErrExist)
	}
	passing := path + ".part"
	if err := os.Remove(passing); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return folderError(err)
	}
	defer func() {
		if err != nil {
			os.Remove(passing) // the half-written copy is of no use; the first error is the one to tell
		}
	}()
	if _, err := db.ExecContext(ctx, "VACUUM INTO ?", passing); err != nil {
		return err
	}
	if err := look(ctx, passing); err != nil {
		return err
	}
	if err := syncFile(passing); err != nil {
		return folderError(err)
	}
	if err := os.Rename(passing, path); err != nil {
		return folderError(err)
	}
	return syncFile(filepath.Dir(path))
}

// look opens a database for reading only and checks it.
func look(ctx context.Context, path string) error {
	db, err := connect(path, 1, "query_only(1)", "ro")
	if err != nil {
		return err
	}
	defer db.Close()
	return intact(ctx, db)
}

// intact runs the engine's own checks.
func intact(ctx context.Context, db *sql.DB) error {
	var word string
	if err := db.QueryRowContext(ctx, "PRAGMA integrity_check").Scan(&word); err != nil {
		return err
	}
	if word != "ok" {
		return fmt.Errorf("%w: %s", store.ErrDamaged, word)
	}
	rows, err := db.QueryContext(ctx, "PRAGMA foreign_key_check")
	if err != nil {
		return err
	}
	defer rows.Close()
	if rows.Next() {
		return fmt.Errorf("%w: a row points at a job that is not there", store.ErrDamaged)
	}
	return rows.Err()
}

// Restore puts a backup into a data folder that has no database yet. The
// backup is looked over first and stays as it is.
func Restore(ctx context.Context, path, dir string) error {
	to := filepath.Join(dir, FileName)
	if _, err := os.Stat(to); err == nil {
		return fmt.Errorf("restore into %s: it has a database already; name an empty folder: %w", dir, fs.ErrExist)
	}
	if _, err := os.Stat(path); err != nil {
		return fmt.Errorf("restore %s: %w", path, err)
	}
	if err := look(ctx, path); err != nil {
		return fmt.Errorf("restore %s: %w", path, explain(err))
	}
	if err := known(ctx, path); err != nil {
		return fmt.Errorf("restore %s: %w", path, explain(err))
	}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return fmt.Errorf("restore into %s: %w", dir, folderError(err))
	}
	if err := copyFile(path, to+".part"); err != nil {
		os.Remove(to + ".part") // as above
		return fmt.Errorf("restore into %s: %w", dir, folderError(err))
	}
	if err := os.Rename(to+".part", to); err != nil {
		return fmt.Errorf("restore into %s: %w", dir, folderError(err))
	}
	return syncFile(dir)
}

// known tells whether a database is one of ours and not too new.
func known(ctx context.Context, path string) error {
	db, err := connect(path, 1, "query_only(1)", "ro")
	if err != nil {
		return err
	}
	defer db.Close()
	var version int64
	if err := db.QueryRowContext(ctx, "SELECT max(version_id) FROM goose_db_version").Scan(&version); err != nil {
		return fmt.Errorf("no database of this program: %w", err)
	}
	p, err := provider(db)
	if err != nil {
		return err
	}
	sources := p.ListSources()
	if newest := sources[len(sources)-1].Version; version > newest {
		return fmt.Errorf("%w: its schema is %d, this program knows %d", store.ErrNewer, version, newest)
	}
	return nil
}

func copyFile(from, to string) error {
	in, err := os.Open(from)
	if err != nil {
		return err
	}
	defer in.Close()
	out, err := os.OpenFile(to, os.O_WRONLY|os.O_CREATE|os.O_TRUNC, 0o600)
	if err != nil {
		return err
	}
	if _, err := io.Copy(out, in); err != nil {
		out.Close()
		return err
	}
	return errors.Join(out.Sync(), out.Close())
}

// syncFile makes sure that a file, or a folder's list of names, is on the disk.
func syncFile(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}
