package web_test

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"os/exec"
	"strings"
	"sync"
	"testing"
	"time"

	"weephole/internal/store"
	"weephole/internal/store/pgtest"
	"weephole/internal/store/postgres"
	"weephole/internal/store/sqlite"
	"weephole/internal/web"
	"weephole/plan"
)

// childEnv turns the test's own program into a bench that is there to be killed.
const childEnv = "WEEPHOLE_TEST_BENCH"

func TestMain(m *testing.M) {
	if from := os.Getenv(childEnv); from != "" {
		fmt.Fprintln(os.Stderr, serveChild(from))
		os.Exit(1)
	}
	code := m.Run()
	postgresql.Stop()
	stopBrowser()
	os.Exit(code)
}

// postgresql is the server of the tests that need one.
var postgresql pgtest.Shared

// serveChild serves a bench from a folder, or from a database at an address, and
// prints its own address.
func serveChild(from string) error {
	model, err := knowledge()
	if err != nil {
		return err
	}
	settings, err := plan.DefaultAssumptions()
	if err != nil {
		return err
	}
	var k store.Store
	if postgres.IsAddress(from) {
		k, err = postgres.Open(context.Background(), from, time.Now)
	} else {
		k, err = sqlite.Open(context.Background(), from, time.Now)
	}
	if err != nil {
		return err
	}
	b, err := web.New(web.Config{Store: k, Model: model, Plan: settings, Answers: sizes()})
	if err != nil {
		return err
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return err
	}
	fmt.Println(l.Addr())
	return http.Serve(l, b.Handler())
}

func startChild(t *testing.T, from string) (*exec.Cmd, string) {
	t.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), childEnv+"="+from)
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	cmd.Stderr = os.Stderr
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	var address string
	if _, err := fmt.Fscanln(out, &address); err != nil {
		t.Fatalf("the bench did not start: %v", err)
	}
	return cmd, "http://" + address
}

// A bench is killed at odd moments while several devices write to it. Whatever
// was confirmed to a device is there afterwards, exactly once.
func TestKilledAtAnyMomentNothingConfirmedIsLost(t *testing.T) {
	rounds := 20
	if testing.Short() {
		rounds = 4
	}
	const devices = 6
	dir := t.TempDir()
	client := &http.Client{Timeout: 30 * time.Second}
	var id string
	confirmed := map[string]bool{} // by the entry's id
	for round := range rounds {
		cmd, url := startChild(t, dir)
		if id == "" {
			id = openAt(t, client, url)
		}
		var mu sync.Mutex
		var wg sync.WaitGroup
		for d := range devices {
			wg.Go(func() {
				for i := 0; ; i++ {
					key := fmt.Sprintf("r%d-d%d-%d", round, d, i)
					req, _ := http.NewRequest("POST", url+"/api/jobs/"+id+"/notes", strings.NewReader(`{"text":"under load"}`))
					req.Header.Set("Idempotency-Key", key)
					res, err := client.Do(req)
					if err != nil {
						return // killed
					}
					_, err = io.Copy(io.Discard, res.Body)
					res.Body.Close()
					if err != nil {
						return
					}
					if res.StatusCode == http.StatusCreated {
						mu.Lock()
						confirmed[key] = true
						mu.Unlock()
					}
				}
			})
		}
		time.Sleep(time.Duration(20+round*13) * time.Millisecond)
		if err := cmd.Process.Kill(); err != nil { // SIGKILL: nothing is cleaned up
			t.Fatal(err)
		}
		wg.Wait()
		_ = cmd.Wait() // it was killed; its status says so
	}
	k, err := sqlite.Open(t.Context(), dir, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	defer k.Close()
	entries, err := k.Entries(t.Context(), id, 0)
	if err != nil {
		t.Fatal(err)
	}
	times := map[string]int{}
	for i, e := range entries {
		times[e.ID]++
		if e.Seq != int64(i+1) {
			t.Fatalf("entry %d has number %d", i+1, e.Seq)
		}
	}
	for key := range confirmed {
		if times[key] != 1 {
			t.Errorf("confirmed entry %s is there %d times", key, times[key])
		}
	}
	if len(confirmed) < rounds {
		t.Errorf("only %d entries were confirmed in %d rounds: the load was none", len(confirmed), rounds)
	}
	t.Logf("%d kills, %d entries confirmed, %d kept", rounds, len(confirmed), len(entries)-1)
}

func openAt(t *testing.T, client *http.Client, url string) string {
	t.Helper()
	res, err := client.Post(url+"/api/jobs", "application/json", strings.NewReader(hotCar))
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	var m web.Made
	if err := json.NewDecoder(res.Body).Decode(&m); err != nil {
		t.Fatal(err)
	}
	return m.ID
}
