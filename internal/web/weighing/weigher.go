package weighing

import (
	"context"
	"encoding/json"
	"errors"
	"sync"
	"time"

	"weephole/check"
	"weephole/internal/answer"
	"weephole/internal/casework"
	"weephole/lineup"
	"weephole/plan"
	"weephole/quantity"
)

// The stages of an answer.
const (
	Coarse = "coarse"
	Fine   = "fine"
)

// Config says how jobs are weighed.
type Config struct {
	Model *lineup.Model
	Plan  *plan.Assumptions
	// CoarseSize and FineSize are numbers of candidates; FineSize 0 leaves the
	// fine stage out.
	CoarseSize, FineSize int
	Seed                 uint64
	Warm                 int           // lineups kept warm at most
	Quiet                time.Duration // how long a job is left alone before the fine stage
	Workers              int           // cores that drawing a lineup may take
	// Tell is called with every answer, from one goroutine per job.
	Tell func(job string, a *Answer)
}

// Defaults are the sizes for a small machine: judgement from timings, about
// 1 ms a candidate and core.
func Defaults() Config {
	return Config{CoarseSize: 1500, FineSize: 6000, Seed: 1, Warm: 24, Quiet: 1500 * time.Millisecond, Workers: 2}
}

// Subject is a job as it stands, to be weighed.
type Subject struct {
	Job      string
	Seq      int64           // newest entry of its journal
	Document json.RawMessage // the job file, the shop's settings filled in
	Open     casework.Opener // opens the job's logs
	Units    quantity.Units
}

// Answer is what is known of a job.
type Answer struct {
	Seq      int64        `json:"seq"`
	Stage    string       `json:"stage"` // Coarse or Fine
	Odds     *answer.Odds `json:"odds,omitempty"`
	Next     *answer.Next `json:"next,omitempty"`     // nil while it is being worked out
	Expected []Expected   `json:"expected,omitempty"` // likewise
	Bands    []Band       `json:"bands,omitempty"`    // likewise, one for each log
	// Problem is what the job file gets wrong, if it cannot be weighed at all.
	Problem string `json:"problem,omitempty"`
}

// Weigher weighs jobs. It may be used from many goroutines.
type Weigher struct {
	cfg   Config
	ctx   context.Context
	stop  context.CancelFunc
	heavy chan struct{} // one place: who draws a lineup
	plans chan struct{} // one place: who works out a next step
	wg    sync.WaitGroup

	mu    sync.Mutex
	desks map[string]*desk
	turn  uint64
	asked time.Time // when anything was last asked
}

// New makes a weigher; Close ends it.
func New(cfg Config) *Weigher {
	w := &Weigher{cfg: cfg, heavy: make(chan struct{}, 1), plans: make(chan struct{}, 1), desks: make(map[string]*desk)}
	w.ctx, w.stop = context.WithCancel(context.Background())
	return w
}

// Close stops all work and waits for its end.
func (w *Weigher) Close() {
	w.stop()
	w.wg.Wait()
}

// desk is one job's place.
type desk struct {
	job  string
	used uint64

	mu         sync.Mutex
	latest     *Subject // to be weighed; nil when nothing is
	working    bool
	cancelFine context.CancelFunc
	answer     *Answer
	changed    chan struct{} // closed when answer or latest changes

	// Touched by the desk's one worker only.
	chain  chain
	well   []check.Subject // healthy engines like this one
	wellOf string          // the key they were drawn for
}

// desk gives a job's desk, making room for it.
func (w *Weigher) desk(job string) *desk {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.turn++
	d := w.desks[job]
	if d == nil {
		d = &desk{job: job, changed: make(chan struct{})}
		w.desks[job] = d
		w.makeRoom()
	}
	d.used = w.turn
	return d
}

// makeRoom drops the desk that was idle for longest when there are too many.
func (w *Weigher) makeRoom() {
	for len(w.desks) > w.cfg.Warm {
		var oldest *desk
		for _, d := range w.desks {
			d.mu.Lock()
			idle := !d.working && d.used != 0
			d.mu.Unlock()
			if idle && (oldest == nil || d.used < oldest.used) {
				oldest = d
			}
		}
		if oldest == nil {
			return
		}
		delete(w.desks, oldest.job)
	}
}

// Ask has a job weighed, soon; what was asked about it before and has not begun
// is forgotten. A subject older than the one weighed last changes nothing.
func (w *Weigher) Ask(s Subject) {
	d := w.desk(s.Job)
	w.mu.Lock()
	w.asked = time.Now()
	w.mu.Unlock()
	d.mu.Lock()
	defer d.mu.Unlock()
	if w.ctx.Err() != nil || d.latest != nil && d.latest.Seq >= s.Seq || d.answer != nil && d.answer.Seq >= s.Seq {
		return
	}
	d.latest = &s
	if d.cancelFine != nil {
		d.cancelFine()
	}
	if !d.working {
		d.working = true
		w.wg.Go(func() { w.work(d) })
	}
}

// Answer waits for an answer that takes entry seq into account and is at least
// of the stage. The job must have been asked about.
func (w *Weigher) Answer(ctx context.Context, job string, seq int64, stage string) (*Answer, error) {
	d := w.desk(job)
	for {
		d.mu.Lock()
		a, changed := d.answer, d.changed
		d.mu.Unlock()
		if a != nil && a.Seq >= seq && (stage != Fine || a.Stage == Fine || a.Problem != "" || w.cfg.FineSize == 0) {
			return a, nil
		}
		select {
		case <-changed:
		case <-ctx.Done():
			return nil, ctx.Err()
		case <-w.ctx.Done():
			return nil, w.ctx.Err()
		}
	}
}

