package lineup

import (
	"math"

	"golang.org/x/sync/errgroup"
	"gonum.org/v1/gonum/mat"
)

// view is the engines drawn so far, made ready for fitting proposals.
type view struct {
	l      *Lineup
	set    *Settings
	active []int       // latents that act smoothly and may be fitted
	dirs   *mat.Dense  // outputs x K: the directions of the misfit; nil without logs and readings
	at     [][]float64 // by candidate: misfit along the directions
	worth  *float64    // level for the logs of strata that have too few engines for one of their own
}

// proposals fits a mixture to each stratum from the engines drawn so far: first to
// each cause alone, then to the pairs, which borrow from the closer of the two.
func (l *Lineup) proposals() []proposal {
	view, members, strata := l.newView(), l.members, l.draw.strata
	out, own := make([]proposal, len(strata)), make([]*linear, len(strata))
	l.eachStratum(func(k int) { own[k] = view.fit(members[k]) })
	single := l.singles()
	best := l.fittest(own, single)
	place := view.place(best)
	alone := l.draw.dim + latentSeverity
	l.eachStratum(func(k int) {
		if strata[k].causes[1] >= 0 {
			return
		}
		lin := own[k]
		if lin == nil && best >= 0 {
			lin = view.borrow(own[best], -1, members[k])
		}
		base := place
		if k == best {
			base = nil
		}
		out[k] = view.mix(k, lin, base)
	})
	l.eachStratum(func(k int) {
		c := strata[k].causes
		if c[1] < 0 {
			return
		}
		from, second := l.closer(single, c)
		severity := alone
		if second {
			severity += latentsPerFault
		}
		lin := own[k]
		if lin == nil {
			lin = view.borrow(own[from], severity, members[k])
		}
		var base shape
		if m := out[from].mixture; len(m) > 0 {
			base = alike{mixture: m, at: l.draw.dim, swap: second}
		}
		out[k] = view.mix(k, lin, base)
		switch {
		case out[k].sieve != nil:
		case second:
			out[k].sieve = out[from].sieve.swapped(l.draw.dim)
		default:
			out[k].sieve = out[from].sieve
		}
	})
	return out
}

// place is where the engines of the cause that fits best lie, whatever its own severity
// and site: two faults that act alike want much the same engine. nil where none has
// engines enough.
func (v *view) place(best int) shape {
	if best < 0 {
		return nil
	}
	from, list := v.l.draw.dim, v.l.members[best]
	if b, ok := v.moments(list, v.tempered(list, v.set.MomentEngines.Value), func(d int) bool { return d < from || d >= from+2*latentsPerFault }); ok {
		return b
	}
	return nil
}

// fittest is the stratum of one cause that has a fit and the most evidence; -1 if
// none has.
func (l *Lineup) fittest(own []*linear, single map[int]int) int {
	best := -1
	for _, k := range single {
		if own[k] == nil {
			continue
		}
		if best < 0 || l.evidenceOf(k) > l.evidenceOf(best) || l.evidenceOf(k) == l.evidenceOf(best) && k < best {
			best = k
		}
	}
	return best
}

// singles are the strata of one cause, by cause.
func (l *Lineup) singles() map[int]int {
	single := make(map[int]int)
	for k, s := range l.draw.strata {
		if s.causes[1] < 0 {
			single[s.causes[0]] = k
		}
	}
	return single
}

// closer is the stratum of the one of two causes that alone explains the evidence
// better; second is true if it is the second of the two.
func (l *Lineup) closer(single map[int]int, c [2]int) (k int, second bool) {
	if l.evidenceOf(single[c[1]]) > l.evidenceOf(single[c[0]]) {
		return single[c[1]], true
	}
	return single[c[0]], false
}

// evidenceOf is a stratum's posterior mass over its prior: its evidence, but for a
// factor that all have.
func (l *Lineup) evidenceOf(k int) float64 {
	sum := 0.0
	for _, i := range l.members[k] {
		sum += l.pop.weights[i]
	}
	return sum / l.draw.strata[k].prior
}

// mix makes a stratum's mixture of several shapes. The first is that of the linear fit,
// with the moments of the latents that do not act smoothly. The others are that of the
// moments of all, the one of a stratum that is much alike, if there is one, and the
// prior. Their shares follow what the last ones were worth.
func (v *view) mix(k int, lin *linear, base shape) proposal {
	list := v.l.members[k]
	w := v.tempered(list, v.set.MomentEngines.Value)
	enough := effectiveSize(w) >= v.set.MomentLeast.Value
	var m mixture
	out := proposal{set: v.set}
	if base != nil {
		m = append(m, component{shape: base})
	}
	if n, ok := lin.normal(); ok {
		c := component{shape: n}
		smooth := make(map[int]bool)
		for _, d := range v.active {
			smooth[d] = true
		}
		if enough {
			if rough, ok := v.moments(list, w, func(d int) bool { return !smooth[d] }); ok {
				c.shape = product{n, rough}
			}
		}
		m = append(m, c)
	}
	if enough {
		if b, ok := v.moments(list, w, func(int) bool { return true }); ok {
			m = append(m, component{shape: b})
			out.sieve = v.l.newSieve(b, list)
		}
	}
	out.worth = v.worth
	if enough {
		out.worth = v.l.worthDriving(list)
	}
	out.mixture = v.balance(m, list)
	return out
}

// balance gives each component a share by how much of the posterior's weight
// it accounts for, were all drawn alike (one step of expectation maximisation;
// Cappé, Douc, Guillin, Marin & Robert 2008). Each and the prior keep a little.
func (v *view) balance(m mixture, list []int) mixture {
	if len(m) == 0 {
		return m
	}
	p := v.l.pop
	took, total := make([]float64, len(m)), 0.0
	for _, i := range list {
		if p.weights[i] == 0 {
			continue
		}
		parts, all := make([]float64, len(m)), 1.0
		for c := range m {
			parts[c] = math.Exp(m[c].logRatio(p.cands[i].z))
			all += parts[c]
		}
		for c := range m {
			took[c] += p.weights[i] * parts[c] / all
		}
		total += p.weights[i]
	}
	least := v.set.ShareLeast.Value
	for c := range m {
		m[c].share = least
		if total > 0 {
			m[c].share += (1 - least*float64(len(m)+1)) * took[c] / total
		}
	}
	return m
}

// eachStratum calls f for every stratum from several goroutines.
func (l *Lineup) eachStratum(f func(k int)) {
	var g errgroup.Group
	g.SetLimit(l.opts.Workers)
	for k := range l.draw.strata {
		g.Go(func() error { f(k); return nil })
	}
	_ = g.Wait() // none returns an error
}

func (l *Lineup) newView() *view {
	everybody := make([]int, l.pop.size())
	for i := range everybody {
		everybody[i] = i
	}
	v := &view{l: l, set: l.model.Settings, worth: l.worthDriving(everybody)}
	for d := range l.draw.dim {
		v.active = append(v.active, d)
	}
	for k := range 2 {
		v.active = append(v.active, l.draw.dim+k*latentsPerFault+latentSeverity)
	}
	v.active = append(v.active, l.draw.gunAt())
	for _, at := range l.draw.logAt {
		v.active = append(v.active, at+latentHeater)
	}
	v.findDirections()
	return v
}
