package plan

import "math"

// atoms are the hypotheses of a problem together with what repairs may make of
// them: a hypothesis with two faults may be left with either one. An atom
// shows in checks what its hypothesis shows. Beside them stand the distinct
// fault sets, a few dozen, on which the base policy is reckoned.
type atoms struct {
	p    *Problem
	row  []int   // by atom: the hypothesis whose check outcomes it shows
	set  []int   // by atom: its fault set
	left [][]int // by atom, by mask of faults left: the atom that is left

	kinds  [][]int   // by set
	sub    [][]int   // by set, by mask of faults left: the set that is left
	giveUp []float64 // by set
}

func newAtoms(p *Problem) *atoms {
	s := &atoms{p: p}
	index := make(map[[MaxFaults]int]int)
	for h, f := range p.Faults {
		s.row = append(s.row, h)
		s.set = append(s.set, s.number(index, f))
		s.left = append(s.left, nil)
	}
	for h := range p.Faults {
		s.split(h, p.Faults[h])
	}
	return s
}

// split makes the atoms that repairs may make of hypothesis h.
func (s *atoms) split(h int, kinds []int) {
	left := make([]int, 1<<len(kinds))
	made := []int{h}
	for mask := range left {
		if mask == len(left)-1 {
			left[mask] = h
			continue
		}
		left[mask] = len(s.row)
		made = append(made, len(s.row))
		s.row = append(s.row, h)
		s.set = append(s.set, s.sub[s.set[h]][mask])
		s.left = append(s.left, nil)
	}
	// What is left of a part is a part of the whole: masks compose.
	masks := make(map[int]int)
	for mask, a := range left {
		masks[a] = mask
	}
	for _, a := range made {
		whole := masks[a]
		var bits []int
		for b := range kinds {
			if whole&(1<<b) != 0 {
				bits = append(bits, b)
			}
		}
		s.left[a] = make([]int, 1<<len(bits))
		for mask := range s.left[a] {
			m := 0
			for i, b := range bits {
				if mask&(1<<i) != 0 {
					m |= 1 << b
				}
			}
			s.left[a][mask] = left[m]
		}
	}
}

// number gives a fault set its number, and its subsets theirs.
func (s *atoms) number(index map[[MaxFaults]int]int, kinds []int) int {
	key := [MaxFaults]int{-1, -1, -1}
	copy(key[:], kinds)
	if i, ok := index[key]; ok {
		return i
	}
	i := len(s.kinds)
	index[key] = i
	s.kinds = append(s.kinds, append([]int(nil), kinds...))
	s.sub = append(s.sub, nil)
	cost := 0.0
	for _, k := range kinds {
		cost = math.Max(cost, s.p.GiveUp[k])
	}
	s.giveUp = append(s.giveUp, cost)
	sub := make([]int, 1<<len(kinds))
	for mask := range sub {
		var left []int
		for b, k := range kinds {
			if mask&(1<<b) != 0 {
				left = append(left, k)
			}
		}
		if mask == len(sub)-1 {
			sub[mask] = i
		} else {
			sub[mask] = s.number(index, left)
		}
	}
	s.sub[i] = sub
	return i
}

// gather sums atom weights by fault set.
func (s *atoms) gather(weight, into []float64) {
	clear(into)
	for a, w := range weight {
		into[s.set[a]] += w
	}
}

// mend moves weight as repair r does, from what was to what is left; the cured
// cars leave, since the run after the repair shows that they are. Members are
// fault sets (with sets and sub) or atoms (with their sets and left).
func mend(r *Repair, kinds func(member int) []int, left [][]int, from, to []float64) {
	clear(to)
	for m, w := range from {
		if w == 0 {
			continue
		}
		has := kinds(m)
		if len(has) == 0 {
			continue
		}
		for mask, rest := range left[m] {
			if mask == 0 {
				continue
			}
			p := w
			for b, k := range has {
				if mask&(1<<b) != 0 {
					p *= 1 - r.Cures[k]
				} else {
					p *= r.Cures[k]
				}
			}
			if p > 0 {
				to[rest] += p
			}
		}
	}
}

func (s *atoms) mendSets(r *Repair, from, to []float64) {
	mend(r, func(i int) []int { return s.kinds[i] }, s.sub, from, to)
}

func (s *atoms) mendAtoms(r *Repair, from, to []float64) {
	mend(r, func(a int) []int { return s.kinds[s.set[a]] }, s.left, from, to)
}

// condition multiplies atom weights by an outcome's probabilities and returns
// the mass that is left.
func (s *atoms) condition(w, p, into []float64) float64 {
	m := 0.0
	for a, v := range w {
		if v != 0 {
			v *= p[s.row[a]]
			m += v
		}
		into[a] = v
	}
	return m
}
