package answers

import (
	"bytes"
	"context"
	"encoding/json"
	"sync"
	"time"

	"weephole/internal/answer"
	"weephole/internal/work"
	"weephole/lineup"
	"weephole/plan"
)

// The stages of an answer.
const (
	Coarse = "coarse"
	Fine   = "fine"
)

// LiveConfig says how jobs are answered.
type LiveConfig struct {
	Model *lineup.Model
	Plan  *plan.Assumptions
	// CoarseSize and FineSize are numbers of candidates; FineSize 0 leaves the
	// fine stage out.
	CoarseSize, FineSize int
	Seed                 uint64
	Warm                 int           // lineups kept warm at most
	Quiet                time.Duration // how long a job is left alone before the fine stage
	Workers              int           // cores that drawing a lineup may take; 0: all there are
	Kept                 int           // answers of each kind that a Cache keeps; 0 means 32
	Turns                *Turns        // shared by those who work on one machine; nil: alone
	Drawn                *Drawn        // engines that a Live and a Cache share; nil: each keeps its own
	Share                work.Sharing  // spares drawings that somebody else had done; nil: none
	// Say puts what is wrong with a job into words; nil leaves the error's own.
	Say func(error) string
	// Tell is called with every live answer, from one goroutine per job.
	Tell func(job string, a *Answer)
}

// Turns are the places for heavy work, so that several who answer on one machine
// take turns.
type Turns struct{ heavy, plans, once, writing, drawing chan struct{} }

// NewTurns makes one place for each kind of work.
func NewTurns() *Turns {
	place := func() chan struct{} { return make(chan struct{}, 1) }
	return &Turns{place(), place(), place(), place(), place()}
}

func (c *LiveConfig) say(err error) string {
	if c.Say == nil {
		return err.Error()
	}
	return c.Say(err)
}

func (c *LiveConfig) turns() *Turns {
	if c.Turns == nil {
		return NewTurns()
	}
	return c.Turns
}

func (c *LiveConfig) kept() *Drawn {
	if c.Drawn == nil {
		return new(Drawn)
	}
	return c.Drawn
}

// Defaults are the sizes for a small machine: judgement from timings, about
// 1 ms a candidate and core.
func Defaults() LiveConfig {
	return LiveConfig{CoarseSize: 1500, FineSize: 6000, Seed: 1, Warm: 24, Quiet: 1500 * time.Millisecond}
}

// JobState is a job as it stands.
type JobState struct {
	Job      string
	Seq      int64           // newest entry of its journal
	Document json.RawMessage // the job file, the shop's settings filled in
	Open     work.Opener     // opens the job's logs
	// Repairs are what the proof and the sheets are for where none was done yet;
	// empty: what the odds suggest.
	Repairs []string
}

// open opens the job; its lineups have so many candidates.
func (s *JobState) open(ctx context.Context, cfg *LiveConfig, candidates int, o work.OpenOptions) (*work.Work, error) {
	o.Open, o.Plan, o.Share, o.Lineup = s.Open, cfg.Plan, cfg.Share, lineup.DrawOptions{Candidates: candidates, Seed: cfg.Seed, Workers: cfg.Workers}
	return work.Open(ctx, cfg.Model, bytes.NewReader(s.Document), "", o)
}

// Answer is what is known of a job.
type Answer struct {
	Seq      int64                  `json:"seq"`
	Stage    string                 `json:"stage"`         // Coarse or Fine
	Made     time.Time              `json:"made,omitzero"` // when it was worked out; zero in one that an older program kept
	Odds     *answer.OddsFacts      `json:"odds,omitempty"`
	Next     *answer.NextFacts      `json:"next,omitempty"`     // nil while it is being worked out
	Expected []answer.ExpectedFacts `json:"expected,omitempty"` // likewise
	Bands    []work.LogBand         `json:"bands,omitempty"`    // likewise, one for each log
	Margin   *answer.MarginFacts    `json:"margin,omitempty"`   // how much cooling is left; nil likewise, and where no engine fits
	// Problem is what the job file gets wrong, if it cannot be worked out at all.
	Problem string `json:"problem,omitempty"`
}

// Live answers jobs as they change. It may be used from many goroutines.
type Live struct {
	cfg   LiveConfig
	ctx   context.Context
	stop  context.CancelFunc
	heavy chan struct{} // one place: who draws a lineup
	plans chan struct{} // one place: who works out a next step
	drawn *Drawn
	wg    sync.WaitGroup

	mu    sync.Mutex
	slots map[string]*slot
	turn  uint64
	asked time.Time     // when anything was last asked
	took  time.Duration // from asking to a refined answer, as a running mean; 0 not known
}

