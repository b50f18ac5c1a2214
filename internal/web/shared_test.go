package web_test

import (
	"bufio"
	"context"
	"fmt"
	"net/http"
	"strings"
	"sync"
	"testing"
	"time"

	"weephole/internal/store"
	"weephole/internal/store/postgres"
	"weephole/internal/web"
)

// onServer has a bench keep its jobs in a database that others share.
func onServer(t *testing.T, address string) func(*web.Config) {
	t.Helper()
	return func(c *web.Config) {
		k, err := postgres.Open(t.Context(), address, time.Now)
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { k.Close() })
		c.Store = k
	}
}

func TestDevicesOfOneBenchHearWhatIsEnteredOnAnother(t *testing.T) {
	address := postgresql.For(t).Database(t)
	a, b := lay(t, onServer(t, address)), lay(t, onServer(t, address))
	id := a.job(hotCar)
	ctx, end := context.WithCancel(t.Context())
	defer end()
	req, err := http.NewRequestWithContext(ctx, "GET", b.server.URL+"/api/jobs/"+id+"/events", nil)
	if err != nil {
		t.Fatal(err)
	}
	res, err := http.DefaultClient.Do(req)
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	lines := bufio.NewScanner(res.Body)
	await := func(event string) {
		t.Helper()
		for lines.Scan() {
			if strings.HasPrefix(lines.Text(), "event: "+event) {
				return
			}
		}
		t.Fatalf("the other bench's device never heard %q", event)
	}
	await("hello")
	finding := a.found(id, `{"check":"level-cold","found":"low"}`)
	await("entry")
	await("answer") // worked out by the first bench alone, and shown by both
	// Two benches write over the same finding: neither loses anything unseen.
	path := "/api/jobs/" + id + "/findings/" + finding.ID
	b.must("PUT", path, `{"check":"level-cold","found":"full"}`, nil, "Weephole-Seen", "2")
	var f web.Failure
	if status := a.ask("PUT", path, `{"check":"level-cold","found":"empty"}`, &f, "Weephole-Seen", "2"); status != http.StatusConflict {
		t.Errorf("a correction over one that was not seen: %d %+v", status, f)
	}
	if m := strings.ToLower(f.Error.Message); !strings.Contains(m, "where it should be") || !strings.Contains(m, "you typed: “no coolant") || f.Error.Seq == 0 || !strings.Contains(string(f.Error.Standing), "full") {
		t.Errorf("the loser is not shown both: %+v", f.Error)
	}
	a.must("PUT", path, `{"check":"level-cold","found":"empty"}`, nil, "Weephole-Seen", fmt.Sprint(f.Error.Seq)) // he decides
	// The same with the head: fields that both have changed are shown, others are merged.
	head := func(words, name string) string {
		return strings.NewReplacer("Gets hot in town", words, "blue estate", name).Replace(hotCar)
	}
	b.must("PUT", "/api/jobs/"+id+"/head", head("Boils in town", "blue estate"), nil, "Weephole-Seen", "1")
	if status := a.ask("PUT", "/api/jobs/"+id+"/head", head("Steams in town", "blue estate"), &f, "Weephole-Seen", "1"); status != http.StatusConflict ||
		!strings.Contains(f.Error.Message, "Boils") || !strings.Contains(f.Error.Message, "Steams") {
		t.Errorf("a head told over one that was not seen: %d %+v", status, f)
	}
	a.must("PUT", "/api/jobs/"+id+"/head", head("Gets hot in town", "red estate"), nil, "Weephole-Seen", "1")
	var both web.JobReply
	b.must("GET", "/api/jobs/"+id, nil, &both)
	if text := string(both.Document); !strings.Contains(text, "Boils in town") || !strings.Contains(text, "red estate") {
		t.Errorf("changes of different fields on two benches: %s", text)
	}
}

