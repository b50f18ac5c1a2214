package sqlite_test

import (
	"errors"
	"os"
	"path/filepath"
	"testing"
	"time"

	"weephole/internal/store"
	"weephole/internal/store/sqlite"
	"weephole/internal/store/storetest"
)

func openIn(t *testing.T, dir string, now func() time.Time) *sqlite.FileKeeper {
	t.Helper()
	k, err := sqlite.Open(t.Context(), dir, now)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := k.Close(); err != nil {
			t.Error(err)
		}
	})
	return k
}

func TestSQLiteKeepsThePromisesOfAStore(t *testing.T) {
	storetest.Run(t, func(t *testing.T, clock *storetest.Clock) store.Store {
		return openIn(t, t.TempDir(), clock.Now)
	})
}

func TestABackupIsRestoredIntoAnEmptyFolderOnly(t *testing.T) {
	dir, out := t.TempDir(), filepath.Join(t.TempDir(), "backup.db")
	k := openIn(t, dir, time.Now)
	if _, _, err := k.Append(t.Context(), store.Entry{Job: "j", ID: "o", Kind: store.Opened, Body: []byte(`{"weephole":1}`)}); err != nil {
		t.Fatal(err)
	}
	if err := sqlite.Backup(t.Context(), dir, out); err != nil { // as another process would, with the server running
		t.Fatal(err)
	}
	empty := filepath.Join(t.TempDir(), "new")
	if _, err := sqlite.Restore(t.Context(), out, empty); err != nil {
		t.Fatal(err)
	}
	if _, err := openIn(t, empty, time.Now).Job(t.Context(), "j"); err != nil {
		t.Errorf("the restored job: %v", err)
	}
	if _, err := sqlite.Restore(t.Context(), out, dir); err == nil {
		t.Error("a backup was restored over a database")
	}
	junk := filepath.Join(t.TempDir(), "junk.db")
	if err := os.WriteFile(junk, []byte("this is no database, but it is long enough to be looked at as one"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := sqlite.Restore(t.Context(), junk, filepath.Join(t.TempDir(), "x")); !errors.Is(err, store.ErrDamaged) {
		t.Errorf("restoring junk: %v", err)
	}
}

func TestAFolderThatIsNoneIsRefusedPlainly(t *testing.T) {
	file := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := sqlite.Open(t.Context(), filepath.Join(file, "data"), time.Now); !errors.Is(err, store.ErrReadOnly) {
		t.Errorf("opening below a file: %v", err)
	}
}
