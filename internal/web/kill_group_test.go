package web_test

import (
	"fmt"
	"io"
	"net/http"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"weephole/internal/store/postgres"
)

// typing is people who enter into jobs through several benches, each entry under
// its own key until some bench confirms it, as devices do.
type typing struct {
	client  *http.Client
	benches [2]atomic.Pointer[string] // their addresses, which change with a new start
	jobs    []string
	stop    chan struct{}

	wait      sync.WaitGroup
	mu        sync.Mutex
	confirmed map[string]string // from an entry's key to its job
	findings  int
	again     int // entries sent again, because no bench had confirmed them
}

// enter begins with n people, every third entry of whom is a finding.
func (y *typing) enter(t *testing.T, n int) {
	for p := range n {
		y.wait.Go(func() {
			for i := 0; ; i++ {
				path, body := "notes", `{"text":"under load"}`
				if i%3 == 0 {
					path, body = "findings", `{"check":"level-cold","found":"low"}`
				}
				key, job := fmt.Sprintf("p%d-%d", p, i), y.jobs[p%len(y.jobs)]
				for try := 0; ; try++ {
					select {
					case <-y.stop:
						return
					case <-time.After(100 * time.Millisecond): // a hand's pause, and a device's before it tries again
					}
					status, said := y.send(y.benches[(p+try)%2].Load(), job, path, key, body)
					if status >= 400 && status < 500 {
						t.Errorf("%s was refused: %d %s", key, status, said)
						return
					}
					if status == http.StatusCreated || status == http.StatusOK {
						break
					}
					y.mu.Lock()
					y.again++
					y.mu.Unlock()
				}
				y.mu.Lock()
				y.confirmed[key] = job
				if path == "findings" {
					y.findings++
				}
				y.mu.Unlock()
			}
		})
	}
}

// send gives the status, 0 where no answer came.
func (y *typing) send(bench *string, job, path, key, body string) (int, string) {
	req, err := http.NewRequest("POST", *bench+"/api/jobs/"+job+"/"+path, strings.NewReader(body))
	if err != nil {
		return 0, err.Error()
	}
	req.Header.Set("Idempotency-Key", key)
	res, err := y.client.Do(req)
	if err != nil {
		return 0, err.Error()
	}
	defer res.Body.Close()
	said, err := io.ReadAll(res.Body)
	if err != nil {
		return 0, err.Error() // killed in the middle of its answer
	}
	return res.StatusCode, string(said)
}

// Twenty people type findings and notes into ten jobs on two benches with one
// database. In turn a bench is killed, the database is killed, and the database is
// restarted. Whatever was confirmed is there afterwards, exactly once.
// WEEPHOLE_KILLS says how often each.
func TestKilledBenchOrDatabaseOfAGroupLosesNothingConfirmed(t *testing.T) {
	rounds := 1
	if n, err := strconv.Atoi(os.Getenv("WEEPHOLE_KILLS")); err == nil {
		rounds = n
	}
	server := postgresql.For(t)
	address := server.Database(t)
	y := &typing{client: &http.Client{Timeout: 30 * time.Second}, stop: make(chan struct{}), confirmed: map[string]string{}}
	var benches [2]*exec.Cmd
	for b := range benches {
		cmd, url := startChild(t, address)
		benches[b] = cmd
		y.benches[b].Store(&url)
	}
	t.Cleanup(func() {
		for _, cmd := range benches {
			cmd.Process.Kill()
			_ = cmd.Wait() // it was killed; its status says so
		}
	})
	for range 10 {
		y.jobs = append(y.jobs, openAt(t, y.client, *y.benches[0].Load()))
	}
	y.enter(t, 20)
	for round := range rounds {
		b := round % 2
		time.Sleep(time.Duration(150+round%10*37) * time.Millisecond) // another moment of an entry each time
		if err := benches[b].Process.Kill(); err != nil {             // SIGKILL: nothing is cleaned up
			t.Fatal(err)
		}
		_ = benches[b].Wait()
		time.Sleep(150 * time.Millisecond) // the other goes on alone
		cmd, url := startChild(t, address)
		benches[b] = cmd
		y.benches[b].Store(&url)
		time.Sleep(150 * time.Millisecond)
		if err := server.Kill(); err != nil {
			t.Fatal(err)
		}
		if err := server.Begin(); err != nil {
			t.Fatal(err)
		}
		time.Sleep(150 * time.Millisecond)
		if err := server.Restart(); err != nil {
			t.Fatal(err)
		}
	}
	time.Sleep(150 * time.Millisecond)
	close(y.stop)
	y.wait.Wait()
	k, err := postgres.Open(t.Context(), address, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	defer k.Close()
	times, kept := map[string]int{}, 0
	for _, job := range y.jobs {
		entries, err := k.Entries(t.Context(), job, 0)
		if err != nil {
			t.Fatal(err)
		}
		for i, e := range entries {
			times[job+" "+e.ID]++
			if e.Seq != int64(i+1) {
				t.Fatalf("%s: entry %d has number %d", job, i+1, e.Seq)
			}
		}
		kept += len(entries) - 1
	}
	for key, job := range y.confirmed {
		if times[job+" "+key] != 1 {
			t.Errorf("confirmed entry %s is there %d times", key, times[job+" "+key])
		}
	}
	for key, n := range times {
		if n != 1 {
			t.Errorf("entry %s is there %d times", key, n)
		}
	}
	if len(y.confirmed) < rounds {
		t.Errorf("only %d entries were confirmed in %d rounds: the load was none", len(y.confirmed), rounds)
	}
	t.Logf("a bench killed, the database killed and restarted, %d times each: %d entries confirmed, %d of them findings, %d kept, %d sent again", rounds, len(y.confirmed), y.findings, kept, y.again)
}
