package sqlite

import (
	"database/sql"
	"errors"
	"fmt"
	"syscall"

	sqlite "modernc.org/sqlite"
	lib "modernc.org/sqlite/lib"

	"weephole/internal/store"
)

// The system's errors that have a word of their own in package store.
var (
	errNoSpace      = syscall.ENOSPC
	errReadOnlyDisk = syscall.EROFS
	errNotFolder    = syscall.ENOTDIR
)

// explain puts the store's word on an engine's error, keeping the original.
func explain(err error) error {
	if err == nil {
		return nil
	}
	if errors.Is(err, sql.ErrNoRows) {
		return store.ErrUnknown
	}
	var e *sqlite.Error
	if !errors.As(err, &e) {
		return err
	}
	const primary = 0xff // the low byte of an extended result code
	switch {
	case e.Code() == lib.SQLITE_READONLY_DBMOVED:
		return fmt.Errorf("%w: %w", store.ErrGone, err)
	case e.Code()&primary == lib.SQLITE_FULL:
		return fmt.Errorf("%w: %w", store.ErrFull, err)
	case e.Code()&primary == lib.SQLITE_READONLY, e.Code()&primary == lib.SQLITE_CANTOPEN, e.Code()&primary == lib.SQLITE_PERM:
		return fmt.Errorf("%w: %w", store.ErrReadOnly, err)
	case e.Code()&primary == lib.SQLITE_CORRUPT, e.Code()&primary == lib.SQLITE_NOTADB:
		return fmt.Errorf("%w: %w", store.ErrDamaged, err)
	case e.Code()&primary == lib.SQLITE_IOERR:
		return fmt.Errorf("%w: %w", store.ErrDisk, err)
	}
	return err
}
