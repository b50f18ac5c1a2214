package sqlite

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"weephole/internal/store"
	"weephole/internal/store/sqlstore"
	"weephole/internal/store/storetest"
)

var update = flag.Bool("update", false, "write the database and the exported job of the newest schema into testdata")

// An old database is what a shop brings to a new program. One of each schema is
// kept; none is ever rewritten once released.
func TestDatabasesOfEverySchemaOpen(t *testing.T) {
	for _, m := range schemas(t) {
		t.Run(fmt.Sprintf("schema %d", m), func(t *testing.T) {
			kept := filepath.Join("testdata", fmt.Sprintf("schema%d.db", m))
			if _, err := os.Stat(kept); err != nil && *update {
				writeOld(t, kept, m)
			}
			dir := t.TempDir()
			if err := copyFile(kept, filepath.Join(dir, FileName)); err != nil {
				t.Fatal(err)
			}
			k, err := Open(t.Context(), dir, time.Now)
			if err != nil {
				t.Fatal(err)
			}
			defer k.Close()
			entries, err := k.Entries(t.Context(), "old", 0)
			if err != nil {
				t.Fatal(err)
			}
			state, err := store.Fold(entries)
			if err != nil {
				t.Fatal(err)
			}
			if len(state.Findings) != 2 || !state.Findings[1].Struck || string(state.Findings[0].Body) != `{"check":"level-cold","found":"low"}` {
				t.Errorf("findings: %+v", state.Findings)
			}
			if _, content, err := k.File(t.Context(), "old", "log.csv"); err != nil || string(content) != "time,coolant\n" {
				t.Errorf("file: %q, %v", content, err)
			}
			copies, _ := filepath.Glob(filepath.Join(dir, "weephole-schema*.db"))
			newest := schemas(t)[len(schemas(t))-1]
			if (m < newest) != (len(copies) == 1) {
				t.Errorf("copies made before the change: %v", copies)
			}
		})
	}
}

