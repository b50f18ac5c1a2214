package sqlite

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"weephole/internal/store"
)

// LockName is the file whose lock a bench holds while it works on a folder; it
// says who that is.
const LockName = "weephole.lock"

// private is the mode of a data folder, secret that of a file in it.
const (
	private fs.FileMode = 0o700
	secret  fs.FileMode = 0o600
)

// prepare makes the data folder, or sees to it that others on the machine cannot
// look into it. A folder that holds nothing but ours is closed to them. One with
// other things in it is refused, because closing it may hurt somebody.
func prepare(dir string, shared bool) error {
	if err := os.MkdirAll(dir, private); err != nil {
		return folderError(err)
	}
	i, err := os.Stat(dir)
	if err != nil {
		return folderError(err)
	}
	if shared || !othersMay(i) {
		return nil
	}
	list, err := os.ReadDir(dir)
	if err != nil {
		return folderError(err)
	}
	ours := true
	for _, e := range list {
		ours = ours && own(e.Name())
	}
	if ours {
		if err := os.Chmod(dir, private); err == nil {
			return nil
		}
	}
	return fmt.Errorf("%w (mode %04o): close it with chmod 700 %s, or say --shared if they may read the shop's jobs", store.ErrOpen, i.Mode().Perm(), dir)
}

// own tells whether a name in the data folder is one that the program gives.
func own(name string) bool {
	return strings.HasPrefix(name, "weephole") || strings.HasPrefix(name, stagingPrefix) || strings.HasPrefix(name, "tally") || name == "backups"
}

// folderLock is a data folder held for one process.
type folderLock struct{ f *os.File }

// hold takes the folder for this process. When another has it, the error
// (ErrInUse) says which.
func hold(dir, lockName, as string, now time.Time) (*folderLock, error) {
	path := filepath.Join(dir, lockName)
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, secret)
	if err != nil {
		return nil, folderError(err)
	}
	mine, err := lockNow(f)
	if err != nil {
		f.Close()
		return nil, fmt.Errorf("lock %s: %w", path, folderError(err))
	}
	if !mine {
		who, _ := io.ReadAll(io.LimitReader(f, 400)) // an unreadable name leaves the message without it
		f.Close()
		return nil, fmt.Errorf("%w: %s", store.ErrInUse, strings.TrimSpace(string(who)))
	}
	host, _ := os.Hostname() // a machine without a name has none to show
	who := fmt.Sprintf("%s, process %d on %s, since %s\n", as, os.Getpid(), host, now.UTC().Format("2006-01-02 15:04:05 MST"))
	if err := errors.Join(f.Truncate(0), at0(f, who)); err != nil {
		f.Close()
		return nil, folderError(err)
	}
	return &folderLock{f}, nil
}

func at0(f *os.File, text string) error {
	_, err := f.WriteAt([]byte(text), 0)
	return err
}

// release lets the folder go. The file stays, because removing it could take it
// from under the next holder.
func (l *folderLock) release() error { return l.f.Close() }

// folderError puts the store's word on an error of the file system.
func folderError(err error) error {
	switch {
	case errors.Is(err, errNoSpace):
		return fmt.Errorf("%w: %w", store.ErrFull, err)
	case errors.Is(err, fs.ErrPermission), errors.Is(err, errReadOnlyDisk), errors.Is(err, errNotFolder):
		return fmt.Errorf("%w: %w", store.ErrReadOnly, err)
	}
	return err
}