// Latest is the newest answer at hand, nil when there is none.
func (w *Weigher) Latest(job string) *Answer {
	w.mu.Lock()
	d := w.desks[job]
	w.mu.Unlock()
	if d == nil {
		return nil
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.answer
}

// Planned waits likewise for one with the next step.
func (w *Weigher) Planned(ctx context.Context, job string, seq int64) (*Answer, error) {
	d := w.desk(job)
	for {
		d.mu.Lock()
		a, changed := d.answer, d.changed
		d.mu.Unlock()
		if a != nil && a.Seq >= seq && (a.Next != nil || a.Problem != "") {
			return a, nil
		}
		select {
		case <-changed:
		case <-ctx.Done():
			return nil, ctx.Err()
		case <-w.ctx.Done():
			return nil, w.ctx.Err()
		}
	}
}

// work answers a desk's subjects until there is none.
func (w *Weigher) work(d *desk) {
	for {
		d.mu.Lock()
		s := d.latest
		d.latest = nil
		if s == nil || w.ctx.Err() != nil {
			d.working = false
			d.mu.Unlock()
			return
		}
		ctx, cancel := context.WithCancel(w.ctx)
		d.cancelFine = cancel
		d.mu.Unlock()
		w.one(ctx, d, s)
		cancel()
	}
}

// one answers one subject in steps. ctx ends when a newer subject comes; the
// coarse odds are finished all the same, because somebody may wait for them.
func (w *Weigher) one(ctx context.Context, d *desk, s *Subject) {
	b, err := w.read(w.ctx, s)
	if err == nil {
		var l *lineup.Lineup
		if l, err = w.coarse(w.ctx, d, b); err == nil {
			a := &Answer{Seq: s.Seq, Stage: Coarse, Odds: b.odds(l)}
			w.give(d, a)
			if a, err = w.plan(ctx, d, b, l, a); err == nil {
				w.give(d, a)
				err = w.fine(ctx, d, s, b)
			}
		}
	}
	if err != nil && !errors.Is(err, context.Canceled) {
		w.give(d, &Answer{Seq: s.Seq, Stage: Coarse, Problem: err.Error()})
	}
}

// plan adds the next step and what is to be expected to an answer.
func (w *Weigher) plan(ctx context.Context, d *desk, b *bench, l *lineup.Lineup, a *Answer) (*Answer, error) {
	select {
	case w.plans <- struct{}{}:
		defer func() { <-w.plans }()
	case <-ctx.Done():
		return nil, ctx.Err()
	}
	next, err := answer.ForNext(ctx, l, b.ask(w.cfg.Plan))
	if err != nil {
		return nil, err
	}
	sample, err := l.Sample(ctx, expectedSample)
	if err != nil {
		return nil, err
	}
	bands, err := b.bands(ctx, w.cfg.Model, l)
	if err != nil {
		return nil, err
	}
	full := *a
	full.Next, full.Expected, full.Bands = next, b.expected(w.cfg.Model, d.healthy(w.cfg.Model, b), sample, a.Odds), bands
	return &full, nil
}

// fine draws the larger lineup once the job has been left alone.
func (w *Weigher) fine(ctx context.Context, d *desk, s *Subject, b *bench) error {
	if w.cfg.FineSize == 0 {
		return nil
	}
	if err := w.quiet(ctx); err != nil {
		return err
	}
	release, err := w.turnToDraw(ctx)
	if err != nil {
		return err
	}
	defer release()
	l, err := lineup.New(ctx, w.cfg.Model, b.work.Case, lineup.Options{
		Candidates: w.cfg.FineSize, Seed: w.cfg.Seed, Workers: max(1, w.cfg.Workers-1),
	})
	if err != nil {
		return err
	}
	a, err := w.plan(ctx, d, b, l, &Answer{Seq: s.Seq, Stage: Fine, Odds: b.odds(l)})
	if err != nil {
		return err
	}
	w.give(d, a)
	return nil
}

// longestQuiet is how many times Quiet a job waits for the whole bench to be
// left alone before it is refined all the same: judgement.
const longestQuiet = 20

// quiet waits until nothing was asked for a moment, so that refining one job
// does not slow the first answers of the others.
func (w *Weigher) quiet(ctx context.Context) error {
	for range longestQuiet {
		select {
		case <-time.After(w.cfg.Quiet):
		case <-ctx.Done():
			return ctx.Err()
		}
		w.mu.Lock()
		calm := time.Since(w.asked) >= w.cfg.Quiet
		w.mu.Unlock()
		if calm {
			break
		}
	}
	return nil
}

// turnToDraw waits for the one place to draw a lineup.
func (w *Weigher) turnToDraw(ctx context.Context) (release func(), err error) {
	select {
	case w.heavy <- struct{}{}:
		return func() { <-w.heavy }, nil
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

// give makes an answer the desk's and tells of it.
func (w *Weigher) give(d *desk, a *Answer) {
	d.mu.Lock()
	d.answer = a
	close(d.changed)
	d.changed = make(chan struct{})
	d.mu.Unlock()
	if w.cfg.Tell != nil {
		w.cfg.Tell(d.job, a)
	}
}
