package solve

import (
	"math"
	"sort"
)

// classify sums the belief in k.set by class.
func (k *walker) classify() {
	clear(k.prior)
	for i, v := range k.set {
		k.prior[k.s.class[i]] += v
	}
}

// cheapest is the cost of the cheapest check that is left; infinite if none is.
func (k *walker) cheapest(state int) float64 {
	c := math.Inf(1)
	for i := range k.s.q.Checks {
		if !k.used[i] {
			c = math.Min(c, k.s.q.Checks[i].Cost[state])
		}
	}
	return c
}

// scored is a check and the information it brings per cost.
type scored struct {
	check       int
	cost, score float64
}

// worthwhile lists the unused checks to look at. They are those that tell the classes of
// faults apart best for their cost. The best of those that leave the engine as it is come
// with them: all that needs a cold engine is cheaper before it is started. What shows the
// cause of a costly repair that waits for it comes too.
func (k *walker) worthwhile(w []float64, mass float64, state, level int) []int {
	width := k.e.widths[min(max(level-1, 0), len(k.e.widths)-1)]
	s := k.s
	s.sets.gather(w, k.set)
	var must []int
	for r := range s.q.Repairs {
		if c := k.proof(r, mass, state); c >= 0 {
			must = append(must, c)
		}
	}
	list := k.rate(w, state)
	n := len(list)
	if width > 0 && width < n {
		n = width
		k.cut = true
	}
	out := make([]int, 0, n+len(must)+1)
	for _, x := range list[:n] {
		out = append(out, x.check)
	}
	add := func(c int) {
		for _, x := range out {
			if x == c {
				return
			}
		}
		out = append(out, c)
	}
	for _, x := range list[n:] {
		if s.q.Checks[x.check].Then[state] == state {
			add(x.check)
			break
		}
	}
	for _, c := range must {
		add(c)
	}
	return out
}

// rate lists the unused checks by what they tell about the class of fault per cost,
// best first. The belief stands in k.set.
func (k *walker) rate(w []float64, state int) []scored {
	k.classify()
	list := k.byInfo[:0]
	for c := range k.s.q.Checks {
		if !k.used[c] && !k.barred(c, w) {
			cost := math.Max(k.s.q.Checks[c].Cost[state], tiny)
			list = append(list, scored{c, cost, k.information(w, c) / cost})
		}
	}
	k.byInfo = list
	sort.SliceStable(list, func(i, j int) bool { return list[i].score > list[j].score })
	return list
}

// priceOfBit is what a bit costs by the checks that tell most for their cost, best
// first, made together, times inefficiency.
func (s *Search) priceOfBit(list []scored, mass float64) float64 {
	cost, bits := 0.0, 0.0
	for _, x := range list[:min(bitChecks, len(list))] {
		cost += x.cost
		bits += x.score * x.cost / math.Ln2 / mass
	}
	if bits < tiny {
		return 0 // nothing can be learnt, and repairs alone are the plan
	}
	if s.prefer.Inefficiency > 0 {
		return s.prefer.Inefficiency * cost / bits
	}
	return plainInefficiency * cost / bits
}

// information is what a check is expected to tell about the class of fault, in
// nats, weighted by the mass of w: sum over outcomes o and classes k of
// P(o, k) ln(P(o, k) / P(o) P(k)). The classes' weights stand in k.prior.
func (k *walker) information(w []float64, c int) float64 {
	s := k.s
	hyps := len(s.q.Weight)
	info := plogp(sum(k.prior))
	for _, v := range k.prior {
		info -= plogp(v)
	}
	for _, row := range s.q.Checks[c].P {
		clear(k.joint)
		for class, span := range s.spans {
			if k.prior[class] > 0 {
				k.joint[class] = dot2(w[span[0]:span[1]], row[span[0]:span[1]])
			}
		}
		for a := hyps; a < len(w); a++ {
			if v := w[a]; v != 0 {
				k.joint[s.class[s.sets.set[a]]] += v * row[s.sets.row[a]]
			}
		}
		info -= plogp(sum(k.joint))
		for _, v := range k.joint {
			info += plogp(v)
		}
	}
	return info
}

func dot2(a, b []float64) float64 {
	v := 0.0
	b = b[:len(a)]
	for i, x := range a {
		v += x * b[i]
	}
	return v
}
