package plan

import (
	"context"
	"fmt"
	"math"
	"sort"
)

// Action is one thing to do next: a check, a repair, or handing the car on.
type Action struct {
	Kind  ActionKind
	Index int // of the check or repair
	// Cost of the action itself, in the present state of the engine.
	Cost float64
	// Expected is the expected cost from now to a cured car when it is done
	// next and the search's policy is followed after it.
	Expected float64
	// Outcomes of a check; of a repair: cured (0) and not (1).
	Outcomes []Outcome

	present float64 // of a repair: probability that something it cures is there
}

// ActionKind tells checks from repairs.
type ActionKind uint8

// The kinds of action.
const (
	DoCheck ActionKind = iota
	DoRepair
	HandOn
)

// Outcome is what may come of an action.
type Outcome struct {
	Probability float64
	Expected    float64   // cost from there on
	Belief      []float64 // hypothesis weights after it, normalised
}

// Search looks for the action with the least expected cost.
type Search struct {
	p    *Problem
	sets *atoms
	base *base
	// beams[d] is how many checks, and half as many repairs, are looked at d
	// levels below the root.
	beams  []int
	levels [][]float64 // scratch atom weights by level
	set    []float64   // scratch belief over fault sets
	used   []bool      // checks done above
	done   []int       // repairs done above

	// The estimate at the leaves where checks remain: see Estimate.
	estimate   *Estimate
	perfect    [][]float64 // by state, by fault set: cost when it is known
	class      []int       // by fault set: those with the same class need no telling apart
	share      []float64   // scratch, by class
	costPerBit float64
}

// Estimate says how the search values a belief where it stops looking ahead and
// checks still remain: not by repairs alone, which would make every belief look
// as if no more could be learnt, but by the cost of curing what is known plus
// that of getting to know it, Inefficiency times the belief's entropy in bits
// times the cost of a bit. This is the information heuristic of test sequencing
// (Pattipati & Alexandridis 1990 bound the cost of tests by entropy); a real
// sequence of noisy checks gains less per bit than its best ones, hence the
// inefficiency. The base policy is taken where it is cheaper.
type Estimate struct {
	Inefficiency float64
	// A repair of causes at least Likely goes before ways that cost less by no
	// more than the share Within.
	Likely, Within float64
}

// WithEstimate makes the search value its leaves by the estimate as well.
func (s *Search) WithEstimate(e Estimate) *Search {
	s.estimate = &e
	sets := len(s.sets.kinds)
	s.class = make([]int, sets)
	unit := make([]float64, sets)
	classes := make(map[string]int)
	for state := range s.p.States {
		row := make([]float64, sets)
		for i := range row {
			clear(unit)
			unit[i] = 1
			row[i] = s.base.cost(unit, state, s.done)
			if state == 0 {
				key := fmt.Sprint(s.base.order)
				if _, ok := classes[key]; !ok {
					classes[key] = len(classes)
				}
				s.class[i] = classes[key]
			}
		}
		s.perfect = append(s.perfect, row)
	}
	s.share = make([]float64, len(classes))
	return s
}

// leaf is the value of a belief over fault sets (in s.set) where the search
// stops: weighted by its mass.
func (s *Search) leaf(state int) float64 {
	v := s.base.cost(s.set, state, s.done)
	if s.estimate == nil || s.costPerBit == 0 {
		return v
	}
	known := 0.0
	clear(s.share)
	for i, w := range s.set {
		if w > 0 {
			known += w * s.perfect[state][i]
			s.share[s.class[i]] += w
		}
	}
	mass := sum(s.share)
	bits := 0.0
	for _, w := range s.share {
		if w > 0 {
			bits -= w * math.Log2(w/mass)
		}
	}
	return math.Min(v, known+s.estimate.Inefficiency*s.costPerBit*bits)
}

// priceBits sets what a bit costs from the checks that tell most per cost.
func (s *Search) priceBits(w []float64, state int) {
	s.costPerBit = 0
	if s.estimate == nil {
		return
	}
	mass := sum(w)
	var best []float64
	for c := range s.p.Checks {
		if !s.used[c] {
			if bits := s.information(w, mass, c) / mass / math.Ln2; bits > 0 {
				best = append(best, s.p.Checks[c].Cost[state]/bits)
			}
		}
	}
	sort.Float64s(best)
	if len(best) == 0 {
		return
	}
	n := min(len(best), bitChecks)
	s.costPerBit = sum(best[:n]) / float64(n)
}

