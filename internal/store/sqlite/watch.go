package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"sync"
	"sync/atomic"
	"time"

	"weephole/internal/store"
)

// watch notices what happens to the database while it is open: its files moved or
// deleted, its pages damaged, its disk full.
type watch struct {
	dir   string
	files []watched
	// anchor is a connection that is never used and never closed before the end.
	// While one is open SQLite keeps its companions, so they can be watched.
	anchor *sql.Conn
	damage atomic.Pointer[error]

	mu     sync.Mutex
	full   error  // the last write failed because the disk was full; nil: it did not
	freeAt uint64 // what was free then, bytes
}

// watched is a file as it was when the database was opened.
type watched struct {
	path string
	info os.FileInfo
}

// begin remembers which files the database is.
func (w *watch) begin(ctx context.Context, path string, read *sql.DB) (err error) {
	if w.anchor, err = read.Conn(ctx); err != nil {
		return err
	}
	var n int
	if err := w.anchor.QueryRowContext(ctx, "SELECT count(*) FROM settings").Scan(&n); err != nil {
		if err = explain(err); !errors.Is(err, store.ErrDamaged) {
			return err
		}
		w.heard(err)
	}
	for _, p := range []string{path, path + "-wal", path + "-shm"} {
		i, err := os.Stat(p)
		if err != nil {
			return folderError(err)
		}
		w.files = append(w.files, watched{p, i})
	}
	return nil
}

func (w *watch) close() error {
	if w.anchor == nil {
		return nil
	}
	return w.anchor.Close()
}

// there tells whether the files are still those that were opened. A database
// whose file was moved goes on being written where it is now; whoever starts the
// program again would not find that.
func (w *watch) there() error {
	for _, f := range w.files {
		i, err := os.Stat(f.path)
		if err != nil || !os.SameFile(i, f.info) {
			return fmt.Errorf("%w: %s was moved, deleted or replaced while it was open; put it back, or end the program and start it again", store.ErrGone, f.path)
		}
	}
	return nil
}

// ready is asked before something is written.
func (w *watch) ready() error {
	if err := w.damaged(); err != nil {
		return err
	}
	return w.there()
}

// confirm is asked after a commit: what was written counts only if it is where it
// will be looked for.
func (w *watch) confirm() error {
	if err := w.there(); err != nil {
		return err
	}
	w.mu.Lock()
	w.full = nil
	w.mu.Unlock()
	return nil
}

// damaged gives what is known of damage, nil when nothing is.
func (w *watch) damaged() error {
	if p := w.damage.Load(); p != nil {
		return *p
	}
	return nil
}

// heard learns from an error.
func (w *watch) heard(err error) {
	switch {
	case errors.Is(err, store.ErrDamaged):
		w.damage.CompareAndSwap(nil, &err)
	case errors.Is(err, store.ErrFull):
		free, _ := freeBytes(w.dir)
		w.mu.Lock()
		w.full, w.freeAt = err, free
		w.mu.Unlock()
	}
}

// leastFree is how much of the disk must be free for an entry to have room with
// its share of the write-ahead log, bytes: judgement, 1,000 pages and a little.
const leastFree = 4<<20 + 64<<10

// room tells whether the disk has room for more entries.
func (w *watch) room() error {
	free, known := freeBytes(w.dir)
	if known && free < leastFree {
		return fmt.Errorf("%w: %d KB are free", store.ErrFull, free>>10)
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.full != nil && (!known || free <= w.freeAt) {
		return w.full
	}
	return nil
}

// Check implements store.Store. It writes nothing: it looks at the files, at what
// is known of damage, at the room on the disk, and takes the writer's turn without
// using it.
func (k *FileKeeper) Check(ctx context.Context) error {
	if err := k.watch.ready(); err != nil {
		return err
	}
	if err := mayWrite(k.dir); err != nil {
		return fmt.Errorf("%s: %w", k.dir, folderError(err))
	}
	if err := k.watch.room(); err != nil {
		return err
	}
	tx, err := k.write.BeginTx(ctx, nil) // immediate: it takes the write lock
	if err != nil {
		return k.explain(err)
	}
	return k.explain(tx.Rollback())
}

// look reads every page and says ErrDamaged when they do not hold together. It
// does not see a letter changed inside a text.
func (k *FileKeeper) look(ctx context.Context, db *sql.DB) error {
	var word string
	err := db.QueryRowContext(ctx, "PRAGMA quick_check(1)").Scan(&word)
	if err == nil && word != "ok" {
		err = fmt.Errorf("%w: %s", store.ErrDamaged, word)
	}
	return k.explain(err)
}

// lookEvery looks the database over from time to time.
func (k *FileKeeper) lookEvery(d time.Duration) {
	ctx, end := context.WithCancel(context.Background())
	k.end = end
	k.looking.Go(func() {
		turn := time.NewTicker(d)
		defer turn.Stop()
		for {
			select {
			case <-ctx.Done():
				return
			case <-turn.C:
				_ = k.look(ctx, k.read) // what it finds is remembered, and said by Check
			}
		}
	})
}
