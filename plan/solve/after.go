package solve

import "math"

// Remainder is what a repair would leave: a belief over the sets of faults that
// are still there. What is missing from one is cured.
type Remainder struct {
	s    *Search
	sets []float64
}

// After is what a repair with these chances of cure, by kind, leaves of the
// given weights of the hypotheses.
func (s *Search) After(weight, cures []float64) Remainder {
	left := make([]float64, len(s.full.kinds))
	for h, w := range weight {
		kinds := s.p.Faults[h]
		for mask, to := range s.full.sub[s.full.set[h]] {
			p := w
			for b, k := range kinds {
				if mask&(1<<b) != 0 {
					p *= 1 - cures[k]
				} else {
					p *= cures[k]
				}
			}
			if mask != 0 {
				left[to] += p
			}
		}
	}
	return Remainder{s, left}
}

// Mass is the probability that a fault is left.
func (r Remainder) Mass() float64 { return sum(r.sets) }

// Cured is the probability that a fault is left and that the repair of this
// number would then cure the car.
func (r Remainder) Cured(repair int) (p float64) {
	for set, w := range r.sets {
		if len(r.s.full.kinds[set]) > 0 {
			p += w * r.s.full.gain[set][repair]
		}
	}
	return p
}

// RepairsAlone is the expected cost of the base policy from here, with the
// engine in the given state, weighted by Mass.
func (r Remainder) RepairsAlone(state int) float64 {
	p := r.s.p
	done, proven := make([]int, len(p.Repairs)), make([]bool, len(p.Repairs))
	for i := range p.Repairs {
		done[i], proven[i] = p.Repairs[i].Done, p.Repairs[i].Confirmed
	}
	return newBase(p, r.s.full).cost(r.sets, state, done, proven)
}

// Entropy is that of the sets of faults, in bits, weighted by the sum of the
// weights.
func (s *Search) Entropy(weight []float64) float64 {
	sets := make([]float64, len(s.full.kinds))
	s.full.gather(weight, sets)
	h := plogp(sum(sets))
	for _, w := range sets {
		h -= plogp(w)
	}
	return h / math.Ln2
}

// BitPrice is what a bit of information costs by the most telling checks, with
// the engine in the given state.
func (s *Search) BitPrice(state int) float64 { return s.perBit[state] }
