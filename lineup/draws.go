package lineup

import (
	"context"
	"math/rand/v2"
)

// drawn draws a round's candidates, counts the tries of each stratum, and keeps those
// that this car's fan can have and that come through the sieve.
func (l *Lineup) drawn(ctx context.Context, r *round, step int) ([]candidate, error) {
	slots := l.slots(r, step)
	first := l.draws
	most := l.model.Settings.TriesMost.Value
	drawn, tries, passes := make([]candidate, len(slots)), make([]int, len(slots)), make([]float64, len(slots))
	if err := l.each(ctx, len(slots), func(_ *kit, i int) {
		s := &slots[i]
		rng, p := l.rng(streamDraw, first+i, step), r.proposals[s.stratum]
		c := candidate{stratum: s.stratum, drawn: first + i, z: make([]float64, l.draw.size)}
		for tries[i] = 1; ; tries[i]++ {
			l.drawPrior(rng, c.z, c.drawn)
			if tries[i] == 1 {
				s.even.draw(rng, c.z, s.place)
				p.draw(s.component, rng, c.z)
			} else {
				p.transform(rng, c.z)
			}
			if l.draw.fits(&c) {
				passes[i] = p.sieve.passes(c.z)
				break
			}
			if float64(tries[i]) >= most {
				break
			}
		}
		drawn[i] = c
	}); err != nil {
		return nil, err
	}
	l.draws += len(slots)
	r.tries = make([]int, len(r.counts))
	kept := drawn[:0]
	// Systematic: each comes through with its own chance, and of all together as many
	// as are expected.
	level := l.rng(streamEven, len(r.counts), step).Float64()
	for i := range drawn {
		r.tries[slots[i].stratum] += tries[i]
		if level += passes[i]; level >= 1 {
			level--
			kept = append(kept, drawn[i])
		}
	}
	return kept, nil
}

// slot is a candidate that is to be drawn.
type slot struct {
	stratum   int
	component int       // of the stratum's mixture
	even      hypercube // of all that come from this component
	place     int       // among them
}

// slots shares a round's draws out. Each component of a stratum's mixture gets its
// share of them, not one by chance (stratified sampling: Owen 2013, ch. 8.4), and
// what is drawn from it lies evenly.
func (l *Lineup) slots(r *round, step int) []slot {
	var out []slot
	for k, n := range r.counts {
		rng, first := l.rng(streamEven, k, step), len(out)
		for j := range n {
			u := (float64(j) + rng.Float64()) / float64(n)
			out = append(out, slot{stratum: k, component: r.proposals[k].pick(u)})
		}
		for first < len(out) {
			end := first
			for end < len(out) && out[end].component == out[first].component {
				end++
			}
			even := newHypercube(rng, l.draw.blocks()[0], end-first)
			for i := first; i < end; i++ {
				out[i].even, out[i].place = even, i-first
			}
			first = end
		}
	}
	return out
}

// drawPrior fills a candidate's latents from the prior. What happened to the
// car has streams of its own, so that a finding made later changes no engine.
func (l *Lineup) drawPrior(rng *rand.Rand, z []float64, i int) {
	blocks := l.draw.blocks()
	for d := range z[:blocks[0]] {
		z[d] = rng.NormFloat64()
	}
	at := blocks[0]
	for b, n := range blocks[1:] {
		l.drawBlock(z[at:at+n], i, b+1)
		at += n
	}
}
