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
	"strings"
	"sync"
	"time"

	"github.com/pressly/goose/v3"
	_ "modernc.org/sqlite" // the engine itself, pure Go

	"weephole/internal/store"
	"weephole/internal/store/sqlstore"
)

//go:embed migrations/*.sql
var migrations embed.FS

// FileName is the database's name in the data folder.
const FileName = "weephole.db"

// readers is how many queries may read at once: judgement, two per core of a
// small machine.
const readers = 4

// FileKeeper is a store in one SQLite file.
type FileKeeper struct {
	*sqlstore.Keeper
	dir     string
	write   *sql.DB // one connection: SQLite has one writer
	read    *sql.DB
	now     func() time.Time
	lock    *folderLock
	watch   watch
	notices []string
	end     context.CancelFunc
	looking sync.WaitGroup
}

var _ store.Store = (*FileKeeper)(nil)

// Option is something that Open is told.
type Option func(*options)

type options struct {
	shared bool
	as     string
	every  time.Duration
}

// Shared says that others on the machine may look into the data folder.
func Shared() Option { return func(o *options) { o.shared = true } }

// As says who opens the folder, for whoever finds it in use.
func As(who string) Option { return func(o *options) { o.as = who } }

// LookEvery says how often the whole database is looked over; an hour otherwise.
func LookEvery(d time.Duration) Option { return func(o *options) { o.every = d } }

// Open opens the database in the data folder, making both on the first start,
// and brings its schema up to date. An old database is copied beside itself
// before its schema is changed; one of a newer program is refused (ErrNewer), as
// is a folder that another process has open (ErrInUse) or that is open to others
// (ErrOpen). now is the keeper's clock.
//
// A database that opens but is damaged is opened for reading: Check and every
// write give ErrDamaged.
func Open(ctx context.Context, dir string, now func() time.Time, with ...Option) (*FileKeeper, error) {
	o := options{as: "a bench", every: time.Hour}
	for _, w := range with {
		w(&o)
	}
	k := &FileKeeper{dir: dir, now: now, end: func() {}}
	k.watch.dir = dir
	if err := k.open(ctx, o); err != nil {
		return nil, errors.Join(fmt.Errorf("open data folder %s: %w", dir, explain(err)), k.Close())
	}
	return k, nil
}

func (k *FileKeeper) open(ctx context.Context, o options) (err error) {
	if err := prepare(k.dir, o.shared); err != nil {
		return err
	}
	if k.lock, err = hold(k.dir, LockName, o.as, k.now()); err != nil {
		return err
	}
	clearStaging(k.dir) // a restore that was killed left it; nothing of it was ever shown
	path := filepath.Join(k.dir, FileName)
	fresh, err := lay(path)
	if err != nil {
		return err
	}
	if k.write, err = connect(path, 1, "synchronous(FULL)", ""); err != nil {
		return err
	}
	if !fresh {
		if err := k.look(ctx, k.write); err != nil && !errors.Is(err, store.ErrDamaged) {
			return err
		}
	}
	if err := k.migrate(ctx, fresh); err != nil {
		return err
	}
	if k.read, err = connect(path, readers+1, "query_only(1)", ""); err != nil {
		return err
	}
	k.Keeper = sqlstore.New(k.engine())
	if err := k.watch.begin(ctx, path, k.read); err != nil {
		return err
	}
	if k.watch.damaged() != nil {
		return nil // nothing is written, and a look has been had
	}
	if err := k.Check(ctx); err != nil {
		return err
	}
	if err := k.takeInTallyFile(ctx); err != nil {
		return err
	}
	k.lookEvery(o.every)
	return nil
}

// Visit opens the database of a data folder for a short time, while a bench may
// have it open too. It changes no schema and takes no lock, so the database must
// have the newest schema already: ErrOlder otherwise.
func Visit(ctx context.Context, dir string, now func() time.Time) (*FileKeeper, error) {
	k := &FileKeeper{dir: dir, now: now, end: func() {}}
	k.watch.dir = dir
	path := filepath.Join(dir, FileName)
	err := func() (err error) {
		if _, err := os.Stat(path); err != nil {
			return err
		}
		if k.write, err = connect(path, 1, "synchronous(FULL)", ""); err != nil {
			return err
		}
		have, newest, err := version(ctx, k.write)
		if err == nil && have < newest {
			err = ErrOlder
		}
		if err != nil {
			return err
		}
		if k.read, err = connect(path, readers, "query_only(1)", ""); err != nil {
			return err
		}
		k.Keeper = sqlstore.New(k.engine())
		return nil
	}()
	if err != nil {
		return nil, errors.Join(fmt.Errorf("look into %s: %w", path, explain(err)), k.Close())
	}
	return k, nil
}

