package answers

import (
	"context"
	"encoding/json"
	"fmt"

	"weephole/internal/answer"
	"weephole/internal/work"
	"weephole/lineup"
)

// opened is a job opened to be answered live.
type opened struct {
	*work.Work
	key      string            // of all that the base lineup depends on
	findings []json.RawMessage // as the document has them
}

func (v *Live) read(ctx context.Context, s *JobState) (*opened, error) {
	w, err := s.open(ctx, &v.cfg, v.cfg.CoarseSize, work.OpenOptions{})
	if err != nil {
		return nil, err
	}
	var doc struct{ Findings []json.RawMessage }
	if err := json.Unmarshal(s.Document, &doc); err != nil {
		return nil, fmt.Errorf("job file: %w", err)
	}
	cs := w.Case
	cs.Events = nil
	key, err := work.KeyOf(cs)
	if err != nil {
		return nil, err
	}
	return &opened{w, key, doc.Findings}, nil
}

// eventKey names event i of the case.
func (b *opened) eventKey(i int) string { return string(b.findings[b.FindingOf[i]]) }

func (b *opened) odds(l *lineup.Lineup) *answer.OddsFacts {
	o := answer.ForOdds(work.OddsOf(l), answer.StyleOf(b.Work))
	o.NameLogs(b.Work)
	return &o
}

// chain is a job's coarse lineups: one with the complaint alone, and one more
// for every event since.
type chain struct {
	key   string // of everything but the events
	base  *lineup.Lineup
	links []link
}

type link struct {
	key string         // of the event
	l   *lineup.Lineup // nil where several events counted at once
}

// coarse weighs a job's case with its chain.
func (v *Live) coarse(ctx context.Context, d *slot, b *opened) (*lineup.Lineup, error) {
	c, events := &d.chain, b.Case.Events
	if c.key != b.key {
		base, err := v.draw(ctx, b, nil)
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
	// Everything up to the last event that needs new runs is counted at once.
	from := keep
	for i := len(events) - 1; i >= keep; i-- {
		if costly(&events[i]) {
			l, err := v.draw(ctx, b, events[:i+1])
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

// costly tells whether an event cannot be worked out on candidates that have been
// run already (see lineup.Extend).
func costly(e *lineup.Event) bool {
	return e.Repair != "" || e.Log != nil || e.Conditions != nil
}

// draw draws and warms a coarse lineup with the given events.
func (v *Live) draw(ctx context.Context, b *opened, events []lineup.Event) (*lineup.Lineup, error) {
	release, err := v.turnToDraw(ctx)
	if err != nil {
		return nil, err
	}
	defer release()
	l, err := b.Rough(ctx, events)
	if err != nil {
		return nil, err
	}
	return l, l.Warm(ctx)
}
