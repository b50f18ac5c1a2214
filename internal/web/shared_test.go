package web_test

import (
	"bufio"
	"context"
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

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
