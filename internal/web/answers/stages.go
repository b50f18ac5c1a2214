package answers

import (
	"context"
	"errors"
	"time"

	"weephole/internal/answer"
	"weephole/internal/work"
	"weephole/lineup"
	"weephole/margin"
)

// work answers a slot's subjects until there is none.
func (v *Live) work(d *slot) {
	for {
		d.mu.Lock()
		s := d.latest
		d.latest = nil
		if s == nil || v.ctx.Err() != nil {
			d.working = false
			d.mu.Unlock()
			return
		}
		ctx, cancel := context.WithCancel(v.ctx)
		d.cancelFine, d.began, d.wanted = cancel, time.Now(), make(chan struct{})
		d.mu.Unlock()
		v.one(ctx, d, s)
		cancel()
	}
}

// one answers one subject in steps. ctx ends when a newer subject comes; the
// coarse odds are finished all the same, because somebody may wait for them.
func (v *Live) one(ctx context.Context, d *slot, s *JobState) {
	b, err := v.read(v.ctx, s)
	if err == nil {
		var l *lineup.Lineup
		if l, err = v.coarse(v.ctx, d, b); err == nil {
			a := &Answer{Seq: s.Seq, Stage: Coarse, Odds: b.odds(l)}
			v.give(d, a)
			if a, err = v.plan(ctx, d, b, l, a); err == nil {
				v.give(d, a)
				err = v.fine(ctx, d, s, b)
			}
		}
	}
	if err != nil && !errors.Is(err, context.Canceled) {
		v.give(d, &Answer{Seq: s.Seq, Stage: Coarse, Problem: v.cfg.say(err)})
	}
}

// plan adds the next step and what is to be expected to an answer.
func (v *Live) plan(ctx context.Context, d *slot, b *opened, l *lineup.Lineup, a *Answer) (*Answer, error) {
	select {
	case v.plans <- struct{}{}:
		defer func() { <-v.plans }()
	case <-ctx.Done():
		return nil, ctx.Err()
	}
	ask := b.Ask()
	if a.Stage == Coarse {
		ask.SayOn = 0 // the finer answer follows the plan
	} else {
		ask.Depth = Depth // the page of the plan shows this answer, so that one cost is said everywhere
	}
	next, err := work.NextOf(ctx, l, ask)
	if err != nil {
		return nil, err
	}
	full := *a
	if full.Bands, err = b.Bands(ctx, l); err != nil {
		return nil, err
	}
	if d.kindsOf != b.key {
		d.kinds, d.kindsOf = new(work.Kinds), b.key
	}
	style := answer.StyleOf(b.Work)
	full.Next = answer.ForNext(next, style)
	full.Expected = answer.ForExpected(b.Expected(d.kinds, l.Odds().Causes), style)
	before, engines := func(ctx context.Context) (*lineup.Lineup, error) { return v.before(ctx, d, b) }, roughEngines
	if a.Stage == Fine { // as the proof and the letter take them
		before, engines = func(ctx context.Context) (*lineup.Lineup, error) { return v.settled(ctx, b.Before, b.LineupBeforeOf) }, 0
	}
	m, err := b.MarginOn(ctx, l, before, work.MarginAsk{Engines: engines})
	switch {
	case err == nil:
		full.Margin = answer.ForMargin(m, style)
	case !errors.Is(err, margin.ErrNoEngines):
		return nil, err
	}
	return &full, nil
}

// now is the time to the second, as it comes back from a store: nobody asks an answer's
// age more finely.
func now() time.Time { return time.Now().UTC().Truncate(time.Second) }

// roughEngines is how many engines a rough margin is worked out for: judgement; a settled
// one follows.
const roughEngines = 100

// settled is the lineup that a settled answer rests on.
func (v *Live) settled(ctx context.Context, cs lineup.Case, draw func(context.Context, int) (*lineup.Lineup, error)) (*lineup.Lineup, error) {
	key, err := work.KeyOf(cs)
	if err != nil {
		return nil, err
	}
	return v.drawn.or(ctx, key, func(ctx context.Context) (*lineup.Lineup, error) {
		release, err := v.turnToDraw(ctx)
		if err != nil {
			return nil, err
		}
		defer release()
		return draw(ctx, v.cfg.settled())
	})
}

// before is the coarse lineup of a job as it stood before its repair: drawn once, for
// no later finding changes it.
func (v *Live) before(ctx context.Context, d *slot, b *opened) (*lineup.Lineup, error) {
	key, err := work.KeyOf(b.Before)
	if err != nil {
		return nil, err
	}
	if d.beforeOf != key {
		l, err := v.draw(ctx, b, b.Before.Events)
		if err != nil {
			return nil, err
		}
		d.before, d.beforeOf = l, key
	}
	return d.before, nil
}

// fine draws the larger lineup once the job has been left alone.
func (v *Live) fine(ctx context.Context, d *slot, s *JobState, b *opened) error {
	if v.cfg.FineSize == 0 {
		return nil
	}
	if err := v.quiet(ctx, d); err != nil {
		return err
	}
	l, err := v.settled(ctx, b.Case, b.LineupOf)
	if err != nil {
		return err
	}
	a, err := v.plan(ctx, d, b, l, &Answer{Seq: s.Seq, Stage: Fine, Odds: b.odds(l)})
	if err != nil {
		return err
	}
	v.give(d, a)
	v.learn(time.Since(d.began)) // only this worker sets it
	return nil
}

// recent is the share of the last refined answer in the running mean: judgement.
const recent = 0.3

// learn takes in how long a refined answer took.
func (v *Live) learn(took time.Duration) {
	v.mu.Lock()
	defer v.mu.Unlock()
	if v.took == 0 {
		v.took = took
	}
	v.took += time.Duration(recent * float64(took-v.took))
}

// Left is how long a job's refined answer is still away, of how long those before it
// took; false where none is in work or none was made yet.
func (v *Live) Left(job string) (left, of time.Duration, known bool) {
	v.mu.Lock()
	d, took := v.slots[job], v.took
	v.mu.Unlock()
	if d == nil || took == 0 {
		return 0, 0, false
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	return max(0, took-time.Since(d.began)), took, d.working
}

// longestQuiet is how many times Quiet a job waits for the whole bench to be
// left alone before it is refined all the same: judgement.
const longestQuiet = 20

// quiet waits until nothing was asked for a moment, so that refining one job
// does not slow the first answers of the others; or until somebody waits for this one.
func (v *Live) quiet(ctx context.Context, d *slot) error {
	d.mu.Lock()
	wanted := d.wanted
	d.mu.Unlock()
	for range longestQuiet {
		select {
		case <-time.After(v.cfg.Quiet):
		case <-wanted:
			return nil
		case <-ctx.Done():
			return ctx.Err()
		}
		v.mu.Lock()
		calm := time.Since(v.asked) >= v.cfg.Quiet
		v.mu.Unlock()
		if calm {
			break
		}
	}
	return nil
}

// turnToDraw waits for the one place to draw a lineup.
func (v *Live) turnToDraw(ctx context.Context) (release func(), err error) {
	select {
	case v.heavy <- struct{}{}:
		return func() { <-v.heavy }, nil
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

// give makes an answer the slot's and tells of it.
func (v *Live) give(d *slot, a *Answer) {
	a.Made = now()
	d.mu.Lock()
	d.answer = a
	close(d.changed)
	d.changed = make(chan struct{})
	d.mu.Unlock()
	if v.cfg.Tell != nil {
		v.cfg.Tell(d.job, a)
	}
}
