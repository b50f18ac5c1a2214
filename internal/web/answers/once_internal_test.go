package answers

import (
	"context"
	"errors"
	"sync"
	"testing"
)

// A mechanic makes an entry while the last one is still being worked out: what nobody waits
// for any more is stopped, and what somebody waits for is not.
func TestWhatANewerEntryMakesOutOfDateIsStopped(t *testing.T) {
	var wg sync.WaitGroup
	o := newOnce[int](t.Context(), make(chan struct{}, 1), 8)
	began, ended := make(chan int, 8), make(chan error, 8)
	release := make(chan struct{})
	want := func(job string, seq int64) asked[int] {
		return asked[int]{of: o, wg: &wg, job: job, seq: seq, key: job + string(rune('a'+seq)), work: func(ctx context.Context) (int, error) {
			began <- int(seq)
			select {
			case <-ctx.Done():
			case <-release:
			}
			ended <- ctx.Err()
			return int(seq), ctx.Err()
		}}
	}
	if _, there, _ := want("van", 1).now(); there {
		t.Fatal("there at once")
	}
	<-began
	want("van", 1).now() // the same again stops nothing
	want("car", 9).now() // nor does another job
	want("van", 2).now()
	if err := <-ended; !errors.Is(err, context.Canceled) {
		t.Fatalf("the run of the older entry: %v", err)
	}
	<-began // of the car or of entry 2, whichever got the turn
	answer := make(chan int)
	go func() {
		got, err := want("van", 2).wait(t.Context())
		if err != nil {
			t.Error(err)
		}
		answer <- got
	}()
	for waiting := 0; waiting == 0; {
		o.mu.Lock()
		waiting = o.runs["vanc"].waiting
		o.mu.Unlock()
	}
	want("van", 3).now()
	close(release)
	if got := <-answer; got != 2 {
		t.Errorf("the answer that somebody waited for: %d", got)
	}
	for range 3 { // the car and entries 2 and 3
		if err := <-ended; err != nil {
			t.Errorf("stopped though wanted: %v", err)
		}
	}
	wg.Wait()
}
