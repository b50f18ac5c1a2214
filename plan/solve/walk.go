package solve

import (
	"context"
	"math"
)

// walker follows plans from a belief to their ends. What it finds for a belief
// is the cost of a plan that can be followed: it repairs by the base policy where
// it stops looking, and takes the cheapest of all that it looks at elsewhere.
//
// A belief is known by the outcomes seen and the repairs done, in whatever order
// they came, so one that is reached twice is worked out once.
type walker struct {
	s    *Search
	e    effort
	base *base
	ctx  context.Context
	memo map[place]worth
	cut  bool // something was left out since it was cleared

	levels    [][]float64 // scratch: atom weights by level
	used      []bool      // checks done above
	done      []int       // repairs done above
	confirmed []bool      // causes shown above
	raised    []int       // by barrier: how often it was raised above
	late      []int       // by barrier: how often after a check that would have taken it away
	look      []float64   // scratch: by repair, what must be looked at first costs
	start     float64     // mass of the first belief
	bit       float64     // what a bit of information costs where the walk begins
	seen      int         // beliefs worked out

	set, prior, joint []float64
	byInfo            []scored
}

// place names a belief, the engine's state and how far down it is.
type place struct {
	key          past
	state, level int
}

// worth is what going on from a belief costs, weighted by its mass.
type worth struct {
	// likely is the cost of the best plan found, where the walk stops by the
	// estimate; most the cost of one that can be followed to its end.
	likely, most float64
}

// choice is what to do at a belief.
type choice struct {
	kind  ActionKind
	index int
}

func (s *Search) walker(e effort) *walker {
	k := &walker{
		s: s, e: e, base: newBase(s.q, s.sets), memo: make(map[place]worth), ctx: context.Background(),
		used: make([]bool, len(s.q.Checks)), done: make([]int, len(s.q.Repairs)), confirmed: make([]bool, len(s.q.Repairs)),
		raised: standing(s.bars.list), late: make([]int, len(s.bars.list)),
		set: make([]float64, len(s.sets.kinds)), prior: make([]float64, s.classes), joint: make([]float64, s.classes),
	}
	for r := range s.q.Repairs {
		k.done[r], k.confirmed[r] = s.q.Repairs[r].Done, s.q.Repairs[r].Confirmed
	}
	for c := range s.q.Checks {
		k.used[c] = s.q.Checks[c].Made
	}
	for i := range k.late {
		if k.raised[i] > 0 && k.lifted(i, -1) {
			k.late[i] = 1
		}
	}
	k.start = sum(s.q.Weight)
	return k
}

// room is the scratch for a belief on a level.
func (k *walker) room(level, n int) []float64 {
	for len(k.levels) <= level {
		k.levels = append(k.levels, make([]float64, len(k.s.sets.row)))
	}
	return k.levels[level][:n]
}

// act works out a first action. A later round's figures replace an earlier one's,
// but a plan that was found stays found.
func (k *walker) act(ctx context.Context, a *Action, state int) {
	k.ctx = ctx
	k.bit = k.s.perBit[state]
	w := k.s.q.Weight
	mass := k.start
	switch a.Kind {
	case DoCheck:
		v, outcomes := k.check(a.Index, w, mass, state, 0, past{}, math.Inf(1))
		k.s.sets.gather(w, k.set)
		a.Lower = a.Cost + dot(k.s.known[k.s.q.Checks[a.Index].Then[state]], k.set)/mass
		a.found(v, mass)
		a.Outcomes = k.s.beliefs(a.Index, outcomes)
	case DoRepair:
		v, left := k.repair(a.Index, w, mass, state, 0, past{})
		rep := &k.s.q.Repairs[a.Index]
		k.s.sets.gather(k.room(0, len(k.s.sets.row)), k.set)
		a.Lower = a.Cost + (rep.Wrong*k.s.sets.futileMass(a.Index, w)+dot(k.s.known[rep.Then[state]], k.set))/mass
		a.found(v, mass)
		a.Outcomes = []Outcome{{Probability: 1 - left/mass}, {Probability: left / mass, Expected: (v.likely - mass*a.Cost) / math.Max(left, tiny)}}
	}
}

func (a *Action) found(v worth, mass float64) {
	a.Upper = math.Min(a.Upper, v.most/mass)
	a.Expected = math.Min(math.Max(v.likely/mass, a.Lower), a.Upper)
}

// beliefs adds to a check's outcomes what they would do to each hypothesis.
func (s *Search) beliefs(c int, outcomes []Outcome) []Outcome {
	for o := range outcomes {
		out := &outcomes[o]
		if out.Probability == 0 {
			continue
		}
		out.Belief = make([]float64, len(s.p.Weight))
		for h, w := range s.p.Weight {
			out.Belief[h] = w * s.p.Checks[c].P[o][h] / out.Probability
		}
	}
	return outcomes
}

