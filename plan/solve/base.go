package solve

import "math"

// negligible is a share of the cars below which following a plan further
// changes its expected cost by less than the costs are known; judgement. What
// is left is handed on, where that is possible.
const negligible = 1e-3

// base is the base policy: no more checks, repairs in order of probability of
// cure over cost, which is optimal for single faults, independent repairs and
// costs that do not depend on what was done before (Kadane & Simon 1977;
// Heckerman, Breese & Rommelse 1995), and giving up at the best moment.
//
// Costs that several actions share, such as waiting for the engine to cool, are charged
// to the first that needs them. So the order is one of probability over cost within what
// the engine is ready for. Where that leaves something costly for later, the search above
// compares the ways (search.go).
type base struct {
	p     *Problem
	sets  *atoms
	one   []float64 // belief over sets: scratch
	two   []float64
	done  []int // how often each repair was done: scratch
	stop  []float64
	spent []float64
	order []int
	first int
	cures []float64 // by repair: the mass that it would cure
	look  []float64 // by repair: what must be looked at first costs; nil: nothing
}

func newBase(p *Problem, sets *atoms) *base {
	n := len(sets.kinds)
	return &base{
		p: p, sets: sets,
		one: make([]float64, n), two: make([]float64, n), done: make([]int, len(p.Repairs)),
		cures: make([]float64, len(p.Repairs)),
	}
}

// cost is the expected cost, from a belief over fault sets that sums to mass. It is not
// normalised: the cost comes out weighted by it. The engine is in the given state, each
// repair was done so often already, and each cause was shown or not. The order of repairs
// is left in b.order, the first by probability over cost in b.first.
func (b *base) cost(belief []float64, state int, done []int, proven []bool) float64 {
	from, to := b.one, b.two
	copy(from, belief)
	copy(b.done, done)
	b.order, b.first = b.order[:0], -1
	b.spent, b.stop = b.spent[:0], b.stop[:0]

	b.gains(from)
	start := sum(from)
	mass := start
	spent, giveUp := 0.0, b.giveUp(from)
	for {
		b.spent = append(b.spent, spent)
		b.stop = append(b.stop, spent+giveUp)
		if mass <= negligible*start || mass == 0 {
			break
		}
		r := b.next(from, mass, state, proven)
		if len(b.spent) == 1 {
			b.first = r
		}
		if r < 0 {
			break
		}
		rep := &b.p.Repairs[r]
		spent += mass*(rep.Cost[state]+b.lookCost(r)) + rep.Wrong*dot(b.sets.futile[r], from)
		b.sets.repairSets(r, from, to)
		for i, w := range from {
			if d := to[i] - w; d != 0 {
				mass += d
				b.gain(i, d)
			}
		}
		mass, giveUp = math.Max(mass, 0), b.giveUp(to)
		state = rep.Then[state]
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
	if last := len(b.spent) - 1; math.IsInf(best, 1) {
		// Handing on is impossible: the order is followed to its end, and what is
		// left must be negligible.
		at = last
		best = b.spent[last]
		if mass > negligible*start {
			best = math.Inf(1)
		}
	}
	b.order = b.order[:at]
	return best
}

// lookCost is what must be paid before repair r for the first look at what it
// replaces; infinite where a rule bars it.
func (b *base) lookCost(r int) float64 {
	if b.look == nil || b.done[r] > 0 {
		return 0
	}
	return b.look[r]
}

// gains works out, for every repair, the mass that it would cure.
func (b *base) gains(belief []float64) {
	clear(b.cures)
	for i, w := range belief {
		if w != 0 {
			b.gain(i, w)
		}
	}
}

// gain adds the weight d of a fault set to what every repair would cure.
func (b *base) gain(set int, d float64) {
	for r, g := range b.sets.gain[set] {
		b.cures[r] += d * g
	}
}

// next is the repair with the greatest probability of cure over cost among
// those allowed, or -1. The mass that each would cure stands in b.cures.
func (b *base) next(belief []float64, mass float64, state int, proven []bool) int {
	best, top := -1, 0.0
	for r, gain := range b.cures {
		rep := &b.p.Repairs[r]
		if b.done[r] >= b.p.Tries || gain <= tiny*mass {
			continue
		}
		price := rep.Cost[state] + rep.Wrong*math.Max(0, 1-gain/mass) + b.lookCost(r)
		if score := gain / math.Max(price, tiny); score > top {
			if rep.NeedOdds > 0 && b.sets.present(r, proven[r], belief) < rep.NeedOdds*mass {
				continue
			}
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
