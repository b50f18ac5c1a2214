package web_test

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"net/http"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"weephole/internal/store"
	"weephole/internal/store/postgres"
	"weephole/internal/web"
)

// worked counts the answers that benches have worked out, by job, entry and stage.
type worked struct {
	mu sync.Mutex
	n  map[string]int
}

// countingStore is a bench's way to the shared store that counts the answers it brings.
type countingStore struct {
	*postgres.ServerKeeper
	*worked
}

func (c countingStore) KeepAnswer(ctx context.Context, job string, a store.Answer) error {
	c.mu.Lock()
	c.n[fmt.Sprint(job, " ", a.Seq, " ", a.Stage)]++
	c.mu.Unlock()
	return c.ServerKeeper.KeepAnswer(ctx, job, a)
}

// Findings come in on both benches, and both show the jobs to somebody all the time.
func TestTwoBenchesWorkOutNoAnswerTwice(t *testing.T) {
	address := postgresql.For(t).Database(t)
	w := &worked{n: map[string]int{}}
	counted := func(c *web.Config) {
		onServer(t, address)(c)
		c.Store = countingStore{c.Store.(*postgres.ServerKeeper), w}
	}
	benches := []*laid{lay(t, counted), lay(t, counted)}
	k := openServer(t, address)
	newest := map[string]int64{}
	for i := range 4 {
		id := benches[i%2].job(hotCar)
		for n, f := range []string{`{"check":"level-cold","found":"full"}`, `{"check":"fan-run","found":"runs"}`} {
			newest[id] = benches[(i+n)%2].found(id, f).Seq
			benches[0].page("/jobs/" + id)
			benches[1].page("/jobs/" + id)
		}
	}
	for id, seq := range newest {
		eventually(t, "the newest answer", func() bool {
			a, err := k.Answer(t.Context(), id)
			return err == nil && a.Seq == seq
		})
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	for what, n := range w.n {
		if n != 1 {
			t.Errorf("%s was worked out %d times", what, n)
		}
	}
	if len(w.n) < len(newest) {
		t.Errorf("only %v were counted", w.n)
	}
}

// openServer opens a store on a server for the test itself.
func openServer(t *testing.T, address string) *postgres.ServerKeeper {
	t.Helper()
	k, err := postgres.Open(t.Context(), address, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { k.Close() })
	return k
}

// listens opens a stream of a bench's news and waits until it is there.
func (v *visitor) listens(path string) (*bufio.Scanner, io.Closer) {
	v.Helper()
	req, err := http.NewRequestWithContext(v.Context(), "GET", v.server.URL+path, nil)
	if err != nil {
		v.Fatal(err)
	}
	res, err := v.client.Do(req)
	if err != nil {
		v.Fatal(err)
	}
	v.Cleanup(func() { res.Body.Close() })
	lines := bufio.NewScanner(res.Body)
	for lines.Scan() {
		if strings.HasPrefix(lines.Text(), "event: hello") {
			return lines, res.Body
		}
	}
	v.Fatalf("%s: no hello: %s", path, res.Status)
	return nil, nil
}

// The benches look for sessions that ended only once an hour here: what ends at once ends
// because the other bench told.
func TestWhoIsTakenAwayOnOneBenchIsOutOnTheOtherAtOnce(t *testing.T) {
	address := postgresql.For(t).Database(t)
	first := func(c *web.Config) {
		if err := web.SetPassphrase(t.Context(), c.Store, phrase); err != nil {
			t.Fatal(err)
		}
	}
	guarded := func(c *web.Config) { onServer(t, address)(c); c.Guarded = true }
	a := lay(t, guarded, first, web.PingEvery(time.Hour))
	b := lay(t, guarded, web.PingEvery(time.Hour))
	owner, ada, bo := a.visitor(), a.visitor(), b.visitor()
	owner.enters("", "Olga", phrase)
	ada.joins(owner, "Ada", store.Mechanic)
	bo.joins(&visitor{a, owner.client}, "Bo", store.Mechanic)
	there := &visitor{b, ada.client} // her device, on the other bench
	if status, _ := there.do("GET", "/api/jobs", nil); status != http.StatusOK {
		t.Fatalf("Ada on the other bench: %d", status)
	}
	hers, _ := there.listens("/api/events")
	his, _ := bo.listens("/api/events")
	var people []store.Person
	owner.gives("GET", "/api/people", nil, &people)
	began := time.Now()
	owner.gives("DELETE", "/api/people/"+people[0].ID, nil, nil)
	for hers.Scan() { // until it ends
	}
	if err := hers.Err(); err != nil { // her device gave up waiting for the end
		t.Errorf("her stream on the other bench: %v", err)
	}
	t.Logf("her stream on the other bench ended after %v", time.Since(began).Round(time.Millisecond))
	if status, _ := there.do("GET", "/api/jobs", nil); status != http.StatusUnauthorized {
		t.Errorf("her next request: %d", status)
	}
	owner.gives("POST", "/api/jobs", hotCar, nil)
	for his.Scan() && !strings.HasPrefix(his.Text(), "event: entry") {
	}
	if err := his.Err(); err != nil || !strings.HasPrefix(his.Text(), "event: entry") {
		t.Errorf("his stream ended with hers: %v", err)
	}
}

// News come in the order in which they were entered, each before the next is entered: a
// bench that told only now and then would tell of the last alone. How long each takes is
// written down and not judged.
func TestEachEntryIsToldOnTheOtherBenchBeforeTheNext(t *testing.T) {
	address := postgresql.For(t).Database(t)
	a, b := lay(t, onServer(t, address)), lay(t, onServer(t, address))
	id := a.job(hotCar)
	lines, _ := b.visitor().listens("/api/jobs/" + id + "/events")
	var took []time.Duration
	for i := range 20 {
		began := time.Now()
		var m web.Made
		a.must("POST", "/api/jobs/"+id+"/notes", fmt.Sprintf(`{"text":"note %d"}`, i), &m)
		want, entry, heard := regexp.MustCompile(fmt.Sprintf(`^data: .*"seq":%d\b`, m.Seq)), false, false
		for !heard && lines.Scan() {
			if text := lines.Text(); strings.HasPrefix(text, "event: ") {
				entry = text == "event: entry"
			} else {
				heard = entry && want.MatchString(text)
			}
		}
		if !heard {
			t.Fatalf("the stream ended: %v", lines.Err())
		}
		took = append(took, time.Since(began))
	}
	slices.Sort(took)
	t.Logf("from sending an entry to hearing of it on the other bench: median %v, longest %v", took[10].Round(time.Millisecond), took[19].Round(time.Millisecond))
}
