package plan

import "math"

// negligible is a share of the cars below which following a plan further
// changes its expected cost by less than the costs are known; judgement.
const negligible = 1e-3

// base is the base policy: no more checks, repairs in order of probability of
// cure over cost, which is optimal for single faults, independent repairs and
// costs that do not depend on what was done before (Kadane & Simon 1977;
// Heckerman, Breese & Rommelse 1995), and giving up at the best moment.
type base struct {
	p     *Problem
	sets  *atoms
	one   []float64 // belief over sets: scratch
	two   []float64
	done  []int // how often each repair was done: scratch
	stop  []float64
	spent []float64
	order []int
}

func newBase(p *Problem, sets *atoms) *base {
	n := len(sets.kinds)
	return &base{
		p: p, sets: sets,
		one: make([]float64, n), two: make([]float64, n), done: make([]int, len(p.Repairs)),
	}
}

// cost is the expected cost, from a belief over fault sets that sums to mass
// (not normalised: the cost comes out weighted by it), with the engine in the
// given state and each repair done so often already. The order of repairs is
// left in b.order.
func (b *base) cost(belief []float64, state int, done []int) float64 {
	from, to := b.one, b.two
	copy(from, belief)
	copy(b.done, done)
	b.order = b.order[:0]
	b.spent, b.stop = b.spent[:0], b.stop[:0]

	start := sum(from)
	spent := 0.0
	for {
		mass := sum(from)
		b.spent = append(b.spent, spent)
		b.stop = append(b.stop, spent+b.giveUp(from))
		if mass <= negligible*start || mass == 0 {
			break
		}
		r := b.next(from, mass, state)
		if r < 0 {
			break
		}
		spent += mass * b.p.Repairs[r].Cost[state]
		b.sets.mendSets(&b.p.Repairs[r], from, to)
		spent += b.p.Repairs[r].Wrong * sum(to)
		state = b.p.Repairs[r].Then[state]
		b.done[r]++
		b.order = append(b.order, r)
		from, to = to, from
	}
	best, at := math.Inf(1), 0
	for i, s := range b.stop {
		if s < best {
			best, at = s, i
		}
	}
	if last := len(b.spent) - 1; math.IsInf(best, 1) || at == last {
		// Following the order to its end: what is left is negligible or handed on.
		at = last
		best = b.spent[last]
		if rest := b.giveUp(from); !math.IsInf(rest, 1) {
			best += rest
		} else if sum(from) > negligible*start {
			best = math.Inf(1)
		}
	}
	b.order = b.order[:at]
	return best
}

// next is the repair with the greatest probability of cure over cost among
// those allowed, or -1.
func (b *base) next(belief []float64, mass float64, state int) int {
	best, top := -1, 0.0
	for r := range b.p.Repairs {
		rep := &b.p.Repairs[r]
		if b.done[r] >= b.p.Tries {
			continue
		}
		gain, present := 0.0, 0.0
		for i, w := range belief {
			if w == 0 {
				continue
			}
			kinds := b.sets.kinds[i]
			if len(kinds) == 0 {
				gain += w // the run after any repair shows that nothing is wrong
				continue
			}
			any := false
			for _, k := range kinds {
				if q := rep.Cures[k]; q > 0 {
					gain += w * q / float64(len(kinds))
					any = true
				}
			}
			if any {
				present += w
			}
		}
		if gain == 0 || rep.NeedOdds > 0 && present < rep.NeedOdds*mass {
			continue
		}
		price := rep.Cost[state] + rep.Wrong*math.Max(0, 1-gain/mass)
		if score := gain / math.Max(price, tiny); score > top {
			best, top = r, score
		}
	}
	return best
}

// tiny keeps a free repair from dividing by zero.
const tiny = 1e-9

// giveUp is the expected cost of handing the cars of this belief on.
func (b *base) giveUp(belief []float64) float64 {
	cost := 0.0
	for i, w := range belief {
		if w > 0 {
			cost += w * b.sets.giveUp[i]
		}
	}
	return cost
}

func sum(x []float64) float64 {
	s := 0.0
	for _, v := range x {
		s += v
	}
	return s
}
