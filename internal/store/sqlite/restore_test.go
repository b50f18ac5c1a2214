package sqlite_test

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"weephole/internal/store"
	"weephole/internal/store/sqlite"
)

// crashed copies an open folder's files, as a killed bench leaves them: the newest
// entries are in the log only.
func crashed(t *testing.T, shm bool) string {
	t.Helper()
	dir, out := t.TempDir(), t.TempDir()
	k := shop(t, dir)
	if _, err := k.PutFile(t.Context(), "j", store.File{Name: "log.csv"}, []byte("time,coolant\n")); err != nil {
		t.Fatal(err)
	}
	for _, ending := range []string{"", "-wal", "-shm"} {
		if ending == "-shm" && !shm {
			continue
		}
		data, err := os.ReadFile(filepath.Join(dir, sqlite.FileName+ending))
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(out, sqlite.FileName+ending), data, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return out
}

func TestACrashedDatabaseIsRestoredWithItsLog(t *testing.T) {
	for name, shm := range map[string]bool{"all three files": true, "database and log only, as on a stick": false} {
		t.Run(name, func(t *testing.T) {
			from := crashed(t, shm)
			if err := os.WriteFile(filepath.Join(from, "tally.jsonl"), []byte(`{"tally":1,"job":"a","causes":["fan-dead"]}`+"\n"), 0o600); err != nil {
				t.Fatal(err)
			}
			before := sums(t, from)
			to := filepath.Join(t.TempDir(), "new")
			what, err := sqlite.Restore(t.Context(), filepath.Join(from, sqlite.FileName), to)
			if err != nil {
				t.Fatal(err)
			}
			if what["jobs"].Rows != 1 || what["entries"].Rows != 1 || what["files"].Rows != 1 || what["tally"].Rows != 1 {
				t.Errorf("it says: %v", what)
			}
			for file, sum := range sums(t, from) {
				if !strings.HasSuffix(file, "-shm") && before[file] != sum { // the index is made from the log
					t.Errorf("the source's %s was changed", file)
				}
			}
			k := openIn(t, to, time.Now)
			if _, content, err := k.File(t.Context(), "j", "log.csv"); err != nil || string(content) != "time,coolant\n" {
				t.Errorf("the log: %q, %v", content, err)
			}
			if lines, err := k.TallyLines(t.Context()); err != nil || len(lines) != 1 {
				t.Errorf("the tally: %s, %v", lines, err)
			}
		})
	}
}

func TestARestoreRefusesAnythingLeftOver(t *testing.T) {
	backup := filepath.Join(t.TempDir(), "b.db")
	if err := shop(t, t.TempDir()).Backup(t.Context(), backup); err != nil {
		t.Fatal(err)
	}
	for _, left := range []string{"weephole.db", "weephole.db-wal", "weephole.db-shm", "weephole.db-journal", "tally.jsonl"} {
		dir := t.TempDir()
		if err := os.WriteFile(filepath.Join(dir, left), []byte("x"), 0o600); err != nil {
			t.Fatal(err)
		}
		if _, err := sqlite.Restore(t.Context(), backup, dir); !errors.Is(err, fs.ErrExist) || !strings.Contains(err.Error(), left) {
			t.Errorf("over %s: %v", left, err)
		}
		list, _ := os.ReadDir(dir)
		for _, e := range list {
			if e.Name() != left && e.Name() != sqlite.LockName {
				t.Errorf("over %s: it left %s", left, e.Name())
			}
		}
	}
	dir := t.TempDir()
	shop(t, dir)
	if _, err := sqlite.Restore(t.Context(), backup, dir); !errors.Is(err, store.ErrInUse) {
		t.Errorf("under an open bench: %v", err)
	}
}

func TestARestoreThatFailsLeavesNothing(t *testing.T) {
	bad := t.TempDir()
	spoil(t, bad)
	to := filepath.Join(t.TempDir(), "new")
	if _, err := sqlite.Restore(t.Context(), filepath.Join(bad, sqlite.FileName), to); !errors.Is(err, store.ErrDamaged) {
		t.Errorf("a damaged backup: %v", err)
	}
	if _, err := os.Stat(to); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("the folder is there: %v", err)
	}
}

func TestABackupHoldsEverythingForItsOwnerOnly(t *testing.T) {
	dir, out := t.TempDir(), filepath.Join(t.TempDir(), "b.db")
	k := shop(t, dir)
	for _, err := range []error{
		k.Set(t.Context(), "units", "us"),
		k.PutSession(t.Context(), store.Session{Token: "phone", Who: "Bo", Expires: time.Now().Add(time.Hour)}),
		k.AddTallyLines(t.Context(), 0, []byte(`{"tally":1,"job":"a"}`)),
	} {
		if err != nil {
			t.Fatal(err)
		}
	}
	if _, err := k.PutFile(t.Context(), "j", store.File{Name: "valve.png", Type: "image/png"}, []byte("picture")); err != nil {
		t.Fatal(err)
	}
	// An older program counted one more meanwhile, in a file; a killed backup left its piece.
	if err := os.WriteFile(filepath.Join(dir, "tally.jsonl"), []byte(`{"tally":1,"job":"a"}`+"\n"+`{"tally":1,"job":"b"}`+"\n{\"tor"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(out+".weephole-part", []byte("half"), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := k.Backup(t.Context(), out); err != nil {
		t.Fatal(err)
	}
	if i, err := os.Stat(out); err != nil || i.Mode().Perm() != 0o600 {
		t.Errorf("mode %v, %v", i.Mode(), err)
	}
	if list, _ := os.ReadDir(filepath.Dir(out)); len(list) != 1 {
		t.Errorf("it left %v", list)
	}
	to := t.TempDir()
	what, err := sqlite.Restore(t.Context(), out, to)
	if err != nil {
		t.Fatal(err)
	}
	for table, want := range map[string]int{"jobs": 1, "entries": 1, "files": 1, "settings": 1, "sessions": 1, "tally": 2} {
		if what[table].Rows != want {
			t.Errorf("%d rows of %s came back, want %d", what[table].Rows, table, want)
		}
	}
}

func TestATallyFileIsTakenInOnceAndTornLinesAreSaid(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "tally.jsonl")
	text := `{"tally":1,"job":"a","causes":["fan-dead"]}` + "\n" + `{"tally":1,"jo` + "\n" + `{"tally":1,"job":"a","undone":true}` + "\n" + `{"tally":1,"job":"a","causes":["fan-dead"]}` + "\n"
	for turn := range 2 { // the second time as after a kill between the database and the renaming
		if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		k, err := sqlite.Open(t.Context(), dir, time.Now)
		if err != nil {
			t.Fatal(err)
		}
		lines, err := k.TallyLines(t.Context())
		if err != nil || len(lines) != 3 {
			t.Errorf("turn %d: lines %s, %v", turn, lines, err)
		}
		if said := strings.Join(k.Notices(), "\n"); !strings.Contains(said, ":2: this line is torn") {
			t.Errorf("turn %d: it says %q", turn, said)
		}
		if _, err := os.Stat(file); !errors.Is(err, fs.ErrNotExist) {
			t.Errorf("turn %d: the file is still there (%v)", turn, err)
		}
		if err := k.Close(); err != nil {
			t.Fatal(err)
		}
	}
}
