package sqlite

import (
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"syscall"

	sqlite "modernc.org/sqlite"
	lib "modernc.org/sqlite/lib"

	"weephole/internal/store"
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
	switch e.Code() & primary {
	case lib.SQLITE_FULL:
		return fmt.Errorf("%w: %w", store.ErrFull, err)
	case lib.SQLITE_READONLY, lib.SQLITE_CANTOPEN, lib.SQLITE_PERM:
		return fmt.Errorf("%w: %w", store.ErrReadOnly, err)
	case lib.SQLITE_CORRUPT, lib.SQLITE_NOTADB:
		return fmt.Errorf("%w: %w", store.ErrDamaged, err)
	}
	return err
}

// folderError does the same for the file system's errors.
func folderError(err error) error {
	switch {
	case errors.Is(err, syscall.ENOSPC):
		return fmt.Errorf("%w: %w", store.ErrFull, err)
	case errors.Is(err, fs.ErrPermission), errors.Is(err, syscall.EROFS), errors.Is(err, syscall.ENOTDIR):
		return fmt.Errorf("%w: %w", store.ErrReadOnly, err)
	}
	return err
}
