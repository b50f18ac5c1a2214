package solve

import "math"

// findOut estimates what it costs to find out what is wrong, per unit of mass:
// the entropy of the classes of faults times what a bit costs. This is the
// information heuristic of test sequencing (Pattipati & Alexandridis 1990 bound
// the cost of tests by entropy). The belief stands in k.set.
func (k *walker) findOut() float64 {
	k.classify()
	mass := sum(k.prior)
	h := plogp(mass)
	for _, v := range k.prior {
		h -= plogp(v)
	}
	return h / math.Max(mass, tiny) / math.Ln2 * k.bit
}

// stillToShow is what it costs, weighted by mass, that a costly repair must wait for
// a direct check: the cheapest that is left, or handing the car on where none is.
// The belief stands in k.set.
func (k *walker) stillToShow(state int) float64 {
	s, v := k.s, 0.0
	for r := range s.q.Repairs {
		if k.confirmed[r] || len(s.q.Repairs[r].Unconfirmed) == 0 {
			continue
		}
		cost := math.Inf(1)
		for _, p := range s.q.Repairs[r].Confirmations {
			if !k.used[p.Check] {
				cost = math.Min(cost, s.q.Checks[p.Check].Cost[state])
			}
		}
		for i, w := range k.set {
			if w > 0 && s.sets.odds[1][r][i] && !s.sets.odds[0][r][i] {
				v += w * math.Min(cost, math.Max(0, s.sets.giveUp[i]-s.known[state][i]))
			}
		}
	}
	return v
}

// proveAndRepair is what a belief costs where the walk stops: the base policy,
// or, where a costly repair wants a direct check first, that check and then the
// base policy, if it is cheaper.
func (k *walker) proveAndRepair(w []float64, mass float64, state, level int, best float64, do choice) (likely, most float64, _ choice) {
	s := k.s
	for r := range s.q.Repairs {
		c := k.proof(r, mass, state)
		if c < 0 {
			continue
		}
		ch := &s.q.Checks[c]
		v := mass * ch.Cost[state]
		for o := range ch.P {
			next := k.room(level, len(w))
			if s.sets.condition(w, ch.P[o], next) <= 0 || v >= best {
				continue
			}
			undo := k.show(c, o)
			k.raise(c, o, 1)
			k.used[c] = true
			k.base.look = k.locks(ch.Then[state])
			s.sets.gather(next, k.set)
			v += k.base.cost(k.set, ch.Then[state], k.done, k.confirmed)
			k.used[c] = false
			k.raise(c, o, -1)
			k.hide(undo)
		}
		if v < best {
			best, do = v, choice{DoCheck, c}
		}
		s.sets.gather(w, k.set)
	}
	return best, best, do
}

// proof is the cheapest unused check that may show the cause of a repair which
// only wants that, or -1. The belief stands in k.set.
func (k *walker) proof(r int, mass float64, state int) int {
	rep := &k.s.q.Repairs[r]
	if k.confirmed[r] || len(rep.Unconfirmed) == 0 || k.s.sets.present(r, true, k.set) < rep.NeedOdds*mass {
		return -1
	}
	best := -1
	for _, p := range rep.Confirmations {
		if !k.used[p.Check] && !k.shut(p.Check) && (best < 0 || k.s.q.Checks[p.Check].Cost[state] < k.s.q.Checks[best].Cost[state]) {
			best = p.Check
		}
	}
	return best
}

func plogp(p float64) float64 {
	if p <= 0 {
		return 0
	}
	return p * math.Log(p)
}
