package sqlite

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"time"

	"github.com/pressly/goose/v3"
	_ "modernc.org/sqlite" // the engine itself, pure Go

	"weephole/internal/store"
)

//go:embed migrations/*.sql
var migrations embed.FS

// FileName is the database's name in the data folder.
const FileName = "weephole.db"

// readers is how many queries may read at once: judgement, two per core of a
// small machine.
const readers = 4

// Keeper is a store in one SQLite file.
type Keeper struct {
	dir   string
	write *sql.DB // one connection: SQLite has one writer
	read  *sql.DB
	now   func() time.Time
}

var _ store.Store = (*Keeper)(nil)

// Open opens the database in the data folder, making both on the first start,
// and brings its schema up to date. An old database is copied beside itself
// before its schema is changed; one of a newer program is refused (ErrNewer).
// now is the keeper's clock.
func Open(ctx context.Context, dir string, now func() time.Time) (*Keeper, error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, fmt.Errorf("open data folder %s: %w", dir, folderError(err))
	}
	k := &Keeper{dir: dir, now: now}
	path := filepath.Join(dir, FileName)
	_, err := os.Stat(path)
	fresh := errors.Is(err, fs.ErrNotExist)
	if k.write, err = connect(path, 1, "synchronous(FULL)", ""); err != nil {
		return nil, fmt.Errorf("open %s: %w", path, err)
	}
	if err := k.migrate(ctx, fresh); err != nil {
		k.write.Close()
		return nil, fmt.Errorf("open %s: %w", path, explain(err))
	}
	if k.read, err = connect(path, readers, "query_only(1)", ""); err != nil {
		k.write.Close()
		return nil, fmt.Errorf("open %s: %w", path, err)
	}
	if err := k.Check(ctx); err != nil {
		k.Close()
		return nil, fmt.Errorf("open %s: %w", path, err)
	}
	return k, nil
}

// connect prepares a pool. busy_timeout comes first, so that setting the
// journal mode waits its turn too. synchronous(FULL) makes each commit wait for
// the disk: with WAL and NORMAL a power cut could lose the last commits
// (https://www.sqlite.org/pragma.html#pragma_synchronous), and a confirmed entry
// must not be lost.
func connect(path string, conns int, pragma, mode string) (*sql.DB, error) {
	q := url.Values{"_pragma": {"busy_timeout(10000)", "journal_mode(WAL)", "foreign_keys(1)", pragma}, "_txlock": {"immediate"}}
	if mode != "" {
		q.Set("mode", mode)
		q["_pragma"] = []string{"busy_timeout(10000)", pragma}
	}
	db, err := sql.Open("sqlite", (&url.URL{Scheme: "file", Opaque: (&url.URL{Path: path}).EscapedPath(), RawQuery: q.Encode()}).String())
	if err != nil {
		return nil, err
	}
	db.SetMaxOpenConns(conns)
	db.SetMaxIdleConns(conns)
	return db, nil
}

// migrate brings the schema up to date.
func (k *Keeper) migrate(ctx context.Context, fresh bool) error {
	p, err := provider(k.write)
	if err != nil {
		return err
	}
	have, err := p.GetDBVersion(ctx)
	if err != nil {
		return err
	}
	sources := p.ListSources()
	newest := sources[len(sources)-1].Version
	switch {
	case have > newest:
		return fmt.Errorf("%w: its schema is %d, this program knows %d; use the newer program, or restore a backup made before", store.ErrNewer, have, newest)
	case have == newest:
		return nil
	case !fresh:
		copyPath := filepath.Join(k.dir, fmt.Sprintf("weephole-schema%d-%s.db", have, k.now().UTC().Format("20060102-150405")))
		if err := copyInto(ctx, k.write, copyPath); err != nil {
			return fmt.Errorf("copy the database before changing its schema: %w", err)
		}
	}
	if _, err := p.Up(ctx); err != nil {
		return fmt.Errorf("change the schema from %d to %d: %w", have, newest, err)
	}
	return intact(ctx, k.write)
}

func provider(db *sql.DB) (*goose.Provider, error) {
	sub, err := fs.Sub(migrations, "migrations")
	if err != nil {
		return nil, err
	}
	return goose.NewProvider(goose.DialectSQLite3, db, sub)
}

// Close ends the keeper; what was kept stays.
func (k *Keeper) Close() error {
	var readErr error
	if k.read != nil {
		readErr = k.read.Close()
	}
	return errors.Join(readErr, k.write.Close())
}

// Check tells whether an entry could be kept now, by keeping something.
func (k *Keeper) Check(ctx context.Context) error {
	return k.Set(ctx, "checked", k.now().UTC().Format(time.RFC3339))
}