// bitChecks is over how many of the most telling checks the cost of a bit is
// averaged; judgement.
const bitChecks = 8

// NewSearch prepares a search that looks len(beams)+1 checks ahead: all checks
// first, then the beams[0] likeliest to pay below each outcome, and so on, with
// the base policy at the leaves.
func NewSearch(p *Problem, beams ...int) *Search {
	sets := newAtoms(p)
	s := &Search{
		p: p, sets: sets, base: newBase(p, sets), beams: beams,
		set: make([]float64, len(sets.kinds)), used: make([]bool, len(p.Checks)), done: make([]int, len(p.Repairs)),
	}
	for r := range p.Repairs {
		s.done[r] = p.Repairs[r].Done
	}
	for range len(beams) + 2 {
		s.levels = append(s.levels, make([]float64, len(sets.row)))
	}
	return s
}

// Rank gives every action with its expected cost, cheapest first. Actions that
// tie keep the order checks, repairs, handing on.
func (s *Search) Rank(ctx context.Context, state int) ([]Action, error) {
	w := s.levels[0]
	clear(w)
	copy(w, s.p.Weight)
	s.priceBits(w, state)
	var list []Action
	order := s.byOneStep(w, state, len(s.p.Checks))
	for _, c := range order {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		list = append(list, s.check(c, w, state))
	}
	for r := range s.p.Repairs {
		if a, ok := s.repair(r, w, state); ok {
			list = append(list, a)
		}
	}
	s.sets.gather(w, s.set)
	if g := s.base.giveUp(s.set); !math.IsInf(g, 1) {
		list = append(list, Action{Kind: HandOn, Cost: g, Expected: g})
	}
	sort.SliceStable(list, func(i, j int) bool { return list[i].Expected < list[j].Expected })
	s.preferLikelyRepair(list)
	return list, nil
}

// preferLikelyRepair puts a repair first that is likely enough and costs hardly
// more than the cheapest way: an estimate is not good to so few per cent, and
// one more look before the obvious repair would go on for ever.
func (s *Search) preferLikelyRepair(list []Action) {
	if s.estimate == nil || len(list) == 0 {
		return
	}
	for i, a := range list {
		if a.Expected > list[0].Expected*(1+s.estimate.Within) {
			return
		}
		if a.Kind == DoRepair && a.present >= s.estimate.Likely {
			copy(list[1:i+1], list[:i])
			list[0] = a
			return
		}
	}
}

// check reckons a check at the root, looking as deep below it as the beams go.
func (s *Search) check(c int, w []float64, state int) Action {
	ch := &s.p.Checks[c]
	a := Action{Kind: DoCheck, Index: c, Cost: ch.Cost[state], Expected: ch.Cost[state]}
	s.used[c] = true
	for o := range ch.P {
		next := s.levels[1]
		mass := s.sets.condition(w, ch.P[o], next)
		if mass == 0 {
			a.Outcomes = append(a.Outcomes, Outcome{})
			continue
		}
		v := s.value(next, ch.Then[state], 0)
		a.Expected += v
		belief := make([]float64, len(s.p.Weight))
		for h := range belief {
			belief[h] = next[h] / mass
		}
		a.Outcomes = append(a.Outcomes, Outcome{Probability: mass, Expected: v / mass, Belief: belief})
	}
	s.used[c] = false
	return a
}

// repair reckons a repair at the root.
func (s *Search) repair(r int, w []float64, state int) (Action, bool) {
	if !s.allowed(r, w) {
		return Action{}, false
	}
	present := s.present(r, w)
	rep := &s.p.Repairs[r]
	next := s.levels[1]
	mass := sum(w)
	s.sets.mendAtoms(rep, w, next)
	left := sum(next)
	s.done[r]++
	rest := rep.Wrong*left + s.value(next, rep.Then[state], 0)
	s.done[r]--
	a := Action{Kind: DoRepair, Index: r, Cost: rep.Cost[state], Expected: rep.Cost[state] + rest/mass, present: present}
	a.Outcomes = []Outcome{{Probability: 1 - left/mass}, {Probability: left / mass, Expected: rest / math.Max(left, tiny)}}
	return a, true
}

// allowed is true for a repair that may cure something and is likely enough to.
func (s *Search) allowed(r int, w []float64) bool {
	if s.done[r] >= s.p.Tries {
		return false
	}
	present := s.present(r, w)
	return present > 0 && present >= s.p.Repairs[r].NeedOdds
}

