package solve

import (
	"fmt"
	"math"
	"sort"
)

// attempt is one doing of a repair against one kind of fault.
type attempt struct {
	repair      int
	cost, cures float64
}

// attempts lists what may be done against one kind of fault when it is known, best
// first: in order of probability over cost. Each repair counts as often as it
// may be done, at its cost in the state of the engine that suits it best, with what a repair
// that changes nothing costs in trust.
func (p *Problem) attempts(kind int) []attempt {
	var list []attempt
	for r := range p.Repairs {
		rep := &p.Repairs[r]
		q := rep.Cures[kind]
		if q <= 0 {
			continue
		}
		c := math.Inf(1)
		for _, x := range rep.Cost {
			c = math.Min(c, x)
		}
		for range p.Tries - rep.Done {
			list = append(list, attempt{r, c + (1-q)*rep.Wrong, q})
		}
	}
	sort.SliceStable(list, func(i, j int) bool { return list[i].cures*list[j].cost > list[j].cures*list[i].cost })
	return list
}

// knownKind is what curing one known fault costs at least, and the repair to
// begin with (-1: hand it on). For one fault and independent attempts that order is
// the optimum (Kadane & Simon 1977), given up where going on would cost more:
// V_i = min(g, c_i + (1 - q_i) V_(i+1)).
func (p *Problem) knownKind(kind int) (cost float64, first int) {
	list := p.attempts(kind)
	v := p.GiveUp[kind]
	if math.IsInf(v, 1) {
		v = 0 // what is left when all has been tried is not counted: a bound from below
	}
	first = -1
	for i := len(list) - 1; i >= 0; i-- {
		a := list[i]
		if on := a.cost + (1-a.cures)*v; on < p.GiveUp[kind] {
			v, first = on, a.repair
		} else {
			v, first = p.GiveUp[kind], -1
		}
	}
	return v, first
}

// known gives, by state of the engine and fault set, a lower bound on the cost of curing
// a car whose faults are known. It gives the class of each set too. Those that need the
// same repairs share one, since telling them apart is worth nothing. What is not known
// costs more, so the mean over a belief bounds every plan from below.
//
// Of several faults the dearest alone is counted, or, where no repair cures two of
// them, their sum. Nothing need be shown first. The state of the engine adds what
// the first repair costs more in it than in the best one.
func (s *atoms) known() (costs [][]float64, class []int, classes int) {
	p := s.p
	one, first := make([]float64, p.Kinds), make([]int, p.Kinds)
	for k := range one {
		one[k], first[k] = p.knownKind(k)
	}
	extra := s.unready()
	costs = make([][]float64, p.States)
	for x := range costs {
		costs[x] = make([]float64, len(s.kinds))
	}
	index := make(map[string]int)
	for i, kinds := range s.kinds {
		least := 0.0
		var need []int
		for _, k := range kinds {
			least = math.Max(least, one[k])
			need = append(need, first[k])
		}
		if all := sumAt(one, kinds); all < s.giveUp[i] && s.apart(kinds) {
			least = all
		}
		if len(kinds) == 0 {
			least = math.Inf(1)
			for _, r := range p.Repairs {
				for _, c := range r.Cost {
					least = math.Min(least, c)
				}
			}
		}
		for x := range costs {
			costs[x][i] = math.Min(least+extra[x][i], math.Max(s.giveUp[i], least))
		}
		sort.Ints(need)
		key := fmt.Sprint(need)
		if _, ok := index[key]; !ok {
			index[key] = len(index)
		}
		class = append(class, index[key])
	}
	return costs, class, len(index)
}

// apart is true when no repair cures two of the faults.
func (s *atoms) apart(kinds []int) bool {
	for _, r := range s.p.Repairs {
		n := 0
		for _, k := range kinds {
			if r.Cures[k] > 0 {
				n++
			}
		}
		if n > 1 {
			return false
		}
	}
	return true
}

func sumAt(x []float64, at []int) float64 {
	v := 0.0
	for _, k := range at {
		v += x[k]
	}
	return v
}

// unready is, by state and fault set, how much more the repair that suffers least from
// the engine's state costs in it than in the best state. A check may be made just for the
// state that it leaves the engine in.
func (s *atoms) unready() [][]float64 {
	p := s.p
	extra := make([][]float64, p.States)
	for x := range extra {
		extra[x] = make([]float64, len(s.kinds))
		for i := range s.kinds {
			extra[x][i] = math.Inf(1)
			for r := range p.Repairs {
				if s.moves[r][i] {
					best := math.Inf(1)
					for _, c := range p.Repairs[r].Cost {
						best = math.Min(best, c)
					}
					extra[x][i] = math.Min(extra[x][i], p.Repairs[r].Cost[x]-best)
				}
			}
			if math.IsInf(extra[x][i], 1) {
				extra[x][i] = 0
			}
		}
	}
	for range p.States {
		for x := range extra {
			for c := range p.Checks {
				for i := range s.kinds {
					extra[x][i] = math.Min(extra[x][i], p.Checks[c].Cost[x]+extra[p.Checks[c].Then[x]][i])
				}
			}
		}
	}
	return extra
}
