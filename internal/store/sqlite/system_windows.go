package sqlite

import (
	"errors"
	"io/fs"
	"os"

	"golang.org/x/sys/windows"
)

// lockNow locks a file for this process alone, at a byte far behind its text so
// that others can read who holds it. false: somebody else holds it.
func lockNow(f *os.File) (bool, error) {
	o := windows.Overlapped{OffsetHigh: 1}
	err := windows.LockFileEx(windows.Handle(f.Fd()), windows.LOCKFILE_EXCLUSIVE_LOCK|windows.LOCKFILE_FAIL_IMMEDIATELY, 0, 1, 0, &o)
	if errors.Is(err, windows.ERROR_LOCK_VIOLATION) {
		return false, nil
	}
	return err == nil, err
}

// freeBytes is how much a user may still write on the disk of a folder.
func freeBytes(dir string) (uint64, bool) {
	name, err := windows.UTF16PtrFromString(dir)
	if err != nil {
		return 0, false
	}
	var free uint64
	err = windows.GetDiskFreeSpaceEx(name, &free, nil, nil)
	return free, err == nil
}

// othersMay cannot be told from the mode on Windows: a user's own folders are his
// there.
func othersMay(fs.FileInfo) bool { return false }

// mayWrite is left to the first write on Windows.
func mayWrite(string) error { return nil }
