package postgres_test

import (
	"fmt"
	"os"
	"slices"
	"sync"
	"testing"
	"time"

	"weephole/internal/store"
)

// How lists and searches grow with jobs, ten shops in one database; for the report in
// docs/scale.md. It measures and promises nothing. WEEPHOLE_LOAD=1 runs it.
func TestGrowthWithJobs(t *testing.T) {
	if os.Getenv("WEEPHOLE_LOAD") == "" {
		t.Skip("WEEPHOLE_LOAD is not set")
	}
	address := ordinary(t)
	k, north, _ := group(t, address)
	for i := range 8 {
		if err := k.AddShop(t.Context(), store.Shop{ID: fmt.Sprint("shop-", i)}); err != nil {
			t.Fatal(err)
		}
	}
	have := 0
	for _, all := range []int{1_000, 10_000, 100_000} {
		// A twentieth is in hand, the rest in the archive; texts as long as real ones.
		server.Exec(t, address[:len("postgres://")]+"weephole"+address[len("postgres://bench"):], fmt.Sprintf(`INSERT INTO jobs (shop, id, name, car, complaint, search, findings, seq, archived, changed)
			SELECT (ARRAY['north','south','shop-0','shop-1','shop-2','shop-3','shop-4','shop-5','shop-6','shop-7'])[1 + i %% 10], 'g' || i, 'job ' || i, 'estate ' || i, 'hot in town',
			'job ' || i || ' estate ' || i || ' hot in town gets hot on the hill and loses coolant ' || md5(i::text) || repeat(' smells sweet by the heater', 8), 9, 12, CASE WHEN i %% 20 < 2 THEN 0 ELSE 1 END, 1700000000000 + i
			FROM generate_series(%d, %d) AS i`, have, all-1))
		server.Exec(t, address[:len("postgres://")]+"weephole"+address[len("postgres://bench"):], "ANALYZE jobs")
		have = all
		var closed []store.ByCause // as many as the catalogue has of fans
		for _, id := range []string{"fan-dead", "fan-never-stops", "fan-clutch-slipping", "shroud-missing", "fan-reversed", "radiator-screened", "air-guide-missing", "belt-slips"} {
			closed = append(closed, store.ByCause{Cause: id, Words: "nowhere"})
		}
		shops, err := k.All(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		for _, q := range []struct {
			name string
			q    store.Query
		}{
			{"list in hand", store.Query{}}, {"list of the archive", store.Query{Archived: true}},
			{"search, one found", store.Query{Words: fmt.Sprint("estate ", all-10), Archived: true}}, {"search, none found", store.Query{Words: "sweet nowhere", Archived: true}},
			{"search by a cause's name, none found", store.Query{Words: "fan nowhere", Archived: true, Closed: closed}},
			{"last page", store.Query{Archived: true, From: max(0, all/10*9/10-200)}},
		} {
			var took []time.Duration
			n := 0
			for range 40 {
				began := time.Now()
				list, err := north.Jobs(t.Context(), q.q)
				if err != nil {
					t.Fatal(err)
				}
				took, n = append(took, time.Since(began)), len(list)
			}
			slices.Sort(took)
			t.Logf("%d jobs in all, a tenth of them here: %s (%d jobs): median %v, 95th percentile %v", all, q.name, n, took[20].Round(100*time.Microsecond), took[37].Round(100*time.Microsecond))
			took = nil
			for range 20 { // all shops of somebody who belongs to each, four at once as a bench asks them
				began := time.Now()
				places := make(chan struct{}, 4)
				var wg sync.WaitGroup
				for _, s := range shops {
					wg.Go(func() {
						places <- struct{}{}
						defer func() { <-places }()
						in, err := k.In(t.Context(), s.ID)
						if err == nil {
							_, err = in.Jobs(t.Context(), q.q)
						}
						if err != nil {
							t.Error(err)
						}
					})
				}
				wg.Wait()
				took = append(took, time.Since(began))
			}
			slices.Sort(took)
			t.Logf("%d jobs in all, in all %d shops: %s: median %v, 95th percentile %v", all, len(shops), q.name, took[10].Round(100*time.Microsecond), took[18].Round(100*time.Microsecond))
		}
	}
}