// present is the probability that something is there that repair r may cure.
func (s *Search) present(r int, w []float64) float64 {
	rep := &s.p.Repairs[r]
	s.sets.gather(w, s.set)
	mass, present := sum(s.set), 0.0
	for i, v := range s.set {
		for _, k := range s.sets.kinds[i] {
			if rep.Cures[k] > 0 {
				present += v
				break
			}
		}
	}
	return present / math.Max(mass, tiny)
}

// value is the expected cost (weighted by the mass of w) of going on from the
// unnormalised weights w at a level below the root.
func (s *Search) value(w []float64, state, level int) float64 {
	s.sets.gather(w, s.set)
	if level >= len(s.beams) {
		return s.leaf(state)
	}
	best := s.base.cost(s.set, state, s.done)
	order := append([]int(nil), s.base.order...)
	mass := sum(w)
	next := s.levels[level+2]
	for i, r := range order {
		if i >= (s.beams[level]+1)/2 {
			break
		}
		rep := &s.p.Repairs[r]
		if v := mass * rep.Cost[state]; v < best && s.allowed(r, w) {
			s.sets.mendAtoms(rep, w, next)
			s.done[r]++
			v += rep.Wrong * sum(next)
			best = math.Min(best, v+s.value(next, rep.Then[state], level+1))
			s.done[r]--
		}
	}
	for _, c := range s.byOneStep(w, state, s.beams[level]) {
		ch := &s.p.Checks[c]
		v := mass * ch.Cost[state]
		s.used[c] = true
		for o := range ch.P {
			if v >= best {
				break // costs only grow: it cannot win any more
			}
			if s.sets.condition(w, ch.P[o], next) > 0 {
				v += s.value(next, ch.Then[state], level+1)
			}
		}
		s.used[c] = false
		best = math.Min(best, v)
	}
	return best
}

// byOneStep lists the unused checks that pay best when the base policy follows
// them, at most n, with those that split the belief best per cost among them:
// a check that pays only together with another shows no gain alone.
func (s *Search) byOneStep(w []float64, state, n int) []int {
	type scored struct {
		c          int
		cost, info float64
	}
	var list []scored
	next := make([]float64, len(w))
	mass := sum(w)
	for c := range s.p.Checks {
		if s.used[c] {
			continue
		}
		ch := &s.p.Checks[c]
		v := mass * ch.Cost[state]
		for o := range ch.P {
			if s.sets.condition(w, ch.P[o], next) > 0 {
				s.sets.gather(next, s.set)
				v += s.leaf(ch.Then[state])
			}
		}
		list = append(list, scored{c, v, s.information(w, mass, c) / math.Max(ch.Cost[state], tiny)})
	}
	sort.SliceStable(list, func(i, j int) bool { return list[i].cost < list[j].cost })
	if n >= len(list) {
		out := make([]int, len(list))
		for i := range list {
			out[i] = list[i].c
		}
		return out
	}
	var out []int
	taken := make(map[int]bool)
	for i := 0; i < (n+1)/2; i++ {
		out = append(out, list[i].c)
		taken[list[i].c] = true
	}
	sort.SliceStable(list, func(i, j int) bool { return list[i].info > list[j].info })
	for _, l := range list {
		if len(out) >= n {
			break
		}
		if !taken[l.c] {
			out = append(out, l.c)
		}
	}
	return out
}

// information is the mutual information (nats) between the check's outcome and
// the fault set.
func (s *Search) information(w []float64, mass float64, c int) float64 {
	ch := &s.p.Checks[c]
	joint := make([]float64, len(s.sets.kinds))
	prior := make([]float64, len(s.sets.kinds))
	s.sets.gather(w, prior)
	info := 0.0
	for o := range ch.P {
		clear(joint)
		for a, v := range w {
			if v != 0 {
				joint[s.sets.set[a]] += v * ch.P[o][s.sets.row[a]]
			}
		}
		total := sum(joint)
		for i, v := range joint {
			if v > 0 {
				info += v / mass * math.Log(v*mass/(total*prior[i]))
			}
		}
	}
	return info
}

// PerfectInformation is the expected cost if the faults were known for nothing
// before anything is done: the lower bound of every plan.
func (s *Search) PerfectInformation(state int) float64 {
	belief := make([]float64, len(s.sets.kinds))
	s.sets.gather(s.p.Weight, belief) // the first atoms are the hypotheses
	one := make([]float64, len(belief))
	total := 0.0
	for i, v := range belief {
		if v == 0 {
			continue
		}
		clear(one)
		one[i] = v
		total += s.base.cost(one, state, s.done)
	}
	return total
}
