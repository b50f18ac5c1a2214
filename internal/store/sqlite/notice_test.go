package sqlite_test

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"weephole/internal/store"
	"weephole/internal/store/sqlite"
)

func note(job, id string) store.Entry {
	return store.Entry{Job: job, ID: id, Who: "Ada", Kind: store.Noted, Body: []byte(`{"text":"smells sweet"}`)}
}

// shop opens a folder and puts one job into it.
func shop(t *testing.T, dir string) *sqlite.FileKeeper {
	t.Helper()
	k, err := sqlite.Open(t.Context(), dir, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { k.Close() })
	if _, _, err := k.Append(t.Context(), store.Entry{Job: "j", ID: "o", Kind: store.Opened, Body: []byte(`{"weephole":1}`)}); err != nil {
		t.Fatal(err)
	}
	return k
}

func TestADatabaseThatLeavesItsFolderConfirmsNothing(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("Windows refuses to move or delete open files")
	}
	file := func(dir, ending string) string { return filepath.Join(dir, sqlite.FileName+ending) }
	for name, leave := range map[string]func(dir string) error{
		"the folder is deleted":     os.RemoveAll,
		"the folder is moved":       func(dir string) error { return os.Rename(dir, dir+"-moved") },
		"the database is moved":     func(dir string) error { return os.Rename(file(dir, ""), filepath.Join(dir, "elsewhere.db")) },
		"the log is deleted":        func(dir string) error { return os.Remove(file(dir, "-wal")) },
		"the shared index is moved": func(dir string) error { return os.Rename(file(dir, "-shm"), filepath.Join(dir, "x")) },
		"the database is replaced": func(dir string) error {
			data, err := os.ReadFile(file(dir, ""))
			if err != nil {
				return err
			}
			if err := os.WriteFile(file(dir, ".new"), data, 0o600); err != nil {
				return err
			}
			return os.Rename(file(dir, ".new"), file(dir, ""))
		},
	} {
		t.Run(name, func(t *testing.T) {
			dir := filepath.Join(t.TempDir(), "data")
			k := shop(t, dir)
			if err := leave(dir); err != nil {
				t.Fatal(err)
			}
			if _, _, err := k.Append(t.Context(), note("j", "n")); !errors.Is(err, store.ErrGone) {
				t.Errorf("an entry: %v", err)
			}
			if _, err := k.PutFile(t.Context(), "j", store.File{Name: "x.csv"}, nil); !errors.Is(err, store.ErrGone) {
				t.Errorf("a file: %v", err)
			}
			if err := k.Check(t.Context()); !errors.Is(err, store.ErrGone) {
				t.Errorf("Check: %v", err)
			}
		})
	}
}

func TestAFolderMovedBackGoesOn(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("Windows refuses to move open files")
	}
	dir := filepath.Join(t.TempDir(), "data")
	k := shop(t, dir)
	for _, way := range [][2]string{{dir, dir + "-x"}, {dir + "-x", dir}} {
		if err := os.Rename(way[0], way[1]); err != nil {
			t.Fatal(err)
		}
		_, _, err := k.Append(t.Context(), note("j", "n"))
		if away := way[1] != dir; errors.Is(err, store.ErrGone) != away {
			t.Errorf("moved to %s: %v", way[1], err)
		}
	}
	if list, err := k.Entries(t.Context(), "j", 0); err != nil || len(list) != 2 {
		t.Errorf("%d entries, %v", len(list), err)
	}
}

// spoil writes rubbish over the middle page of a closed database.
func spoil(t *testing.T, dir string) {
	t.Helper()
	k := shop(t, dir)
	for i := range 60 {
		e := note("j", fmt.Sprint("n", i))
		e.Body = []byte(`{"filler":"` + strings.Repeat("long ", 400) + `"}`)
		if _, _, err := k.Append(t.Context(), e); err != nil {
			t.Fatal(err)
		}
	}
	if err := k.Close(); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(dir, sqlite.FileName)
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	const page = 4096
	at := len(data) / page / 2 * page
	copy(data[at:], bytes.Repeat([]byte{0xA5}, page))
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
}

func TestADamagedPageIsNoticedAtTheStart(t *testing.T) {
	dir := t.TempDir()
	spoil(t, dir)
	k, err := sqlite.Open(t.Context(), dir, time.Now)
	if err != nil {
		if !errors.Is(err, store.ErrDamaged) {
			t.Errorf("opening: %v", err)
		}
		return
	}
	defer k.Close()
	if err := k.Check(t.Context()); !errors.Is(err, store.ErrDamaged) {
		t.Errorf("Check: %v", err)
	}
	if _, _, err := k.Append(t.Context(), note("j", "late")); !errors.Is(err, store.ErrDamaged) {
		t.Errorf("an entry: %v", err)
	}
	if _, err := k.Job(t.Context(), "j"); err != nil {
		t.Errorf("what is whole can be read: %v", err)
	}
}

