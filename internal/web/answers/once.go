package answers

import (
	"context"
	"errors"
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

// run is one answer, worked out or still to be. All but done, out and err are guarded by
// the mutex of its once.
type run[T any] struct {
	done    chan struct{} // closed when out and err are there
	out     T
	err     error
	ctx     context.Context // of its work
	stop    context.CancelFunc
	job     string // what it is an answer to, and the newest entry that was asked for
	seq     int64
	waiting int // who waits for it, and would be left without an answer
	asked   uint64
	began   time.Time // zero while it waits for its turn
}

// asked is an answer that somebody wants of a once.
type asked[T any] struct {
	of   *once[T]
	wg   *sync.WaitGroup // of all work
	job  string          // empty: nothing makes it out of date
	seq  int64
	key  string
	work func(context.Context) (T, error)
}

func newOnce[T any](ctx context.Context, turn chan struct{}, keep int) *once[T] {
	return &once[T]{ctx: ctx, turn: turn, keep: keep, runs: map[string]*run[T]{}}
}

// begin gives the run of what is asked, starting it where there is none. Runs for older
// entries of the same job are stopped where nobody waits for them: a mechanic who makes six
// entries one after another would else wait for six answers.
func (a asked[T]) begin(waits bool) *run[T] {
	o := a.of
	o.mu.Lock()
	defer o.mu.Unlock()
	o.used++
	r := o.runs[a.key]
	if r == nil && o.ctx.Err() != nil { // closing: nothing begins any more
		r = &run[T]{done: make(chan struct{}), err: o.ctx.Err()}
		close(r.done)
		return r
	}
	for key, old := range o.runs {
		if a.job != "" && old.job == a.job && old.seq < a.seq && old.waiting == 0 && key != a.key && !old.finished() {
			old.stop()
			delete(o.runs, key)
		}
	}
	if r == nil {
		r = &run[T]{done: make(chan struct{}), job: a.job}
		r.ctx, r.stop = context.WithCancel(o.ctx)
		o.runs[a.key] = r
		o.makeRoom()
		a.wg.Go(func() { o.work(a.key, r, a.work) })
	}
	r.seq, r.asked = max(r.seq, a.seq), o.used
	if waits {
		r.waiting++
	}
	return r
}

// wait waits for the answer.
func (a asked[T]) wait(ctx context.Context) (out T, err error) {
	r := a.begin(true)
	defer func() {
		a.of.mu.Lock()
		defer a.of.mu.Unlock()
		r.waiting--
	}()
	select {
	case <-r.done:
		return r.out, r.err
	case <-ctx.Done():
		return out, ctx.Err()
	}
}

// now is the answer where it is there, or begins it and says false.
func (a asked[T]) now() (out T, there bool, err error) {
	r := a.begin(false)
	if !r.finished() || errors.Is(r.err, context.Canceled) && a.of.ctx.Err() == nil {
		return out, false, nil // it may just have been stopped for a newer entry
	}
	return r.out, true, r.err
}

func (r *run[T]) finished() bool {
	select {
	case <-r.done:
		return true
	default:
		return false
	}
}

func (o *once[T]) work(key string, r *run[T], work func(context.Context) (T, error)) {
	defer close(r.done)
	defer r.stop()
	select {
	case o.turn <- struct{}{}:
		defer func() { <-o.turn }()
	case <-r.ctx.Done():
	}
	if r.err = r.ctx.Err(); r.err == nil {
		began := time.Now()
		o.mu.Lock()
		r.began = began
		o.mu.Unlock()
		r.out, r.err = work(r.ctx)
		if r.err == nil {
			o.learn(time.Since(began))
		}
	}
	if r.err != nil { // what was missing may come: it may be asked again
		o.mu.Lock()
		defer o.mu.Unlock()
		if o.runs[key] == r {
			delete(o.runs, key)
		}
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

// left is how long the answer is still away.
func (a asked[T]) left() Left {
	r, o := a.begin(false), a.of
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
			if r.finished() && r.asked < at {
				oldest, at = key, r.asked
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
