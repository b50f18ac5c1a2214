package web_test

import (
	"errors"
	"fmt"
	"net/url"
	"os"
	"runtime"
	"slices"
	"sync"
	"testing"
	"time"

	"weephole/internal/store"
	"weephole/internal/store/postgres"
	"weephole/internal/web"
	"weephole/internal/web/answers"
)

// asServed gives a test the threads that a bench runs with.
func asServed(t *testing.T) {
	before := runtime.GOMAXPROCS(answers.Threads(runtime.GOMAXPROCS(0)))
	t.Cleanup(func() { runtime.GOMAXPROCS(before) })
}

// Two hundred people of ten shops on two benches and one database, for the report in
// docs/scale.md. It measures, and promises only that nothing is lost.
// WEEPHOLE_LOAD=1 runs it.
func TestLoadOfTenShops(t *testing.T) {
	if os.Getenv("WEEPHOLE_LOAD") == "" {
		t.Skip("WEEPHOLE_LOAD is not set")
	}
	asServed(t)
	address := postgresql.For(t).Ordinary(t)
	const shops, people, each, pause = 10, 20, 6, 10 * time.Second
	var benches [2]*laid
	var keepers [2]*postgres.ServerKeeper
	for i := range benches {
		var err error
		if keepers[i], err = postgres.Open(t.Context(), address, time.Now); err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { keepers[i].Close() })
		benches[i] = lay(t, func(c *web.Config) { c.Store, c.Guarded = keepers[i], true })
	}
	// One login for each shop and bench: a slow hash for each of 200 is not what is measured.
	visitors := map[string]*visitor{}
	for i := range shops {
		id := fmt.Sprint("shop-", i)
		err := keepers[0].AddShop(t.Context(), store.Shop{ID: id})
		in, err2 := keepers[0].InShop(t.Context(), id)
		if err := errors.Join(err, err2); err != nil {
			t.Fatal(err)
		}
		for b, l := range benches {
			path, err := web.Invite(t.Context(), in, "", store.Mechanic, time.Now())
			if err != nil {
				t.Fatal(err)
			}
			v := l.visitor()
			if status, page := v.do("POST", path, url.Values{"name": {fmt.Sprint("Ada ", b)}, "secret": {ownSecret}}); status != 303 {
				t.Fatalf("%d %s", status, page)
			}
			visitors[fmt.Sprint(i, b)] = v
		}
	}
	var mu sync.Mutex
	var took []time.Duration
	confirmed := map[string]int{}
	var wg sync.WaitGroup
	for s := range shops {
		for p := range people {
			wg.Go(func() {
				v := visitors[fmt.Sprint(s, p%2)]
				job := fmt.Sprintf("job-%d-%d", s, p)
				time.Sleep(pause * time.Duration(p) / people)
				for i := range each {
					began := time.Now()
					switch i {
					case 0:
						v.gives("POST", "/api/jobs", hotCar, nil, "Idempotency-Key", job)
					case 1:
						v.gives("POST", "/api/jobs/"+job+"/findings", `{"check":"level-cold","found":"low"}`, nil)
					default:
						v.gives("POST", "/api/jobs/"+job+"/notes", `{"text":"by the heater"}`, nil)
					}
					mu.Lock()
					took = append(took, time.Since(began))
					confirmed[job]++
					mu.Unlock()
					time.Sleep(pause - min(pause, time.Since(began)))
				}
			})
		}
	}
	wg.Wait()
	for s := range shops {
		in, err := keepers[0].InShop(t.Context(), fmt.Sprint("shop-", s))
		if err != nil {
			t.Fatal(err)
		}
		for p := range people {
			job := fmt.Sprintf("job-%d-%d", s, p)
			if entries, err := in.Entries(t.Context(), job, 0); err != nil || len(entries) != confirmed[job] {
				t.Errorf("%s: %d entries, %d confirmed, %v", job, len(entries), confirmed[job], err)
			}
		}
	}
	var mem runtime.MemStats
	runtime.ReadMemStats(&mem)
	slices.Sort(took)
	t.Logf("%d entries of 200 people: median %v, 95th percentile %v, worst %v; heap %d MB for both benches", len(took),
		took[len(took)/2].Round(time.Millisecond), took[len(took)*95/100].Round(time.Millisecond), took[len(took)-1].Round(time.Millisecond), mem.HeapAlloc>>20)
}
