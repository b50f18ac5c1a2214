package postgres_test

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"weephole/internal/store"
	"weephole/internal/store/pgtest"
)

func TestOnASlowNetworkNothingIsLostAndNothingTwice(t *testing.T) {
	if testing.Short() {
		t.Skip("it waits for a slow line")
	}
	address := database(t)
	host := pgtest.SlowLine(t, server.Host(), 100*time.Millisecond) // 200 ms there and back
	k := openAt(t, strings.Replace(address, server.Host(), host, 1), time.Now)
	job(t, k)
	var wg sync.WaitGroup
	var mu sync.Mutex
	var confirmed []string
	var longest time.Duration
	for p := range 4 {
		wg.Go(func() {
			for i := range 3 {
				id, began := fmt.Sprint("p", p, "-", i), time.Now()
				if _, _, err := k.Append(t.Context(), note(id)); err != nil {
					t.Errorf("%s: %v", id, err)
					continue
				}
				mu.Lock()
				confirmed, longest = append(confirmed, id), max(longest, time.Since(began))
				mu.Unlock()
			}
		})
	}
	wg.Wait()
	whole(t, k, confirmed)
	t.Logf("200 ms there and back: the slowest of %d entries took %v", len(confirmed), longest.Round(10*time.Millisecond))
	fast := openAt(t, address, time.Now)
	news := heard(t, k)
	if _, _, err := fast.Append(t.Context(), note("news")); err != nil {
		t.Fatal(err)
	}
	await(t, news, store.Change{Job: "j", Seq: int64(len(confirmed)) + 2})
}

// The disk under the database is a small one of its own, where the machine lets the
// test make one.
func TestAFullDiskUnderTheDatabaseIsToldAndLosesNothing(t *testing.T) {
	own := pgtest.Own(t) // it is ended with its disk
	address := own.Database(t)
	disk := own.SmallDisk(t, 24<<20)
	if disk == "" {
		t.Skip("this machine lets no test make a small disk")
	}
	const name = "small"
	own.Exec(t, address, "CREATE TABLESPACE "+name+" LOCATION '"+disk+"'")
	k := openAt(t, address, time.Now)
	for _, table := range []string{"entries", "files"} {
		own.Exec(t, address, "ALTER TABLE "+table+" SET TABLESPACE "+name)
	}
	own.Exec(t, address, "ALTER TABLE files ALTER COLUMN content SET STORAGE EXTERNAL")
	job(t, k)
	var confirmed []string
	full := error(nil)
	for i := 0; full == nil && i < 60; i++ {
		id := fmt.Sprint("f", i)
		_, _, _, err := k.Bring(t.Context(), store.Entry{Job: "j", ID: id}, store.File{Name: id + ".csv", Type: "text/csv"}, make([]byte, 1<<20))
		if err != nil {
			full = err
			break
		}
		confirmed = append(confirmed, id)
	}
	if !errors.Is(full, store.ErrFull) || !strings.Contains(full.Error(), "on the database server") {
		t.Fatalf("after %d MB on a disk of 24: %v", len(confirmed), full)
	}
	whole(t, k, confirmed)
	if files, err := k.Files(t.Context(), "j"); err != nil || len(files) != len(confirmed) {
		t.Errorf("%d files for %d entries, %v", len(files), len(confirmed), err)
	}
	if err := os.Remove(filepath.Join(filepath.Dir(disk), "ballast")); err != nil {
		t.Fatal(err)
	}
	if _, _, err := k.Append(t.Context(), note("after")); err != nil {
		t.Errorf("when there is room again: %v", err)
	}
}