// claims is a store that another bench has claimed all work on: each job's newest
// entry, from when it is first asked about, for as long as a claim lasts.
type claims struct {
	store.Store
	lone bool // there is no other bench

	mu    sync.Mutex
	until map[string]time.Time
	asked map[string]int
}

func (c *claims) Follow(ctx context.Context, _ func(store.Change)) { <-ctx.Done() }

func (c *claims) Claim(_ context.Context, job string, seq int64, lasts time.Duration) (bool, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.until == nil {
		c.until, c.asked = map[string]time.Time{}, map[string]int{}
	}
	c.asked[job]++
	key := fmt.Sprint(job, " ", seq)
	until, there := c.until[key]
	if !there {
		until = time.Now().Add(lasts)
		c.until[key] = until
	}
	return c.lone || time.Now().After(until), nil
}

func (c *claims) times(job string) int {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.asked[job]
}

// shortClaim is long enough for a test to do something meanwhile.
const shortClaim = time.Second

func TestTheWorkOfABenchThatDiedIsDoneByAnother(t *testing.T) {
	c := &claims{}
	l := lay(t, web.ClaimLasts(shortClaim), func(cfg *web.Config) { c.Store, cfg.Store = cfg.Store, c })
	id := l.job(hotCar)
	l.found(id, `{"check":"level-cold","found":"low"}`)
	l.page("/jobs/" + id) // the wait does not begin again because somebody looks
	eventually(t, "an answer that knows the finding", func() bool {
		kept, err := l.keeper.Answer(t.Context(), id)
		return err == nil && kept.Seq == 2
	})
}

func TestWhatAnotherBenchHasAnsweredIsNotWorkedOutAgain(t *testing.T) {
	c := &claims{}
	l := lay(t, web.ClaimLasts(shortClaim), func(cfg *web.Config) { c.Store, cfg.Store = cfg.Store, c })
	id := l.job(hotCar)
	eventually(t, "the claim", func() bool { return c.times(id) > 0 })
	if err := l.keeper.KeepAnswer(t.Context(), id, store.Answer{Seq: 1, Stage: "fine", Body: []byte(`{"seq":1,"stage":"fine"}`)}); err != nil {
		t.Fatal(err)
	}
	other := l.job(hotCar) // its turn comes after the first one's
	eventually(t, "the other job's turn", func() bool { return c.times(other) > 1 })
	if n := c.times(id); n != 1 {
		t.Errorf("the answered job was claimed %d times, want once", n)
	}
}

func TestABenchThatLooksAfterAnothersWorkClosesAtOnce(t *testing.T) {
	c := &claims{}
	l := lay(t, web.ClaimLasts(time.Hour), func(cfg *web.Config) { c.Store, cfg.Store = cfg.Store, c })
	id := l.job(hotCar)
	eventually(t, "the claim", func() bool { return c.times(id) > 0 })
	closed := make(chan struct{})
	go func() { l.bench.Close(); close(closed) }()
	select {
	case <-closed:
	case <-time.After(time.Minute): // the claim lasts an hour
		t.Fatal("the bench waits for the claim of another")
	}
}

// A job is left alone for a while before it is refined: longer than a claim here.
func TestABenchKeepsItsClaimWhileItWorks(t *testing.T) {
	c := &claims{lone: true}
	l := lay(t, web.ClaimLasts(100*time.Millisecond), func(cfg *web.Config) {
		c.Store, cfg.Store = cfg.Store, c
		cfg.Answers.FineSize, cfg.Answers.Quiet = 700, time.Minute
	})
	id := l.job(hotCar)
	eventually(t, "the claim to be renewed", func() bool { return c.times(id) >= 5 })
}

// eventually waits for something: a minute is far more than it takes, on a machine
// with other work too.
func eventually(t *testing.T, what string, there func() bool) {
	t.Helper()
	for began := time.Now(); !there(); time.Sleep(10 * time.Millisecond) {
		if time.Since(began) > time.Minute {
			t.Fatalf("a minute was not enough for %s", what)
		}
	}
}
