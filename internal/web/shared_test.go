package web_test

import (
	"bufio"
	"context"
	"net/http"
	"os"
	"strings"
	"testing"
	"time"

	"weephole/internal/store/pgtest"
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
	server, err := pgtest.Start()
	if err != nil {
		if os.Getenv("CI") == "" {
			t.Skip(err)
		}
		t.Fatal(err)
	}
	t.Cleanup(server.Stop)
	address := server.Database(t)
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
}
