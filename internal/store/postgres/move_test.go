package postgres_test

import (
	"bytes"
	"context"
	"fmt"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"weephole/internal/store"
	"weephole/internal/store/pgtest"
	"weephole/internal/store/postgres"
	"weephole/internal/store/sqlite"
	"weephole/internal/store/sqlstore"
)

// folder is a data folder with jobs; the first has one large file, each other a few.
func folder(t *testing.T, jobs, large, each int) *sqlite.FileKeeper {
	t.Helper()
	k, err := sqlite.Open(t.Context(), filepath.Join(t.TempDir(), "data"), time.Now)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { k.Close() })
	for i := range jobs {
		id := fmt.Sprint("j", i)
		if _, _, err := k.Append(t.Context(), store.Entry{Job: id, ID: "o", Kind: store.Opened, Body: []byte(`{"weephole":1}`)}); err != nil {
			t.Fatal(err)
		}
		sizes := []int{each, each, each}
		if i == 0 {
			sizes = []int{large, each}
		}
		for n, size := range sizes {
			_, _, _, err := k.Bring(t.Context(), store.Entry{Job: id, ID: fmt.Sprint("b", n)}, store.File{Name: fmt.Sprint(n, ".png"), Type: "image/png"}, bytes.Repeat([]byte{byte(i), byte(n)}, size/2))
			if err != nil {
				t.Fatal(err)
			}
		}
		if err := k.KeepAnswer(t.Context(), id, store.Answer{Seq: 1, Stage: "fine"}); err != nil {
			t.Fatal(err)
		}
	}
	if err := k.AddTallyLines(t.Context(), 0, []byte(`{"tally":1,"job":"a"}`), []byte(`{"tally":1,"job":"b"}`)); err != nil {
		t.Fatal(err)
	}
	return k
}

// One large file alone, the jobs together, and the reading at the end each take longer
// here than a statement of a bench may.
func TestAMoveOverASlowLineEndsAndGoesOnWhereItWasBrokenOff(t *testing.T) {
	if testing.Short() {
		t.Skip("it waits for a slow line")
	}
	const rate, longest = 3 << 20, time.Second
	from := folder(t, 4, 5<<20, 800<<10) // 13 MB
	address := database(t)
	line := pgtest.NarrowLine(t, server.Host(), rate)
	open := func() *postgres.ServerKeeper {
		k, err := postgres.OpenBounded(t.Context(), strings.Replace(address, server.Host(), line.Host, 1), longest)
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { k.Close() })
		return k
	}
	to := open()
	ctx, cut := context.WithCancel(t.Context())
	defer cut()
	var last sqlstore.Progress
	if _, err := sqlstore.Move(ctx, from.Keeper, to.Keeper, func(p sqlstore.Progress) {
		if last = p; p.Bytes > 8<<20 {
			cut()
		}
	}); err == nil {
		t.Fatal("the move was not broken off")
	}
	if last.Jobs < 1 || last.Jobs == last.OfJobs || last.Bytes >= last.OfBytes {
		t.Fatalf("broken off at %+v", last)
	}
	if err := to.Moving(t.Context()); err == nil {
		t.Error("a store that was filled in part says that it is whole")
	}
	before, again := line.Up(), open()
	var steps []sqlstore.Progress
	what, err := sqlstore.Move(t.Context(), from.Keeper, again.Keeper, func(p sqlstore.Progress) { steps = append(steps, p) })
	if err != nil {
		t.Fatal(err)
	}
	if what["jobs"].Rows != 4 || what["files"].Rows != 11 || what["answers"].Rows != 4 || what["tally"].Rows != 2 {
		t.Errorf("moved: %v", what)
	}
	if first, end := steps[0], steps[len(steps)-1]; first.Bytes < last.Bytes || end.Jobs != 4 || end.Bytes != end.OfBytes {
		t.Errorf("it was broken off at %+v, went on at %+v and ended at %+v", last, first, end)
	}
	if sent, left := line.Up()-before, last.OfBytes-last.Bytes; sent > left+1<<20 {
		t.Errorf("%d bytes were left and %d were sent", left, sent)
	}
	if err := again.Moving(t.Context()); err != nil {
		t.Error(err)
	}
}

// The guards of the folder's database refuse to have a row written again.
func TestAMoveIntoAFolderGoesOnWhereItWasBrokenOff(t *testing.T) {
	from := openAt(t, database(t), time.Now)
	filled := folder(t, 3, 1<<20, 900<<10)
	if _, err := sqlstore.Move(t.Context(), filled.Keeper, from.Keeper, nil); err != nil {
		t.Fatal(err)
	}
	to, err := sqlite.Open(t.Context(), filepath.Join(t.TempDir(), "back"), time.Now)
	if err != nil {
		t.Fatal(err)
	}
	defer to.Close()
	for runs := 1; ; runs++ {
		ctx, cut := context.WithCancel(t.Context())
		n := 0
		what, err := sqlstore.Move(ctx, from.Keeper, to.Keeper, func(p sqlstore.Progress) {
			if n++; n == 2 && p.Bytes < p.OfBytes { // each run gets a little further
				cut()
			}
		})
		cut()
		if err == nil {
			if runs < 3 || what["files"].Rows != 8 {
				t.Errorf("after %d runs: %v", runs, what)
			}
			return
		}
		if runs > 20 {
			t.Fatalf("it gets no further: %v", err)
		}
	}
}

func TestAMoveThatDoesNotGiveTheSameIsToldByTheTable(t *testing.T) {
	from, address := folder(t, 2, 1000, 1000), database(t)
	to := openAt(t, address, time.Now)
	altered := false
	_, err := sqlstore.Move(t.Context(), from.Keeper, to.Keeper, func(p sqlstore.Progress) {
		if p.Jobs == p.OfJobs && !altered { // all is copied, and nothing compared yet
			altered = true
			server.Exec(t, address, "ALTER TABLE files DISABLE TRIGGER ALL")
			server.Exec(t, address, "UPDATE files SET who = 'Bo' WHERE job = 'j1' AND name = '2.png'")
		}
	})
	if !altered || err == nil || !strings.Contains(err.Error(), "table files (5 and 5 rows)") || !strings.Contains(err.Error(), "move again") {
		t.Errorf("one altered row among those that were moved: %v", err)
	}
	if err := to.Moving(t.Context()); err == nil {
		t.Error("benches may open what is not the same")
	}
}
