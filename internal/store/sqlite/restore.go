package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"weephole/internal/store/sqlstore"
)

// stagingPrefix begins the name of the folder in which a restore is made ready.
const stagingPrefix = ".weephole-restoring"

func clearStaging(dir string) {
	list, _ := filepath.Glob(filepath.Join(dir, stagingPrefix+"*")) // the one error is a bad pattern
	for _, name := range list {
		os.RemoveAll(name) // what cannot be removed stays hidden and is never read
	}
}

// Restore puts a backup into a data folder that holds nothing of a shop yet, and
// tells what it put there. The file may also be the database of a data folder
// that was killed or is open: what lies beside it belongs to it and is read too.
// The source stays as it is.
//
// The copy is made ready under another name, compared with the source row by row,
// and appears with one renaming. A restore that fails or is killed leaves nothing
// that a bench would open.
func Restore(ctx context.Context, path, dir string) (sqlstore.Survey, error) {
	if i, err := os.Stat(path); err != nil {
		return nil, fmt.Errorf("restore %s: %w", path, err)
	} else if !i.Mode().IsRegular() {
		return nil, fmt.Errorf("restore %s: it is no file; name the backup itself: %w", path, fs.ErrInvalid)
	}
	_, err := os.Stat(dir)
	made := errors.Is(err, fs.ErrNotExist)
	if err := os.MkdirAll(dir, private); err != nil {
		return nil, fmt.Errorf("restore into %s: %w", dir, folderError(err))
	}
	lock, err := hold(dir, LockName, "a restore", time.Now())
	if err != nil {
		return nil, fmt.Errorf("restore into %s: %w", dir, err)
	}
	what, err := restore(ctx, path, dir)
	err = errors.Join(err, lock.release())
	if err != nil && made {
		os.Remove(filepath.Join(dir, LockName))
		os.Remove(dir) // only if it is empty
	}
	return what, err
}

func restore(ctx context.Context, path, dir string) (sqlstore.Survey, error) {
	to := filepath.Join(dir, FileName)
	for _, name := range append([]string{to, filepath.Join(dir, tallyFile)}, leftovers(to)...) {
		if _, err := os.Lstat(name); err == nil {
			return nil, fmt.Errorf("restore into %s: %s is there already; name an empty folder, or move everything of the old one away: %w", dir, filepath.Base(name), fs.ErrExist)
		}
	}
	clearStaging(dir)
	staging := filepath.Join(dir, stagingPrefix)
	if err := os.Mkdir(staging, private); err != nil {
		return nil, fmt.Errorf("restore into %s: %w", dir, folderError(err))
	}
	defer clearStaging(dir)
	ready := filepath.Join(staging, FileName)
	what, err := stage(ctx, path, staging, ready)
	if err != nil {
		return nil, fmt.Errorf("restore %s: %w", path, explain(err))
	}
	if err := errors.Join(syncFile(ready), os.Rename(ready, to), syncFile(dir)); err != nil {
		return nil, fmt.Errorf("restore into %s: %w", dir, folderError(err))
	}
	return what, nil
}

// stage copies the source into ready and compares the two.
func stage(ctx context.Context, path, staging, ready string) (sqlstore.Survey, error) {
	db, err := source(path, staging)
	if err != nil {
		return nil, err
	}
	defer db.Close()
	if err := intact(ctx, db); err != nil {
		return nil, err
	}
	if _, _, err := version(ctx, db); err != nil {
		return nil, err
	}
	before, err := survey(ctx, db)
	if err != nil {
		return nil, err
	}
	if err := vacuum(ctx, db, ready); err != nil {
		return nil, err
	}
	copied, err := connect(ready, 1, "query_only(1)", "ro")
	if err != nil {
		return nil, err
	}
	defer copied.Close()
	if err := intact(ctx, copied); err != nil {
		return nil, err
	}
	after, err := survey(ctx, copied)
	if err != nil {
		return nil, err
	}
	if d := before.Differs(after); d != "" {
		return nil, fmt.Errorf("what was copied is not what is there: table %s; if a bench has it open, use weephole backup instead", d)
	}
	if err := copied.Close(); err != nil {
		return nil, err
	}
	if filepath.Base(path) == FileName { // a data folder's: its tally may still lie beside it
		if err := addTally(ctx, ready, filepath.Join(filepath.Dir(path), tallyFile)); err != nil {
			return nil, err
		}
		return surveyOf(ctx, ready)
	}
	return after, nil
}

// source opens a database to be read, with what lies beside it, so that neither is
// changed. With a "-shm" beside it SQLite reads it in place: that is there only
// while it is open or after a crash. Without one but with a log it is read from a
// copy, because SQLite would have to write beside it. A file alone cannot change.
func source(path, staging string) (*sql.DB, error) {
	left := leftovers(path)
	if len(left) == 0 {
		return connect(path, 1, "query_only(0)", "ro"+alone)
	}
	if _, err := os.Lstat(path + "-shm"); err == nil {
		return connect(path, 1, "query_only(0)", "ro")
	}
	within := filepath.Join(staging, "source.db")
	if err := copyFile(path, within); err != nil {
		return nil, folderError(err)
	}
	for _, name := range left {
		if err := copyFile(name, within+name[len(path):]); err != nil {
			return nil, folderError(err)
		}
	}
	return connect(within, 1, "synchronous(FULL)", "")
}

// survey tells what is in a database.
func survey(ctx context.Context, db *sql.DB) (sqlstore.Survey, error) {
	return sqlstore.Take(ctx, db, func(table string) (columns []string, err error) {
		rows, err := db.QueryContext(ctx, "SELECT name FROM pragma_table_info(?)", table)
		if err != nil {
			return nil, err
		}
		defer rows.Close()
		for rows.Next() {
			var name string
			if err := rows.Scan(&name); err != nil {
				return nil, err
			}
			columns = append(columns, name)
		}
		return columns, rows.Err()
	})
}

func surveyOf(ctx context.Context, path string) (sqlstore.Survey, error) {
	db, err := connect(path, 1, "query_only(1)", "ro")
	if err != nil {
		return nil, err
	}
	defer db.Close()
	return survey(ctx, db)
}