func TestDamageWhileOpenIsNoticedByTheNextLook(t *testing.T) {
	dir := t.TempDir()
	spoil(t, dir)
	bad, err := os.ReadFile(filepath.Join(dir, sqlite.FileName))
	if err != nil {
		t.Fatal(err)
	}
	whole := t.TempDir()
	shop(t, whole).Close()
	k, err := sqlite.Open(t.Context(), whole, time.Now, sqlite.LookEvery(time.Millisecond))
	if err != nil {
		t.Fatal(err)
	}
	defer k.Close()
	if err := os.WriteFile(filepath.Join(whole, sqlite.FileName), bad, 0o600); err != nil { // over it, the same file
		t.Fatal(err)
	}
	for k.Check(t.Context()) == nil { // ends with the look that sees it; the test's own limit bounds it
		time.Sleep(time.Millisecond)
	}
	if err := k.Check(t.Context()); !errors.Is(err, store.ErrDamaged) {
		t.Errorf("Check: %v", err)
	}
}

func TestASecondBenchIsToldWhoHasTheFolder(t *testing.T) {
	dir := t.TempDir()
	k, err := sqlite.Open(t.Context(), dir, time.Now, sqlite.As("the bench at 127.0.0.1:8470"))
	if err != nil {
		t.Fatal(err)
	}
	_, err = sqlite.Open(t.Context(), dir, time.Now)
	if !errors.Is(err, store.ErrInUse) || !strings.Contains(err.Error(), "127.0.0.1:8470") || !strings.Contains(err.Error(), fmt.Sprint(os.Getpid())) {
		t.Errorf("the second: %v", err)
	}
	if err := k.Close(); err != nil {
		t.Fatal(err)
	}
	shop(t, dir)
}

func TestCheckWritesNothing(t *testing.T) {
	dir := t.TempDir()
	k := shop(t, dir)
	before := sums(t, dir)
	for range 20 {
		if err := k.Check(t.Context()); err != nil {
			t.Fatal(err)
		}
	}
	after := sums(t, dir)
	for name, sum := range before {
		if !strings.HasSuffix(name, "-shm") && after[name] != sum {
			t.Errorf("%s was changed", name)
		}
	}
}

// sums are checksums of a folder's files.
func sums(t *testing.T, dir string) map[string][32]byte {
	t.Helper()
	out := map[string][32]byte{}
	list, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range list {
		if e.IsDir() {
			continue
		}
		data, err := os.ReadFile(filepath.Join(dir, e.Name()))
		if err != nil {
			t.Fatal(err)
		}
		out[e.Name()] = sha256.Sum256(data)
	}
	return out
}

func TestTheDataFolderIsPrivateOrRefused(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("modes say nothing on Windows")
	}
	made := filepath.Join(t.TempDir(), "made", "here")
	shop(t, made)
	ours := t.TempDir()
	chmod(t, ours, 0o755)
	shop(t, ours)
	for _, dir := range []string{made, ours} {
		if i, err := os.Stat(dir); err != nil || i.Mode().Perm() != 0o700 {
			t.Errorf("%s has mode %v, %v", dir, i.Mode(), err)
		}
		if i, err := os.Stat(filepath.Join(dir, sqlite.FileName)); err != nil || i.Mode().Perm() != 0o600 {
			t.Errorf("the database has mode %v, %v", i.Mode(), err)
		}
	}
	theirs := t.TempDir()
	chmod(t, theirs, 0o755)
	if err := os.WriteFile(filepath.Join(theirs, "letter.txt"), nil, 0o644); err != nil {
		t.Fatal(err)
	}
	if _, err := sqlite.Open(t.Context(), theirs, time.Now); !errors.Is(err, store.ErrOpen) || !strings.Contains(err.Error(), "--shared") {
		t.Errorf("a folder with other things, open to others: %v", err)
	}
	if i, _ := os.Stat(theirs); i.Mode().Perm() != 0o755 {
		t.Errorf("its mode was changed to %v", i.Mode())
	}
	k, err := sqlite.Open(t.Context(), theirs, time.Now, sqlite.Shared())
	if err != nil {
		t.Fatalf("with --shared: %v", err)
	}
	k.Close()
}

func chmod(t *testing.T, dir string, mode fs.FileMode) {
	t.Helper()
	if err := os.Chmod(dir, mode); err != nil {
		t.Fatal(err)
	}
}

func TestALogWithoutItsDatabaseIsNotOverwritten(t *testing.T) {
	dir := t.TempDir()
	log := filepath.Join(dir, sqlite.FileName+"-wal")
	if err := os.WriteFile(log, []byte("confirmed entries"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := sqlite.Open(t.Context(), dir, time.Now); !errors.Is(err, store.ErrDamaged) {
		t.Errorf("opening: %v", err)
	}
	if data, err := os.ReadFile(log); err != nil || string(data) != "confirmed entries" {
		t.Errorf("the log: %q, %v", data, err)
	}
}
