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
	"time"

	"weephole/internal/store"
	"weephole/internal/store/sqlstore"
)

// backupLock is held while a folder is backed up, so that what a killed backup
// left can be told from what another is writing.
const backupLock = "weephole-backup.lock"

// passingSuffix ends the name of a backup that is not complete yet.
const passingSuffix = ".weephole-part"

// Backup implements store.Store.
func (k *FileKeeper) Backup(ctx context.Context, path string) error {
	if err := k.watch.there(); err != nil {
		return fmt.Errorf("back up %s: %w", k.dir, err)
	}
	return Backup(ctx, k.dir, path)
}

// Backup copies all that a data folder holds into one new file that only its
// owner can read, whether or not a bench is writing to it: the database and a
// tally that an older program kept beside it. What a killed backup of this folder
// left under this name is cleared first.
func Backup(ctx context.Context, dir, path string) error {
	from := filepath.Join(dir, FileName)
	if _, err := os.Stat(from); err != nil {
		return fmt.Errorf("back up %s: %w", from, err)
	}
	lock, err := hold(dir, backupLock, "a backup", time.Now())
	if errors.Is(err, store.ErrInUse) {
		return fmt.Errorf("back up %s: another backup of it is running; wait for it", dir)
	}
	if err != nil {
		return fmt.Errorf("back up %s: %w", dir, err)
	}
	defer lock.release() // nothing was written to it that could be lost
	clearPassing(path + passingSuffix + "*")
	clearPassing(filepath.Join(dir, "backups", "*"+passingSuffix+"*"))
	// A connection of its own, so that no entry waits for the copy; it may not be
	// query_only, which VACUUM INTO takes for writing.
	db, err := connect(from, 1, "synchronous(FULL)", "")
	if err != nil {
		return fmt.Errorf("back up %s: %w", from, err)
	}
	defer db.Close()
	if err := copyInto(ctx, db, path, filepath.Join(dir, tallyFile)); err != nil {
		return fmt.Errorf("back up %s to %s: %w", from, path, explain(err))
	}
	return nil
}

// clearPassing removes what matches a pattern; what cannot be removed is met
// again when the copy is written.
func clearPassing(pattern string) {
	list, _ := filepath.Glob(pattern) // the one error is a bad pattern, which matches nothing
	for _, name := range list {
		os.Remove(name)
	}
}

// copyInto writes a consistent copy under a passing name, takes in the tallies
// that are not in the database yet, looks the copy over, makes sure that it is on
// the disk and then gives it its own name.
func copyInto(ctx context.Context, db *sql.DB, path string, tallies ...string) (err error) {
	if _, err := os.Lstat(path); err == nil {
		return fmt.Errorf("%s: %w", path, fs.ErrExist)
	}
	passing := path + passingSuffix
	defer func() {
		if err != nil {
			clearPassing(passing + "*") // a half-written copy is of no use; the first error is the one to tell
		}
	}()
	if err := vacuum(ctx, db, passing); err != nil {
		return err
	}
	for _, t := range tallies {
		if err := addTally(ctx, passing, t); err != nil {
			return err
		}
	}
	if err := inspect(ctx, passing); err != nil {
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

// Fill makes a new file of the kind that Backup makes, filled by somebody else. It
// gets its name when it is whole.
func Fill(ctx context.Context, path string, now func() time.Time, fill func(*sqlstore.Keeper) error) (err error) {
	if _, err := os.Lstat(path); err == nil {
		return fmt.Errorf("%s: %w", path, fs.ErrExist)
	}
	passing := path + passingSuffix
	clearPassing(passing + "*")
	defer func() {
		if err != nil {
			clearPassing(passing + "*") // as above
		}
	}()
	f, err := os.OpenFile(passing, os.O_CREATE|os.O_EXCL|os.O_WRONLY, secret)
	if err != nil {
		return folderError(err)
	}
	if err := f.Close(); err != nil {
		return folderError(err)
	}
	db, err := connect(passing, 1, "synchronous(OFF)", "rw") // it is synced as a whole
	if err != nil {
		return err
	}
	defer db.Close()
	p, err := provider(db)
	if err != nil {
		return err
	}
	if _, err := p.Up(ctx); err != nil {
		return explain(err)
	}
	if err := fill(sqlstore.New(sqlstore.Engine{Write: db, Read: db, Now: now, Explain: explain, Arrival: "rowid", Position: "instr"})); err != nil {
		return err
	}
	if err := db.Close(); err != nil {
		return explain(err)
	}
	if err := inspect(ctx, passing); err != nil {
		return explain(err)
	}
	if err := errors.Join(syncFile(passing), os.Rename(passing, path), syncFile(filepath.Dir(path))); err != nil {
		return folderError(err)
	}
	return nil
}

// vacuum writes a consistent copy into a file that only its owner can read.
func vacuum(ctx context.Context, db *sql.DB, path string) error {
	f, err := os.OpenFile(path, os.O_CREATE|os.O_TRUNC|os.O_WRONLY, secret)
	if err != nil {
		return folderError(err)
	}
	if err := errors.Join(f.Chmod(secret), f.Close()); err != nil && !errors.Is(err, errors.ErrUnsupported) {
		return folderError(err)
	}
	_, err = db.ExecContext(ctx, "VACUUM INTO ?", path)
	return err
}

// inspect opens a database for reading only and checks it.
func inspect(ctx context.Context, path string) error {
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

// version is a database's schema, checked to be one of ours and not too new.
func version(ctx context.Context, db *sql.DB) (have, newest int64, err error) {
	if err := db.QueryRowContext(ctx, "SELECT max(version_id) FROM goose_db_version").Scan(&have); err != nil {
		return 0, 0, fmt.Errorf("%w: it is no database of this program (%w)", store.ErrDamaged, err)
	}
	p, err := provider(db)
	if err != nil {
		return 0, 0, err
	}
	sources := p.ListSources()
	newest = sources[len(sources)-1].Version
	if have > newest {
		return have, newest, fmt.Errorf("%w: its schema is %d, this program knows %d", store.ErrNewer, have, newest)
	}
	return have, newest, nil
}

func copyFile(from, to string) error {
	in, err := os.Open(from)
	if err != nil {
		return err
	}
	defer in.Close()
	out, err := os.OpenFile(to, os.O_WRONLY|os.O_CREATE|os.O_TRUNC, secret)
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