// check is the expected cost, weighted by mass, of making a check and going on,
// with what follows from each outcome. It stops counting at the bound.
func (k *walker) check(c int, w []float64, mass float64, state, level int, key past, bound float64) (worth, []Outcome) {
	s, ch := k.s, &k.s.q.Checks[c]
	then := ch.Then[state]
	v := worth{mass * ch.Cost[state], mass * ch.Cost[state]}
	s.sets.gather(w, k.set)
	rest := dot(s.known[then], k.set) // what is still to come costs at least this
	if v.likely+rest >= bound {
		return tooMuch, nil
	}
	var outcomes []Outcome
	if level == 0 {
		outcomes = make([]Outcome, len(ch.P))
	}
	k.used[c] = true
	for o := range ch.P {
		next := k.room(level, len(w))
		m := s.sets.condition(w, ch.P[o], next)
		if m <= 0 {
			continue
		}
		s.sets.gather(next, k.set)
		rest -= dot(s.known[then], k.set)
		undo := k.show(c, o)
		k.raise(c, o, 1)
		x := k.value(next, m, then, level+1, key.outcome(c, o))
		k.raise(c, o, -1)
		k.hide(undo)
		v.likely += x.likely
		v.most += x.most
		if outcomes != nil {
			outcomes[o] = Outcome{Probability: m / mass, Expected: x.likely / m}
		}
		if v.likely+rest >= bound {
			v = tooMuch
			break
		}
	}
	k.used[c] = false
	return v, outcomes
}

// tooMuch is the worth of a way that was given up because it cannot be the cheapest.
var tooMuch = worth{math.Inf(1), math.Inf(1)}

// show marks the causes that an outcome shows, and returns the repairs for
// which that was news.
func (k *walker) show(c, o int) (news []int) {
	for _, r := range k.s.confirms[c][o] {
		if !k.confirmed[r] {
			k.confirmed[r] = true
			news = append(news, r)
		}
	}
	return news
}

func (k *walker) hide(news []int) {
	for _, r := range news {
		k.confirmed[r] = false
	}
}

// repair is the expected cost, weighted by mass, of a repair and going on, and
// the mass of what it leaves, whose weights stand in the level's scratch.
func (k *walker) repair(r int, w []float64, mass float64, state, level int, key past) (v worth, left float64) {
	rep := &k.s.q.Repairs[r]
	next := k.room(level, len(k.s.sets.row))
	k.s.sets.repairAtoms(r, w, next)
	left = sum(next)
	own := mass*rep.Cost[state] + rep.Wrong*k.s.sets.futileMass(r, w)
	v = worth{own, own}
	if left > 0 {
		k.done[r]++
		x := k.value(next, left, rep.Then[state], level+1, key.repair(r))
		v.likely += x.likely
		v.most += x.most
		k.done[r]--
	}
	return v, left
}

// value is the expected cost (weighted by the mass of w) of going on from the
// unnormalised weights w, done as well as the walker knows how to.
func (k *walker) value(w []float64, mass float64, state, level int, key past) worth {
	at := place{key, state, level}
	if v, ok := k.memo[at]; ok {
		return v
	}
	k.seen++
	v, _ := k.decide(w, mass, state, level, key)
	k.memo[at] = v
	return v
}

// decide finds the cheapest way to go on.
func (k *walker) decide(w []float64, mass float64, state, level int, key past) (worth, choice) {
	s := k.s
	s.sets.gather(w, k.set)
	k.base.look = k.locks(state)
	alone := k.base.cost(k.set, state, k.done, k.confirmed)
	best := worth{alone, alone}
	do, first := choice{kind: HandOn}, k.base.first
	if len(k.base.order) > 0 {
		do = k.instead(choice{DoRepair, k.base.order[0]}, state)
	}
	least := dot(s.known[state], k.set)
	pays := alone-least > mass*k.cheapest(state) // knowing all would pay for one more check
	if !pays && len(k.base.order) < 2 {
		return best, do // nor for one later, when there are fewer to check
	}
	if mass <= k.e.mass*k.start || level > k.e.deep || k.ctx.Err() != nil {
		k.cut = true
		guess := least + mass*k.findOut() + k.stillToShow(state)
		best.likely, best.most, do = k.proveAndRepair(w, mass, state, level, alone, do)
		if guess < best.likely {
			best.likely, do = guess, choice{kind: Undecided}
		}
		return best, do
	}
	take := func(v worth, c choice) {
		best.most = math.Min(best.most, v.most)
		if v.likely < best.likely {
			best.likely, do = v.likely, c
		}
	}
	if first >= 0 && k.free(first, state) && mass*s.q.Repairs[first].Cost[state] < best.likely {
		v, _ := k.repair(first, w, mass, state, level, key)
		take(v, choice{DoRepair, first})
	}
	if !pays {
		return best, do
	}
	for _, c := range k.worthwhile(w, mass, state, level) {
		v, _ := k.check(c, w, mass, state, level, key, best.likely)
		take(v, choice{DoCheck, c})
	}
	return best, do
}

// past names what has been seen and done, in whatever order: outcomes are
// combined by exclusive or, and repairs added, since the same one may be done again.
type past struct {
	seen, done uint64
}

func (h past) outcome(c, o int) past {
	h.seen ^= mix(uint64(c)<<8 | uint64(o))
	return h
}

func (h past) repair(r int) past {
	h.done += mix(1<<40 | uint64(r))
	return h
}

// mix spreads a number over 64 bits, as in SplitMix64 (Steele, Lea & Flood 2014).
func mix(x uint64) uint64 {
	x += 0x9e3779b97f4a7c15
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
	x = (x ^ x>>27) * 0x94d049bb133111eb
	return x ^ x>>31
}