// NewLive makes one; Close ends it.
func NewLive(cfg LiveConfig) *Live {
	t := cfg.turns()
	v := &Live{cfg: cfg, heavy: t.heavy, plans: t.plans, drawn: cfg.kept(), slots: make(map[string]*slot)}
	v.ctx, v.stop = context.WithCancel(context.Background())
	return v
}

// Close stops all work and waits for its end.
func (v *Live) Close() {
	v.stop()
	v.wg.Wait()
}

// slot is one job's place.
type slot struct {
	job  string
	used uint64

	began time.Time // when the subject in work was begun; guarded by mu

	mu         sync.Mutex
	latest     *JobState // to be worked out; nil when nothing is
	newest     int64     // entry of the newest subject that was asked about
	working    bool
	cancelFine context.CancelFunc
	wanted     chan struct{} // closed once somebody waits for the subject's refined answer
	answer     *Answer
	changed    chan struct{} // closed when answer or latest changes

	// Touched by the slot's one worker only.
	chain    chain
	kinds    *work.Kinds    // engines like this one, healthy and with each leading cause
	kindsOf  string         // the key they were drawn for
	before   *lineup.Lineup // of the job as it stood before its repair, for the margin
	beforeOf string         // the key it was drawn for
}

// slot gives a job's slot, making room for it.
func (v *Live) slot(job string) *slot {
	v.mu.Lock()
	defer v.mu.Unlock()
	v.turn++
	d := v.slots[job]
	if d == nil {
		d = &slot{job: job, changed: make(chan struct{})}
		v.slots[job] = d
		v.makeRoom()
	}
	d.used = v.turn
	return d
}

// makeRoom drops the slot that was idle for longest when there are too many.
func (v *Live) makeRoom() {
	for len(v.slots) > v.cfg.Warm {
		var oldest *slot
		for _, d := range v.slots {
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
		delete(v.slots, oldest.job)
	}
}

// Ask has a job worked out, soon; what was asked about it before and has not begun
// is forgotten. A subject no newer than the newest asked about changes nothing: states
// are read side by side, and an older one may come later.
func (v *Live) Ask(s JobState) {
	d := v.slot(s.Job)
	v.mu.Lock()
	v.asked = time.Now()
	v.mu.Unlock()
	d.mu.Lock()
	defer d.mu.Unlock()
	if v.ctx.Err() != nil || s.Seq <= d.newest {
		return
	}
	d.latest, d.newest = &s, s.Seq
	if d.cancelFine != nil {
		d.cancelFine()
	}
	if !d.working {
		d.working = true
		v.wg.Go(func() { v.work(d) })
	}
}

// Answer waits for an answer that takes entry seq into account and is at least
// of the stage. The job must have been asked about. One that somebody waits for is
// refined at once, however much is asked of the bench.
func (v *Live) Answer(ctx context.Context, job string, seq int64, stage string) (*Answer, error) {
	return v.await(ctx, job, seq, stage, func(a *Answer) bool {
		return stage != Fine || a.Stage == Fine || a.Problem != "" || v.cfg.FineSize == 0
	})
}

// Planned waits in the same way for one with the next step.
func (v *Live) Planned(ctx context.Context, job string, seq int64) (*Answer, error) {
	return v.await(ctx, job, seq, Coarse, func(a *Answer) bool { return a.Next != nil || a.Problem != "" })
}

// await waits for an answer that takes entry seq into account and is enough.
func (v *Live) await(ctx context.Context, job string, seq int64, stage string, enough func(*Answer) bool) (*Answer, error) {
	d := v.slot(job)
	for {
		d.mu.Lock()
		a, changed := d.answer, d.changed
		if stage == Fine {
			d.want()
		}
		d.mu.Unlock()
		if a != nil && a.Seq >= seq && enough(a) {
			return a, nil
		}
		select {
		case <-changed:
		case <-ctx.Done():
			return nil, ctx.Err()
		case <-v.ctx.Done():
			return nil, v.ctx.Err()
		}
	}
}

// want tells the worker that somebody waits for the refined answer. The slot is locked.
func (d *slot) want() {
	if d.wanted == nil {
		return // nothing is in work; it is told again when an answer comes
	}
	select {
	case <-d.wanted:
	default:
		close(d.wanted)
	}
}

// there is a job's slot, nil where it has none.
func (v *Live) there(job string) *slot {
	v.mu.Lock()
	defer v.mu.Unlock()
	return v.slots[job]
}

// Working tells whether a job is being worked out.
func (v *Live) Working(job string) bool {
	d := v.there(job)
	if d == nil {
		return false
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.working
}

// Latest is the newest answer at hand, nil when there is none.
func (v *Live) Latest(job string) *Answer {
	d := v.there(job)
	if d == nil {
		return nil
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.answer
}