func TestVerdictsOfAnOlderProgramAreTakenApartIntoFacts(t *testing.T) {
	dir := t.TempDir()
	old := filepath.Join(dir, FileName)
	if err := copyFile(filepath.Join("testdata", "schema5.db"), old); err != nil {
		t.Fatal(err)
	}
	db, err := connect(old, 1, "synchronous(FULL)", "")
	if err != nil {
		t.Fatal(err)
	}
	for i, v := range storetest.OldVerdicts {
		id := fmt.Sprint("v", i)
		if _, err := db.Exec("INSERT INTO jobs SELECT ?, name, car, complaint, search, findings, seq, archived, demo, changed, shop FROM jobs WHERE id = 'old'", id); err != nil {
			t.Fatal(err)
		}
		if _, err := db.Exec("INSERT INTO answers (job, seq, stage, verdict, body) VALUES (?, 1, 'fine', ?, '{}')", id, v.Line); err != nil {
			t.Fatal(err)
		}
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	k, err := Open(t.Context(), dir, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	defer k.Close()
	for i, v := range storetest.OldVerdicts {
		sum, err := k.Job(t.Context(), fmt.Sprint("v", i))
		if d := cmp.Diff(v.Want, sum.Verdict); err != nil || d != "" {
			t.Errorf("%q, %v (-want +got):\n%s", v.Line, err, d)
		}
	}
	if _, err := k.write.Exec("UPDATE answers SET verdict = 'a line of an older bench' WHERE job = 'v2'"); err != nil {
		t.Fatal(err)
	}
	list, err := k.Jobs(t.Context(), store.Query{})
	if err != nil || len(list) != 1+len(storetest.OldVerdicts) {
		t.Errorf("beside a row that an older bench kept since: %d jobs, %v", len(list), err)
	}
}

func TestExportedJobsOfEveryVersionAreRead(t *testing.T) {
	for v := 1; v <= store.TransferVersion; v++ {
		kept := filepath.Join("testdata", fmt.Sprintf("export%d.zip", v))
		if _, err := os.Stat(kept); err != nil && *update {
			k := opened(t)
			fill(t, k)
			var out bytes.Buffer
			if err := store.Export(t.Context(), k, "old", &out); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(kept, out.Bytes(), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		data, err := os.ReadFile(kept)
		if err != nil {
			t.Fatal(err)
		}
		job, added, err := store.Import(t.Context(), opened(t), bytes.NewReader(data), int64(len(data)))
		if err != nil || job != "old" || added != 4 {
			t.Errorf("version %d: job %q, %d entries, error %v", v, job, added, err)
		}
		for cut := range 20 { // a file cut short is refused, wherever
			n := len(data) * cut / 20
			var b *store.BadTransfer
			if _, _, err := store.Import(t.Context(), opened(t), bytes.NewReader(data[:n]), int64(n)); !errors.As(err, &b) {
				t.Errorf("version %d cut at %d of %d bytes: %v", v, n, len(data), err)
			}
		}
	}
}

func TestANewerDatabaseIsRefused(t *testing.T) {
	k := opened(t)
	dir := k.dir
	if _, err := k.write.Exec("INSERT INTO goose_db_version (version_id, is_applied) VALUES (999, 1)"); err != nil {
		t.Fatal(err)
	}
	if err := k.Close(); err != nil {
		t.Fatal(err)
	}
	if _, err := Open(t.Context(), dir, time.Now); !errors.Is(err, store.ErrNewer) {
		t.Errorf("opening a newer database: %v", err)
	}
}

func TestAFullDiskIsToldAndLosesNothingKept(t *testing.T) {
	k := opened(t)
	fill(t, k)
	var pages int
	if err := k.write.QueryRow("PRAGMA page_count").Scan(&pages); err != nil {
		t.Fatal(err)
	}
	// The engine gives the same error when the file may not grow as when the
	// disk is full.
	if _, err := k.write.Exec(fmt.Sprintf("PRAGMA max_page_count = %d", pages+1)); err != nil {
		t.Fatal(err)
	}
	confirmed, refused := 0, 0
	for i := range 40 {
		body, _ := json.Marshal(map[string]string{"text": string(bytes.Repeat([]byte("long "), 200))})
		_, _, err := k.Append(t.Context(), store.Entry{Job: "old", ID: fmt.Sprint("n", i), Kind: store.Noted, Body: body})
		switch {
		case err == nil:
			confirmed++
		case errors.Is(err, store.ErrFull):
			refused++
		default:
			t.Fatalf("on a full disk: %v", err)
		}
	}
	if refused == 0 {
		t.Fatal("the disk was never full")
	}
	entries, err := k.Entries(t.Context(), "old", 0)
	if err != nil || len(entries) != 4+confirmed {
		t.Errorf("%d entries, error %v; want %d", len(entries), err, 4+confirmed)
	}
}

func TestAReadOnlyDatabaseIsTold(t *testing.T) {
	k := opened(t)
	fill(t, k)
	if _, err := k.write.Exec("PRAGMA query_only = 1"); err != nil {
		t.Fatal(err)
	}
	if err := k.Check(t.Context()); !errors.Is(err, store.ErrReadOnly) {
		t.Errorf("Check: %v", err)
	}
	if _, err := k.Entries(t.Context(), "old", 0); err != nil {
		t.Errorf("reading: %v", err)
	}
}

func TestWhatIsKeptCannotBeChangedOrTakenAway(t *testing.T) {
	k := opened(t)
	fill(t, k)
	if err := k.AddTallyLines(t.Context(), 0, json.RawMessage(`{"tally":1}`)); err != nil {
		t.Fatal(err)
	}
	for _, s := range []string{
		"UPDATE entries SET who = 'somebody else'",
		"DELETE FROM entries WHERE id = 'f1'",
		"REPLACE INTO entries SELECT job, seq, id, at, entered, 'somebody else', kind, finding, seen, body, shop FROM entries WHERE id = 'f1'",
		"INSERT OR REPLACE INTO entries SELECT job, 99, id, at, entered, who, kind, finding, seen, '{}', shop FROM entries WHERE id = 'f1'",
		"UPDATE OR REPLACE entries SET seq = 1 WHERE id = 'f1'",
		"UPDATE files SET content = x''",
		"DELETE FROM files WHERE name = 'log.csv'",
		"DELETE FROM files",
		"REPLACE INTO files SELECT job, name, type, 0, sha256, at, who, x'', shop FROM files",
		"DELETE FROM jobs",
		"REPLACE INTO jobs SELECT * FROM jobs",
		"UPDATE tally SET line = '{}'",
		"DELETE FROM tally",
		"REPLACE INTO tally VALUES (1, '{}', '')",
	} {
		for _, foreign := range []int{1, 0} {
			if _, err := k.write.Exec(fmt.Sprintf("PRAGMA foreign_keys = %d", foreign)); err != nil {
				t.Fatal(err)
			}
			if _, err := k.write.Exec(s); err == nil || !strings.Contains(err.Error(), "never") && !strings.Contains(err.Error(), "FOREIGN KEY") {
				t.Errorf("the database let this happen, or did not understand it (foreign_keys %d): %s: %v", foreign, s, err)
			}
		}
	}
	entries, err := k.Entries(t.Context(), "old", 0)
	if err != nil || len(entries) != 4 || entries[1].Who != "Ada" {
		t.Errorf("entries: %+v, %v", entries, err)
	}
}

func opened(t *testing.T) *FileKeeper {
	t.Helper()
	k, err := Open(t.Context(), t.TempDir(), time.Now)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { k.Close() })
	return k
}

func schemas(t *testing.T) []int64 {
	t.Helper()
	db, err := connect(filepath.Join(t.TempDir(), "x.db"), 1, "synchronous(FULL)", "")
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	p, err := provider(db)
	if err != nil {
		t.Fatal(err)
	}
	var out []int64
	for _, s := range p.ListSources() {
		out = append(out, s.Version)
	}
	return out
}

// fill puts the job that the old databases hold into a keeper.
func fill(t *testing.T, k *FileKeeper) {
	t.Helper()
	for _, e := range []store.Entry{
		{ID: "o", Kind: store.Opened, Body: json.RawMessage(`{"weephole":1,"job":"old one"}`)},
		{ID: "f1", Kind: store.Found, Body: json.RawMessage(`{"check":"level-cold","found":"low"}`)},
		{ID: "f2", Kind: store.Found, Body: json.RawMessage(`{"check":"belt-look","found":"fine"}`)},
		{ID: "s1", Kind: store.Struck, Finding: "f2", Body: json.RawMessage(`{"why":"wrong car"}`)},
	} {
		e.Job, e.Who, e.At = "old", "Ada", time.Date(2031, 1, 2, 3, 4, 5, 0, time.UTC)
		if _, _, err := k.Append(t.Context(), e); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := k.PutFile(t.Context(), "old", store.File{Name: "log.csv", Type: "text/csv", Who: "Ada"}, []byte("time,coolant\n")); err != nil {
		t.Fatal(err)
	}
}

// writeOld makes a database of an earlier schema, as the program of then left it.
func writeOld(t *testing.T, path string, version int64) {
	t.Helper()
	ctx := context.Background()
	k := &FileKeeper{dir: t.TempDir(), now: time.Now}
	var err error
	if k.write, err = connect(filepath.Join(k.dir, FileName), 1, "synchronous(FULL)", ""); err != nil {
		t.Fatal(err)
	}
	defer k.write.Close()
	p, err := provider(k.write)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := p.UpTo(ctx, version); err != nil {
		t.Fatal(err)
	}
	k.Keeper = sqlstore.New(sqlstore.Engine{Write: k.write, Read: k.write, Now: k.now, Explain: explain, Arrival: "rowid", Position: "instr"})
	fill(t, k)
	if err := copyInto(ctx, k.write, path); err != nil {
		t.Fatal(err)
	}
}
