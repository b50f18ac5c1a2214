package web_test

import (
	"context"
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"weephole/internal/store"
	"weephole/internal/store/pgtest"
	"weephole/internal/web"
)

// busyStore is a store shared with other benches, on which asking who works out an
// answer takes as long as the test wants.
type busyStore struct {
	store.Store
	release chan struct{}
}

func (b *busyStore) Follow(ctx context.Context, _ func(store.Change)) { <-ctx.Done() }

func (b *busyStore) Claim(ctx context.Context, _ string, _ int64, _ time.Duration) (bool, error) {
	select {
	case <-b.release:
		return true, nil
	case <-ctx.Done():
		return false, ctx.Err()
	}
}

func TestAnEntryIsConfirmedBeforeItsJobIsWorkedOut(t *testing.T) {
	b := &busyStore{release: make(chan struct{})}
	l := lay(t, func(c *web.Config) { b.Store, c.Store = c.Store, b })
	var ids []string
	for range 2 * readers {
		ids = append(ids, l.job(hotCar))
	}
	for _, id := range ids {
		l.found(id, `{"check":"level-cold","found":"low"}`)
		l.must("POST", "/api/jobs/"+id+"/notes", `{"text":"by the heater"}`, nil)
	}
	close(b.release)
	var odds web.OddsReply
	l.must("GET", "/api/jobs/"+ids[0]+"/odds", nil, &odds)
	if odds.Seq != 2 {
		t.Errorf("the odds take in entry %d, want 2", odds.Seq)
	}
}

// readers is more than the places for reading jobs again.
const readers = 4

// Four people type into two jobs on a line of 200 ms there and back, and each sends
// an entry a second time, as a device does that has heard no answer.
func TestABenchOnASlowLineLosesNothingAndKeepsNothingTwice(t *testing.T) {
	if os.Getenv("WEEPHOLE_ALL") == "" {
		t.Skip("a minute of waiting; WEEPHOLE_ALL=1 runs it")
	}
	server := postgresql.For(t)
	address := server.Database(t)
	line := pgtest.SlowLine(t, server.Host(), 100*time.Millisecond)
	l := lay(t, onServer(t, strings.Replace(address, server.Host(), line, 1)))
	jobs := []string{l.job(hotCar), l.job(hotCar)}
	const people, each = 4, 3
	var wg sync.WaitGroup
	var mu sync.Mutex
	var longest time.Duration
	for p := range people {
		wg.Go(func() {
			id := jobs[p%len(jobs)]
			for i := range each {
				began, key := time.Now(), fmt.Sprintf("p%d-%d", p, i)
				for confirmed, tries := 0, 0; confirmed < 2; tries++ {
					var f web.Failure
					status := l.ask("POST", "/api/jobs/"+id+"/findings", `{"check":"level-cold","found":"low"}`, &f, "Idempotency-Key", key)
					if status < 300 {
						confirmed++
					} else if !f.Error.Retry || tries == 20 { // not confirmed is said so, and the device sends again
						t.Errorf("%s: %d %+v", key, status, f)
						return
					}
				}
				mu.Lock()
				longest = max(longest, time.Since(began)/2)
				mu.Unlock()
			}
		})
	}
	wg.Wait()
	for _, id := range jobs {
		times := map[string]int{}
		for i, e := range l.entries(id) {
			times[e.ID]++
			if e.Seq != int64(i+1) {
				t.Errorf("%s: entry %d has number %d", id, i+1, e.Seq)
			}
		}
		if len(times) != 1+people*each/len(jobs) {
			t.Errorf("%s: %d entries", id, len(times))
		}
		for key, n := range times {
			if n != 1 {
				t.Errorf("%s is there %d times", key, n)
			}
		}
	}
	t.Logf("200 ms there and back: the slowest of %d entries took %v", people*each, longest.Round(10*time.Millisecond))
}

// The disk under the database is a small one of its own, where the machine lets the
// test make one.
func TestABenchOnAFullDatabaseSaysSoAndGoesOnWhenThereIsRoom(t *testing.T) {
	server := pgtest.Own(t) // it is ended with its disk
	address := server.Database(t)
	disk := server.SmallDisk(t, 2<<20)
	if disk == "" {
		t.Skip("this machine lets no test make a small disk")
	}
	l := lay(t, onServer(t, address))
	id := l.job(hotCar)
	server.Exec(t, address, "CREATE TABLESPACE small LOCATION '"+disk+"'")
	server.Exec(t, address, "ALTER TABLE entries SET TABLESPACE small")
	server.Exec(t, address, "ALTER TABLE entries ALTER COLUMN body SET STORAGE EXTERNAL")
	note := func(i int) (int, web.Failure) {
		var f web.Failure
		text := fmt.Sprint(i, strings.Repeat("𝄞", 1900)) // four bytes each
		return l.ask("POST", "/api/jobs/"+id+"/notes", fmt.Sprintf(`{"text":%q}`, text), &f, "Idempotency-Key", fmt.Sprint("n", i)), f
	}
	kept := 0
	for ; kept < 2000; kept++ {
		status, f := note(kept)
		if status < 300 {
			continue
		}
		if status != http.StatusInsufficientStorage || !f.Error.Retry || !strings.Contains(f.Error.Message, "the disk is full on the database server") {
			t.Fatalf("after %d notes: %d %+v", kept, status, f)
		}
		break
	}
	if kept == 0 || kept == 2000 {
		t.Fatalf("%d notes fitted on the disk", kept)
	}
	if n := len(l.entries(id)); n != kept+1 {
		t.Errorf("%d entries, %d notes confirmed", n, kept)
	}
	l.page("/jobs/" + id) // reading goes on
	if err := os.Remove(filepath.Join(filepath.Dir(disk), "ballast")); err != nil {
		t.Fatal(err)
	}
	if status, f := note(kept); status >= 300 {
		t.Errorf("when there is room again: %d %+v", status, f)
	}
	if n := len(l.entries(id)); n != kept+2 {
		t.Errorf("%d entries at the end, want %d", n, kept+2)
	}
}
