package weighing

import (
	"context"
	"crypto/sha256"
	"encoding/json"
	"fmt"

	"weephole/lineup"
)

// chain is a job's coarse lineups: one with the complaint alone, and one more
// for every event since.
type chain struct {
	key   string // of everything but the events
	base  *lineup.Lineup
	links []link
}

type link struct {
	key string         // of the event
	l   *lineup.Lineup // nil where several events were weighed at once
}

// coarse weighs a job's case with its chain.
func (w *Weigher) coarse(ctx context.Context, d *desk, b *bench) (*lineup.Lineup, error) {
	c, events := &d.chain, b.work.Case.Events
	if c.key != b.key {
		base, err := w.draw(ctx, b, nil)
		if err != nil {
			return nil, err
		}
		*c = chain{key: b.key, base: base}
	}
	keep := 0
	for keep < len(c.links) && keep < len(events) && c.links[keep].key == b.eventKey(keep) {
		keep++
	}
	for keep > 0 && c.links[keep-1].l == nil {
		keep--
	}
	c.links = c.links[:keep]
	last := c.base
	if keep > 0 {
		last = c.links[keep-1].l
	}
	// Everything up to the last event that needs new runs is weighed at once.
	from := keep
	for i := len(events) - 1; i >= keep; i-- {
		if costly(&events[i]) {
			l, err := w.draw(ctx, b, events[:i+1])
			if err != nil {
				return nil, err
			}
			for k := keep; k < i; k++ {
				c.links = append(c.links, link{key: b.eventKey(k)})
			}
			c.links = append(c.links, link{b.eventKey(i), l})
			last, from = l, i+1
			break
		}
	}
	for i := from; i < len(events); i++ {
		l, err := last.Extend(ctx, events[i])
		if err != nil {
			return nil, err
		}
		c.links = append(c.links, link{b.eventKey(i), l})
		last = l
	}
	return last, nil
}

// costly tells whether an event cannot be weighed on candidates that have been
// run already (see lineup.Extend).
func costly(e *lineup.Event) bool {
	return e.Repair != "" || e.Log != nil || e.Conditions != nil
}

// draw draws and warms a coarse lineup with the given events.
func (w *Weigher) draw(ctx context.Context, b *bench, events []lineup.Event) (*lineup.Lineup, error) {
	release, err := w.turnToDraw(ctx)
	if err != nil {
		return nil, err
	}
	defer release()
	cs := b.work.Case
	cs.Events = events
	l, err := lineup.New(ctx, w.cfg.Model, cs, lineup.Options{
		Candidates: w.cfg.CoarseSize, Seed: w.cfg.Seed, Workers: w.cfg.Workers, KeepStill: true,
	})
	if err != nil {
		return nil, err
	}
	return l, l.Warm(ctx)
}

// keyOf is a short name of anything that can be written as JSON.
func keyOf(v any) string {
	data, err := json.Marshal(v)
	if err != nil {
		return fmt.Sprintf("%p", v) // never equal to another: drawn anew, and right
	}
	h := sha256.Sum256(data)
	return string(h[:])
}
