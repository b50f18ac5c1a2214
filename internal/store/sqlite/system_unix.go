//go:build unix

package sqlite

import (
	"errors"
	"io/fs"
	"os"

	"golang.org/x/sys/unix"
)

// lockNow locks a file for this process alone; the system lets go when the process
// ends, however it ends. false: somebody else holds it.
func lockNow(f *os.File) (bool, error) {
	err := unix.Flock(int(f.Fd()), unix.LOCK_EX|unix.LOCK_NB)
	if errors.Is(err, unix.EWOULDBLOCK) {
		return false, nil
	}
	return err == nil, err
}

// freeBytes is how much a user may still write on the disk of a folder.
func freeBytes(dir string) (uint64, bool) {
	var s unix.Statfs_t
	if err := unix.Statfs(dir, &s); err != nil {
		return 0, false
	}
	return uint64(s.Bavail) * uint64(s.Bsize), true
}

// othersMay tells whether others on the machine can look into a folder.
func othersMay(i fs.FileInfo) bool { return i.Mode().Perm()&0o077 != 0 }

// mayWrite tells whether this process may write into a folder.
func mayWrite(dir string) error { return unix.Access(dir, unix.W_OK|unix.X_OK) }
