// Package worktest has what tests share who work the same jobs.
//
// Problem: most tests of the screens and of the commands begin with the same few jobs, and
// each drew the same engines again.
//
// Model: a lineup hangs on its model, its case, the number of its candidates and its seed
// alone, to the last digit. So it may be drawn once and handed to all who ask for it.
//
// Where it stops being true: whoever asks how far a drawing is, or how long one takes, has
// to draw for himself.
package worktest

import (
	"context"
	"slices"
	"sync"

	"weephole/internal/work"
	"weephole/lineup"
)

// Shelf keeps the lineups that were asked for last. It may be used from many goroutines.
// The zero Shelf is empty.
type Shelf struct {
	mu   sync.Mutex
	kept []*volume // the one that was asked for last stands at the end
}

// mostEngines is how many engines a shelf keeps in all: some 8 kB each. Judgement.
const mostEngines = 60000

// volume is one lineup, drawn or being drawn.
type volume struct {
	title
	drawing sync.Mutex
	l       *lineup.Lineup // guarded by drawing
	size    int            // of the lineup once it is drawn; guarded by the shelf's mutex
}

// title is all that a lineup hangs on.
type title struct {
	model      *lineup.Model
	key        string // of the case
	candidates int
	seed       uint64
	still      bool
}

// Share is a work.Sharing.
func (s *Shelf) Share(ctx context.Context, m *lineup.Model, cs lineup.Case, o lineup.DrawOptions, draw func(context.Context) (*lineup.Lineup, error)) (*lineup.Lineup, error) {
	key, err := work.KeyOf(cs)
	if err != nil {
		return nil, err
	}
	v := s.volume(title{m, key, o.Candidates, o.Seed, o.KeepStill})
	v.drawing.Lock()
	defer v.drawing.Unlock()
	if v.l != nil {
		return v.l, nil
	}
	l, err := draw(ctx)
	if err != nil {
		return nil, err
	}
	// A rough lineup is warmed by whoever asks for it, and that writes into it. Nothing
	// is left to be written for those who come later.
	if o.KeepStill {
		if err := l.Warm(ctx); err != nil {
			return nil, err
		}
	}
	v.l = l
	s.keep(v, l.Size())
	return l, nil
}

// volume is the one with the title, moved to the end of the shelf.
func (s *Shelf) volume(t title) *volume {
	s.mu.Lock()
	defer s.mu.Unlock()
	v := &volume{title: t}
	if i := slices.IndexFunc(s.kept, func(v *volume) bool { return v.title == t }); i >= 0 {
		v = s.kept[i]
		s.kept = slices.Delete(s.kept, i, i+1)
	}
	s.kept = append(s.kept, v)
	return v
}

// keep makes room for a volume that has been drawn.
func (s *Shelf) keep(v *volume, size int) {
	s.mu.Lock()
	defer s.mu.Unlock()
	v.size = size
	all := 0
	for _, k := range s.kept {
		all += k.size
	}
	for all > mostEngines && len(s.kept) > 1 {
		all -= s.kept[0].size
		s.kept = slices.Delete(s.kept, 0, 1)
	}
}
