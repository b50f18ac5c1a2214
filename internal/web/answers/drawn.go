package answers

import (
	"context"
	"slices"
	"sync"

	"weephole/lineup"
)

// Drawn keeps the engines of the settled answers that were drawn last, by their cases.
// Odds, proof, letter and drive of one state rest on the same ones, so they say the same
// numbers. It may be used from many goroutines. The zero Drawn is empty.
type Drawn struct {
	mu   sync.Mutex
	kept []*sketch // the one that was asked for last stands at the end
}

// lineupsKept is how many lineups are kept: judgement, each is some 30 MB. A repaired job
// has two, before its repair and since.
const lineupsKept = 3

// sketch is one lineup, drawn or being drawn.
type sketch struct {
	key     string
	drawing chan struct{}  // one place
	l       *lineup.Lineup // guarded by drawing
}

// or gives the lineup of a case that is kept, or draws it. Whoever asks for one that is
// just being drawn waits for it.
func (d *Drawn) or(ctx context.Context, key string, draw drawing) (*lineup.Lineup, error) {
	s := d.sketch(key)
	select {
	case s.drawing <- struct{}{}:
		defer func() { <-s.drawing }()
	case <-ctx.Done():
		return nil, ctx.Err()
	}
	if s.l != nil {
		return s.l, nil
	}
	l, err := draw(ctx)
	s.l = l
	return l, err
}

// sketch is the one with the key, moved to the end. What is still being drawn when it has
// to make room is lost to those who ask later, and to nobody who waits.
func (d *Drawn) sketch(key string) *sketch {
	d.mu.Lock()
	defer d.mu.Unlock()
	s := &sketch{key: key, drawing: make(chan struct{}, 1)}
	if i := slices.IndexFunc(d.kept, func(k *sketch) bool { return k.key == key }); i >= 0 {
		s = d.kept[i]
		d.kept = slices.Delete(d.kept, i, i+1)
	}
	if d.kept = append(d.kept, s); len(d.kept) > lineupsKept {
		d.kept = slices.Delete(d.kept, 0, 1)
	}
	return s
}
