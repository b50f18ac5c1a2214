package answers

import (
	"context"
	"sync"
	"time"
)

// once works out answers that take seconds, once for each key, one at a time,
// and keeps the last of them.
type once[T any] struct {
	ctx  context.Context // of all work
	turn chan struct{}   // one place
	keep int

	mu   sync.Mutex
	runs map[string]*run[T]
	used uint64
	took time.Duration // a run takes, as a running mean; 0 not known
}

// run is one answer, worked out or still to be.
type run[T any] struct {
	done  chan struct{} // closed when out and err are there
	out   T
	err   error
	asked uint64
	began time.Time // guarded by the mutex of its once; zero while it waits for its turn
}

func newOnce[T any](ctx context.Context, turn chan struct{}, keep int) *once[T] {
	return &once[T]{ctx: ctx, turn: turn, keep: keep, runs: map[string]*run[T]{}}
}

// begin gives the run of a key, starting it where there is none.
func (o *once[T]) begin(wg *sync.WaitGroup, key string, work func(context.Context) (T, error)) *run[T] {
	o.mu.Lock()
	defer o.mu.Unlock()
	o.used++
	r := o.runs[key]
	if r == nil && o.ctx.Err() != nil { // closing: nothing begins any more
		r = &run[T]{done: make(chan struct{}), err: o.ctx.Err()}
		close(r.done)
		return r
	}
	if r == nil {
		r = &run[T]{done: make(chan struct{})}
		o.runs[key] = r
		o.makeRoom()
		wg.Go(func() { o.work(key, r, work) })
	}
	r.asked = o.used
	return r
}

func (o *once[T]) work(key string, r *run[T], work func(context.Context) (T, error)) {
	defer close(r.done)
	select {
	case o.turn <- struct{}{}:
		defer func() { <-o.turn }()
	case <-o.ctx.Done():
	}
	if r.err = o.ctx.Err(); r.err == nil {
		began := time.Now()
		o.mu.Lock()
		r.began = began
		o.mu.Unlock()
		r.out, r.err = work(o.ctx)
		if r.err == nil {
			o.learn(time.Since(began))
		}
	}
	if r.err != nil { // what was missing may come: it may be asked again
		o.mu.Lock()
		defer o.mu.Unlock()
		delete(o.runs, key)
	}
}

// learn takes in how long a run took.
func (o *once[T]) learn(took time.Duration) {
	o.mu.Lock()
	defer o.mu.Unlock()
	if o.took == 0 {
		o.took = took
	}
	o.took += time.Duration(recent * float64(took-o.took))
}

// Left says how long a run is still away and how long one takes, from those before it;
// zeros where none was made yet.
type Left struct{ Left, Of time.Duration }

// left is the Left of a run.
func (o *once[T]) left(r *run[T]) Left {
	o.mu.Lock()
	defer o.mu.Unlock()
	if o.took == 0 {
		return Left{}
	}
	gone := time.Duration(0)
	if !r.began.IsZero() {
		gone = time.Since(r.began)
	}
	return Left{max(time.Second, o.took-gone), o.took}
}

// makeRoom forgets the finished answer that was asked for longest ago.
func (o *once[T]) makeRoom() {
	for len(o.runs) > o.keep {
		oldest, at := "", o.used
		for key, r := range o.runs {
			select {
			case <-r.done:
				if r.asked < at {
					oldest, at = key, r.asked
				}
			default:
			}
		}
		if oldest == "" {
			return
		}
		delete(o.runs, oldest)
	}
}

// shut waits until whoever is just beginning something has begun it; after that
// nothing begins, because the context has ended.
func (o *once[T]) shut() {
	o.mu.Lock()
	defer o.mu.Unlock()
}

// wait waits for a run's end.
func (r *run[T]) wait(ctx context.Context) (out T, err error) {
	select {
	case <-r.done:
		return r.out, r.err
	case <-ctx.Done():
		return out, ctx.Err()
	}
}

// now is the run's answer where it is there, or says false.
func (r *run[T]) now() (out T, there bool, err error) {
	select {
	case <-r.done:
		return r.out, true, r.err
	default:
		return out, false, nil
	}
}