// ErrOlder says that a database was last opened by an older program.
var ErrOlder = errors.New("the database has an older schema; open the bench once (weephole serve)")

// engine is SQLite as package sqlstore needs it.
func (k *FileKeeper) engine() sqlstore.Engine {
	return sqlstore.Engine{
		Write: k.write, Read: k.read, Now: k.now, Explain: k.explain,
		Ready: k.watch.ready, Confirm: k.watch.confirm, Arrival: "rowid", Position: "instr",
	}
}

// explain puts the store's word on an error and remembers what it says of the
// disk.
func (k *FileKeeper) explain(err error) error {
	err = explain(err)
	k.watch.heard(err)
	return err
}

// lay makes an empty database file that only its owner can read, and tells
// whether it did. SQLite gives its own files beside it the same mode.
func lay(path string) (fresh bool, err error) {
	if i, err := os.Stat(path); err == nil {
		return i.Size() == 0, nil
	}
	if left := leftovers(path); len(left) > 0 {
		return false, fmt.Errorf("%w: %s is there, but not the database that it belongs to, %s: put that back beside it, or restore a backup into an empty folder", store.ErrDamaged, left[0], path)
	}
	f, err := os.OpenFile(path, os.O_CREATE|os.O_EXCL|os.O_WRONLY, secret)
	if err != nil {
		return false, folderError(err)
	}
	return true, f.Close()
}

// companions are the files that SQLite keeps beside a database. What they hold
// belongs to it.
var companions = []string{"-wal", "-shm", "-journal"}

// leftovers are the companions of a database that are there.
func leftovers(path string) (list []string) {
	for _, c := range companions {
		if _, err := os.Lstat(path + c); err == nil {
			list = append(list, path+c)
		}
	}
	return list
}

// connect prepares a pool. busy_timeout comes first, so that setting the
// journal mode waits its turn too. synchronous(FULL) makes each commit wait for
// the disk: with WAL and NORMAL a power cut could lose the last commits
// (https://www.sqlite.org/pragma.html#pragma_synchronous), and a confirmed entry
// must not be lost.
//
// A mode other than "" leaves the journal as it is. With alone after it SQLite is
// told that nobody can change the file, so it makes nothing beside it.
func connect(path string, conns int, pragma, mode string) (*sql.DB, error) {
	q := url.Values{"_pragma": {"busy_timeout(10000)", "journal_mode(WAL)", "foreign_keys(1)", pragma}, "_txlock": {"immediate"}}
	if mode, immutable := strings.CutSuffix(mode, alone); mode != "" {
		q.Set("mode", mode)
		if immutable {
			q.Set("immutable", "1")
		}
		q["_pragma"] = []string{"busy_timeout(10000)", pragma}
	}
	if vfs != "" {
		q.Set("vfs", vfs)
	}
	db, err := sql.Open("sqlite", (&url.URL{Scheme: "file", Opaque: (&url.URL{Path: path}).EscapedPath(), RawQuery: q.Encode()}).String())
	if err != nil {
		return nil, err
	}
	db.SetMaxOpenConns(conns)
	db.SetMaxIdleConns(conns)
	return db, nil
}

// alone ends the mode of a connection to a file that nobody changes.
const alone = "-alone"

// vfs is the file system that SQLite writes through, "" its own. Tests of power
// cuts set it to one that writes down what it is asked to do.
var vfs string

// migrate brings the schema up to date.
func (k *FileKeeper) migrate(ctx context.Context, fresh bool) error {
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
	case k.watch.damaged() != nil:
		return k.watch.damaged() // a damaged database is not changed further
	case !fresh && have > 0:
		copyPath := filepath.Join(k.dir, fmt.Sprintf("weephole-schema%d-%s.db", have, k.now().UTC().Format("20060102-150405")))
		if err := copyInto(ctx, k.write, copyPath); err != nil && !errors.Is(err, fs.ErrExist) {
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

// Notices are what a person should be told about the opening, one line each.
func (k *FileKeeper) Notices() []string { return k.notices }

// Close ends the keeper; what was kept stays.
func (k *FileKeeper) Close() error {
	k.end()
	k.looking.Wait()
	err := k.watch.close()
	for _, db := range []*sql.DB{k.read, k.write} {
		if db != nil {
			err = errors.Join(err, db.Close())
		}
	}
	if k.lock != nil {
		err = errors.Join(err, k.lock.release())
	}
	return err
}
