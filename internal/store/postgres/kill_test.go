package postgres_test

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"weephole/internal/store"
	"weephole/internal/store/postgres"
)

// benchEnv turns the test's own program into a bench that is there to be killed.
const benchEnv = "WEEPHOLE_TEST_STORE"

// enterForever keeps entries from several hands and prints what was confirmed.
func enterForever(address string) error {
	ctx := context.Background()
	k, err := postgres.Open(ctx, address, time.Now)
	if err != nil {
		return err
	}
	fmt.Println("ready")
	failed := make(chan error)
	var out sync.Mutex
	for hand := range 4 {
		go func() {
			for i := 0; ; i++ {
				id := fmt.Sprint(os.Getpid(), "-", hand, "-", i)
				if _, _, err := k.Append(ctx, note(id)); err != nil {
					failed <- err
					return
				}
				out.Lock()
				fmt.Println(id)
				out.Unlock()
			}
		}()
	}
	return <-failed
}

// rounds is how often each thing is killed; WEEPHOLE_KILLS says otherwise.
func rounds(usual int) int {
	if n, err := strconv.Atoi(os.Getenv("WEEPHOLE_KILLS")); err == nil {
		return n
	}
	return usual
}

// whole checks that each confirmed entry is there once and none is missing between.
func whole(t *testing.T, k store.Store, confirmed []string) {
	t.Helper()
	entries, err := k.Entries(t.Context(), "j", 0)
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
	for _, id := range confirmed {
		if times[id] != 1 {
			t.Errorf("confirmed entry %s is there %d times", id, times[id])
		}
	}
	t.Logf("%d confirmed, %d kept", len(confirmed), len(entries)-1)
}

func TestABenchIsKilledAndAnotherGoesOn(t *testing.T) {
	address := database(t)
	k := openAt(t, address, time.Now)
	job(t, k)
	var confirmed []string
	random := rand.New(rand.NewPCG(19, 2))
	for round := range rounds(6) {
		cmd := exec.Command(os.Args[0])
		cmd.Env = append(os.Environ(), benchEnv+"="+address)
		var errs bytes.Buffer
		cmd.Stderr = &errs
		out, err := cmd.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		lines := bufio.NewScanner(out)
		if !lines.Scan() {
			t.Fatalf("the bench did not begin: %s", errs.String())
		}
		time.AfterFunc(time.Duration(random.Int64N(int64(150*time.Millisecond))), func() { cmd.Process.Kill() })
		for lines.Scan() {
			confirmed = append(confirmed, lines.Text())
		}
		_ = cmd.Wait() // it was killed; its status says so
		id := fmt.Sprint("other-", round)
		if _, _, err := k.Append(t.Context(), note(id)); err != nil { // the other bench is not held up
			t.Fatal(err)
		}
		confirmed = append(confirmed, id)
	}
	// The last line may have been cut off by the kill; then it was not confirmed.
	whole(t, k, complete(confirmed))
}

// complete leaves out ids that were cut off.
func complete(ids []string) (out []string) {
	for _, id := range ids {
		if strings.HasPrefix(id, "other-") || strings.Count(id, "-") == 2 && !strings.HasSuffix(id, "-") {
			out = append(out, id)
		}
	}
	return out
}

// people type until told to stop, each entry under its own id until it is
// confirmed, as devices do.
func people(t *testing.T, stores []*postgres.ServerKeeper, n int, stop <-chan struct{}) (wait func() []string) {
	var wg sync.WaitGroup
	var mu sync.Mutex
	var confirmed []string
	for p := range n {
		wg.Go(func() {
			for i := 0; ; i++ {
				id := fmt.Sprint("p", p, "-", i)
				for {
					select {
					case <-stop:
						return
					default:
					}
					_, _, err := stores[p%len(stores)].Append(t.Context(), note(id))
					if err == nil {
						break
					}
					if !errors.Is(err, store.ErrAway) {
						t.Errorf("while the database is away: %v", err)
						return
					}
				}
				mu.Lock()
				confirmed = append(confirmed, id)
				mu.Unlock()
			}
		})
	}
	return func() []string { wg.Wait(); return confirmed }
}

func TestTheDatabaseIsKilledOrRestartedWhilePeopleType(t *testing.T) {
	address := database(t)
	stores := []*postgres.ServerKeeper{openAt(t, address, time.Now), openAt(t, address, time.Now)}
	job(t, stores[0])
	stop := make(chan struct{})
	wait := people(t, stores, 20, stop)
	for range rounds(2) {
		for _, end := range []func() error{server.Restart, func() error { return errors.Join(server.Kill(), server.Begin()) }} {
			time.Sleep(150 * time.Millisecond)
			if err := end(); err != nil {
				t.Fatal(err)
			}
		}
	}
	time.Sleep(150 * time.Millisecond)
	close(stop)
	whole(t, stores[0], wait())
}
