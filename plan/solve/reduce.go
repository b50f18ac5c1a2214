package solve

import "slices"

// reduce makes a problem of at most limit hypotheses out of one of many. Those with the
// same faults are put together where they show nearly the same. A group shows the
// weighted mean of what its members show. So the chance of every outcome of a first check
// stays exactly what it was. Kinds of fault that every repair treats alike become one.
// Few enough hypotheses stay as they are.
//
// Groups are split where they differ most: always the one with the greatest
// weighted variance of its outcomes, at the mean of the outcome that varies most.
func reduce(p *Problem, limit int) *Problem {
	alike := alikeKinds(p)
	bySet := make(map[[MaxFaults]int]int)
	var groups []group
	faults := make([][]int, len(p.Faults))
	for h, f := range p.Faults {
		if p.Weight[h] == 0 {
			continue // impossible
		}
		for _, k := range f {
			if !slices.Contains(faults[h], alike[k]) {
				faults[h] = append(faults[h], alike[k])
			}
		}
		slices.Sort(faults[h])
		key := setKey(faults[h])
		if len(p.Faults) <= limit {
			key[MaxFaults-1] = -2 - h // each for itself
		}
		g, ok := bySet[key]
		if !ok {
			g = len(groups)
			bySet[key] = g
			groups = append(groups, group{})
		}
		groups[g].members = append(groups[g].members, h)
	}
	if len(p.Faults) > limit {
		for g := range groups {
			groups[g].measure(p)
		}
		for len(groups) < limit {
			worst := 0
			for g := range groups {
				if groups[g].spread > groups[worst].spread {
					worst = g
				}
			}
			if groups[worst].spread <= 0 {
				break
			}
			if high := groups[worst].split(p); len(high.members) > 0 {
				groups = append(groups, high)
			}
		}
	}
	return p.grouped(groups, faults)
}

// alikeKinds gives each kind the first one that all repairs treat as they treat it.
// Faults of one hypothesis are never merged into one another's kind: two hoses
// that leak are two repairs.
func alikeKinds(p *Problem) []int {
	alike := make([]int, p.Kinds)
	together := make(map[[2]int]bool)
	for _, f := range p.Faults {
		for i, a := range f {
			for _, b := range f[i+1:] {
				together[[2]int{a, b}], together[[2]int{b, a}] = true, true
			}
		}
	}
	same := func(a, b int) bool {
		for j := range b {
			if (j == a || alike[j] == a) && together[[2]int{j, b}] {
				return false
			}
		}
		if p.GiveUp[a] != p.GiveUp[b] {
			return false
		}
		for r := range p.Repairs {
			rep := &p.Repairs[r]
			if rep.Cures[a] != rep.Cures[b] || slices.Contains(rep.For, a) != slices.Contains(rep.For, b) ||
				slices.Contains(rep.Unconfirmed, a) != slices.Contains(rep.Unconfirmed, b) {
				return false
			}
		}
		return true
	}
	for k := range alike {
		alike[k] = k
		for j := range k {
			if alike[j] == j && same(j, k) {
				alike[k] = j
				break
			}
		}
	}
	return alike
}

// group is hypotheses with the same faults.
type group struct {
	members []int
	spread  float64 // weighted variance of all outcomes
	column  [2]int  // the check and outcome that vary most
	mean    float64 // of that outcome
}

// measure works out how much the members differ.
func (g *group) measure(p *Problem) {
	g.spread = 0
	if len(g.members) < 2 {
		return
	}
	mass := 0.0
	for _, h := range g.members {
		mass += p.Weight[h]
	}
	top := 0.0
	for c := range p.Checks {
		for o, row := range p.Checks[c].P {
			s, s2 := 0.0, 0.0
			for _, h := range g.members {
				x := p.Weight[h] * row[h]
				s += x
				s2 += x * row[h]
			}
			v := s2 - s*s/mass
			if v < 1e-12*mass {
				continue
			}
			g.spread += v
			if v > top {
				top, g.column, g.mean = v, [2]int{c, o}, s/mass
			}
		}
	}
}

// split keeps the members below the mean and returns the others.
func (g *group) split(p *Problem) group {
	row := p.Checks[g.column[0]].P[g.column[1]]
	var low, high group
	for _, h := range g.members {
		if row[h] <= g.mean {
			low.members = append(low.members, h)
		} else {
			high.members = append(high.members, h)
		}
	}
	if len(low.members) == 0 || len(high.members) == 0 {
		g.spread = 0 // they differ by no more than rounding
		return group{}
	}
	low.measure(p)
	high.measure(p)
	*g = low
	return high
}

// grouped is the problem of the groups, with the kinds of faults as given.
func (p *Problem) grouped(groups []group, faults [][]int) *Problem {
	q := *p
	q.Weight, q.Faults = make([]float64, len(groups)), make([][]int, len(groups))
	q.Checks = make([]CheckAction, len(p.Checks))
	for g, gr := range groups {
		q.Faults[g] = faults[gr.members[0]]
		for _, h := range gr.members {
			q.Weight[g] += p.Weight[h]
		}
	}
	for c := range p.Checks {
		ch := p.Checks[c]
		ch.P = matrix(len(ch.P), len(groups))
		for o, row := range p.Checks[c].P {
			for g, gr := range groups {
				if q.Weight[g] == 0 {
					ch.P[o][g] = row[gr.members[0]]
					continue
				}
				for _, h := range gr.members {
					ch.P[o][g] += p.Weight[h] * row[h] / q.Weight[g]
				}
			}
		}
		if ch.Hurt != nil {
			ch.Hurt = make([]float64, len(groups))
			for g, gr := range groups {
				for _, h := range gr.members {
					ch.Hurt[g] += p.Weight[h] * p.Checks[c].Hurt[h] / max(q.Weight[g], tiny)
				}
			}
		}
		q.Checks[c] = ch
	}
	return &q
}
