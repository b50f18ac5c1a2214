package parallel

import (
	"context"
	"runtime"
	"sync"
	"sync/atomic"
)

// Workers is how many goroutines work at once: as many as were asked for, or one a core
// for 0 and less, however many threads the program runs. A bench runs more threads, so
// that its pages do not wait for its answers.
func Workers(asked int) int {
	if asked > 0 {
		return asked
	}
	return min(runtime.GOMAXPROCS(0), runtime.NumCPU())
}

// Each calls f for 0 to n-1 in chunks, from so many [Workers], each with tools of its own.
// It stops between two chunks when ctx ends, and returns its error.
func Each[T any](ctx context.Context, workers, n, chunk int, tools func() T, f func(T, int)) error {
	var next atomic.Int64
	var group sync.WaitGroup
	for range min(Workers(workers), (n+chunk-1)/chunk) {
		t := tools()
		group.Go(func() {
			for ctx.Err() == nil {
				from := int(next.Add(int64(chunk))) - chunk
				if from >= n {
					return
				}
				for i := from; i < min(from+chunk, n); i++ {
					f(t, i)
				}
			}
		})
	}
	group.Wait()
	return ctx.Err()
}
