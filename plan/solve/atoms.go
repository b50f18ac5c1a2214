package solve

import "math"

// atoms are the hypotheses of a problem together with what repairs may make of
// them: a hypothesis with two faults may be left with either one. An atom
// shows in checks what its hypothesis shows. The first atoms are the hypotheses
// themselves. Beside them stand the distinct fault sets, on which the base
// policy is worked out.
type atoms struct {
	p    *Problem
	row  []int   // by atom: the hypothesis whose check outcomes it shows
	set  []int   // by atom: its fault set
	left [][]int // by atom, by mask of faults left: the atom that is left

	kinds  [][]int     // by set
	sub    [][]int     // by set, by mask of faults left: the set that is left
	giveUp []float64   // by set
	gain   [][]float64 // by set, by repair: share that it would cure
	odds   [2][][]bool // by whether its cause was shown, by repair, by set: it counts towards NeedOdds
	after  [][][]share // by repair, by set: what is left of it, without what is cured
	moves  [][]bool    // by repair, by set: the repair changes it
	futile [][]float64 // by repair, by set: probability that it takes nothing away
}

// share is a part of what a repair leaves.
type share struct {
	mask int // of faults left
	to   int // the set
	p    float64
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
	s.compile()
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
	key := setKey(kinds)
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

func setKey(kinds []int) [MaxFaults]int {
	key := [MaxFaults]int{-1, -1, -1}
	copy(key[:], kinds)
	return key
}

// compile works out what each repair does to each fault set.
func (s *atoms) compile() {
	n, sets := len(s.p.Repairs), len(s.kinds)
	s.gain, s.after, s.moves = matrix(sets, n), make([][][]share, n), make([][]bool, n)
	s.odds[0], s.odds[1] = make([][]bool, n), make([][]bool, n)
	s.futile = matrix(n, sets)
	for r := range s.p.Repairs {
		rep := &s.p.Repairs[r]
		reason := rep.reasons()
		s.after[r], s.moves[r] = make([][]share, sets), make([]bool, sets)
		s.odds[0][r], s.odds[1][r] = make([]bool, sets), make([]bool, sets)
		for i, kinds := range s.kinds {
			if len(kinds) == 0 {
				s.gain[i][r], s.moves[r][i] = 1, true // the run after any repair shows that nothing is wrong
				continue
			}
			s.futile[r][i] = 1
			for _, k := range kinds {
				s.futile[r][i] *= 1 - rep.Cures[k]
				s.gain[i][r] += rep.Cures[k] / float64(len(kinds))
				s.moves[r][i] = s.moves[r][i] || rep.Cures[k] > 0
				s.odds[0][r][i] = s.odds[0][r][i] || reason[0][k]
				s.odds[1][r][i] = s.odds[1][r][i] || reason[1][k]
			}
			for mask, to := range s.sub[i] {
				if mask == 0 {
					continue
				}
				p := 1.0
				for b, k := range kinds {
					if mask&(1<<b) != 0 {
						p *= 1 - rep.Cures[k]
					} else {
						p *= rep.Cures[k]
					}
				}
				if p > 0 {
					s.after[r][i] = append(s.after[r][i], share{mask, to, p})
				}
			}
		}
	}
}

// reasons tells, by kind, whether its odds count towards NeedOdds: before the
// cause has been shown (0) and after (1).
func (r *RepairAction) reasons() (counts [2][]bool) {
	counts[0], counts[1] = make([]bool, len(r.Cures)), make([]bool, len(r.Cures))
	for k, q := range r.Cures {
		counts[1][k] = r.For == nil && q > 0
	}
	for _, k := range r.For {
		counts[1][k] = true
	}
	copy(counts[0], counts[1])
	for _, k := range r.Unconfirmed {
		counts[0][k] = false
	}
	return counts
}

// gather sums atom weights by fault set.
func (s *atoms) gather(weight, into []float64) {
	clear(into)
	for a, w := range weight {
		into[s.set[a]] += w
	}
}

// repairSets moves weight as repair r does, from what was to what is left; the
// cured cars leave, since the run after the repair shows that they are.
func (s *atoms) repairSets(r int, from, to []float64) {
	clear(to)
	for i, w := range from {
		if w == 0 {
			continue
		}
		if !s.moves[r][i] {
			to[i] += w
			continue
		}
		for _, x := range s.after[r][i] {
			to[x.to] += w * x.p
		}
	}
}

// repairAtoms does the same for atoms; to has room for all of them.
func (s *atoms) repairAtoms(r int, from, to []float64) {
	clear(to)
	for a, w := range from {
		if w == 0 {
			continue
		}
		set := s.set[a]
		if !s.moves[r][set] {
			to[a] += w
			continue
		}
		for _, x := range s.after[r][set] {
			to[s.left[a][x.mask]] += w * x.p
		}
	}
}

// condition multiplies atom weights by an outcome's probabilities and returns
// the mass that is left.
func (s *atoms) condition(w, p, into []float64) float64 {
	m := 0.0
	hyps := len(p)
	for a, v := range w[:min(hyps, len(w))] {
		v *= p[a]
		m += v
		into[a] = v
	}
	for a := hyps; a < len(w); a++ {
		v := w[a] * p[s.row[a]]
		m += v
		into[a] = v
	}
	return m
}

// futileMass is the weight of the atoms from which a repair takes nothing away.
func (s *atoms) futileMass(r int, weight []float64) float64 {
	m := 0.0
	for a, w := range weight {
		m += w * s.futile[r][s.set[a]]
	}
	return m
}

// present is the weight of what may count towards a repair's NeedOdds.
func (s *atoms) present(r int, proven bool, sets []float64) float64 {
	odds := s.odds[0][r]
	if proven {
		odds = s.odds[1][r]
	}
	m := 0.0
	for i, w := range sets {
		if odds[i] {
			m += w
		}
	}
	return m
}

func sum(x []float64) float64 {
	s := 0.0
	for _, v := range x {
		s += v
	}
	return s
}

func matrix(rows, columns int) [][]float64 {
	flat := make([]float64, rows*columns)
	m := make([][]float64, rows)
	for i := range m {
		m[i] = flat[i*columns : (i+1)*columns : (i+1)*columns]
	}
	return m
}
