// Package atomicfile writes a file whole or not at all.
//
// Problem: a full disk, a pulled cable or a failure half-way must not leave half a
// letter behind, nor destroy the file that stood there before.
// Model: the content is written to a temporary file in the same folder, brought to
// the disk (fsync), and renamed over the name; a rename within one folder is atomic
// on the file systems that the program runs on.
// Assumptions: the folder is there and can be written to.
// Where it stops being true: the folder's own entry is not synced, so after a power
// cut the old file may still stand there, whole.
package atomicfile

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
)

// WriteFile makes the file hold the data, or leaves it as it was.
func WriteFile(name string, data []byte, perm os.FileMode) error {
	return Write(name, perm, func(w io.Writer) error { _, err := w.Write(data); return err })
}

// Write makes the file hold what fill writes. If anything fails, the file is as it
// was before, and no temporary file is left.
func Write(name string, perm os.FileMode, fill func(io.Writer) error) (err error) {
	// Through a link the file that it points to is replaced, not the link. Devices
	// and pipes cannot be replaced; they are written to as they are.
	if at, err := filepath.EvalSymlinks(name); err == nil {
		name = at
	}
	if info, err := os.Stat(name); err == nil && !info.Mode().IsRegular() && !info.IsDir() {
		f, err := os.OpenFile(name, os.O_WRONLY, 0)
		if err != nil {
			return err
		}
		defer f.Close()
		return fill(f)
	}
	f, err := os.CreateTemp(filepath.Dir(name), "."+filepath.Base(name)+".*")
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			f.Close()
			os.Remove(f.Name())
		}
	}()
	if err := fill(f); err != nil {
		return err
	}
	if err := f.Chmod(perm); err != nil {
		return err
	}
	if err := f.Sync(); err != nil {
		return fmt.Errorf("write %s: %w", name, err)
	}
	if err := f.Close(); err != nil {
		return err
	}
	return os.Rename(f.Name(), name)
}
