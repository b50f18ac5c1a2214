package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"weephole/internal/exit"
	"weephole/internal/store"
	"weephole/internal/store/postgres"
	"weephole/internal/store/sqlite"
)

// contents is all that a store tells of what it holds, in the form in which it is asked.
func contents(t *testing.T, k store.Store) map[string]any {
	t.Helper()
	out := map[string]any{}
	put := func(what string, v any, err error) {
		t.Helper()
		if errors.Is(err, store.ErrUnknown) {
			return
		}
		if err != nil {
			t.Fatalf("%s: %v", what, err)
		}
		text, err := json.Marshal(v)
		if err != nil {
			t.Fatal(err)
		}
		out[what] = string(text)
	}
	for _, archived := range []bool{false, true} {
		jobs, err := k.Jobs(t.Context(), store.Query{Archived: archived, Limit: 1000})
		put(fmt.Sprint("jobs, archived ", archived), jobs, err)
		for _, j := range jobs {
			entries, err := k.Entries(t.Context(), j.ID, 0)
			put(j.ID+" entries", entries, err)
			answer, err := k.Answer(t.Context(), j.ID)
			put(j.ID+" answer", answer, err)
			files, err := k.Files(t.Context(), j.ID)
			put(j.ID+" files", files, err)
			for _, f := range files {
				_, content, err := k.File(t.Context(), j.ID, f.Name)
				put(j.ID+" file "+f.Name, content, err)
			}
		}
	}
	for _, key := range []string{"shop", "logo", "passphrase", "units"} {
		value, err := k.Setting(t.Context(), key)
		put("setting "+key, value, err)
	}
	people, err := k.People(t.Context())
	put("people", people, err)
	for _, p := range people {
		put("the secret of "+p.Name, p.Secret, nil)
	}
	sessions, err := k.Sessions(t.Context(), time.Now())
	for i := range sessions {
		sessions[i].Shop = "" // the one of a folder is called ""
	}
	put("sessions", sessions, err)
	lines, err := k.TallyLines(t.Context())
	put("tally", lines, err)
	return out
}

// inFolder is what a data folder holds, and onServer what a database does.
func inFolder(t *testing.T, dir string) map[string]any {
	t.Helper()
	k, err := sqlite.Open(t.Context(), dir, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	defer k.Close()
	return contents(t, k)
}

func onServer(t *testing.T, address string) map[string]any {
	t.Helper()
	k, err := postgres.Open(t.Context(), address, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	defer k.Close()
	return contents(t, k)
}

func TestABackupOfEitherStoreIsRestoredIntoEitherWithEverything(t *testing.T) {
	dir := t.TempDir()
	in := func(name string) string { return filepath.Join(dir, name) }
	address, other := postgresAt(t), postgresAt(t)
	fill(t, in("here"), 3)
	k, err := sqlite.Open(t.Context(), in("here"), time.Now)
	if err != nil {
		t.Fatal(err)
	}
	for _, err := range []error{k.Set(t.Context(), "shop", `{"name":"North"}`), k.Set(t.Context(), "logo", "cGljdHVyZQ"), k.Set(t.Context(), "passphrase", "a hash")} {
		if err != nil {
			t.Fatal(err)
		}
	}
	if _, _, err := k.Append(t.Context(), store.Entry{Job: "job-001", ID: "away", Kind: store.Archived}); err != nil {
		t.Fatal(err)
	}
	if _, _, err := k.RemoveFile(t.Context(), store.Entry{Job: "job-002", ID: "gone"}, "a.csv"); err != nil {
		t.Fatal(err)
	}
	if err := k.Close(); err != nil {
		t.Fatal(err)
	}
	want := inFolder(t, in("here"))
	if len(want) < 20 {
		t.Fatalf("the folder holds only %d things", len(want))
	}
	must(t, "backup", in("folder.db"), "--data", in("here"))
	const all = "3 jobs, 11 entries, 8 logs and photos, 2 lines of the tally, 4 settings, 1 person, 1 device let in"
	for _, step := range []struct {
		name   string
		args   []string
		result func() map[string]any
	}{
		{"a folder's into a server", []string{"restore", in("folder.db"), "--store", address}, func() map[string]any { return onServer(t, address) }},
		{"a server's", []string{"backup", in("server.db"), "--store", address}, nil},
		{"a server's into a folder", []string{"restore", in("server.db"), "--data", in("back")}, func() map[string]any { return inFolder(t, in("back")) }},
		{"a server's into another", []string{"restore", in("server.db"), "--store", other}, func() map[string]any { return onServer(t, other) }},
		{"a folder's into another", []string{"restore", in("folder.db"), "--data", in("copy")}, func() map[string]any { return inFolder(t, in("copy")) }},
	} {
		out := must(t, step.args...)
		if step.result == nil {
			continue
		}
		if !strings.Contains(out, all) {
			t.Errorf("%s: it says %q", step.name, out)
		}
		if d := cmp.Diff(want, step.result()); d != "" {
			t.Errorf("%s (-want +got):\n%s", step.name, d)
		}
	}
}

// A backup of an older program is brought up to date on its way, whichever store it
// is for.
func TestBackupsOfOlderProgramsAreRestoredIntoAServer(t *testing.T) {
	for _, name := range []string{"schema1.db", "schema5.db"} { // the first takes every step, the other holds people
		file := filepath.Join("../../internal/store/sqlite/testdata", name)
		address, dir := postgresAt(t), filepath.Join(t.TempDir(), "data")
		must(t, "restore", file, "--store", address)
		must(t, "restore", file, "--data", dir)
		want := inFolder(t, dir)
		if d := cmp.Diff(want, onServer(t, address)); d != "" || len(want) < 5 {
			t.Errorf("%s, %d things (-folder +server):\n%s", name, len(want), d)
		}
	}
}

func TestARestoreIntoAServerRefusesWhatIsNoBackupAndTouchesNothing(t *testing.T) {
	address := postgresAt(t)
	junk := filepath.Join(t.TempDir(), "junk.db")
	if err := os.WriteFile(junk, []byte(strings.Repeat("no database ", 500)), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, file := range []string{junk, filepath.Join(t.TempDir(), "none.db"), t.TempDir()} {
		if status, out, errs := call(t, "restore", file, "--store", address); status != exit.Input {
			t.Errorf("%s: %d %s%s", file, status, out, errs)
		}
	}
	if err := pg.For(t).Try(address, "SELECT 1 FROM jobs"); err == nil {
		t.Error("it made tables")
	}
}
