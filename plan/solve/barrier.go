package solve

import (
	"math"
	"slices"
)

// Barrier is a rule that no cost buys off: its checks and repairs may not be done
// while it stands. An engine without coolant is not run; a part is not replaced
// before it was looked at.
type Barrier struct {
	// Stands is true when it stands from the beginning.
	Stands bool
	// Raised lists the outcomes that raise it.
	Raised []Confirmation
	// Lifted lists the checks any one of which takes it away, whatever it shows;
	// none: it stays. One that was made before the barrier was raised takes nothing away.
	Lifted []int
	// Refilled lists the repairs that take it away.
	Refilled []int
	// Checks and Repairs are what it bars.
	Checks, Repairs []int
}

// barriers are a problem's barriers, by what they bar and by what raises them.
type barriers struct {
	list   []Barrier
	check  [][]int   // by check: the barriers that bar it
	repair [][]int   // by repair
	raise  [][][]int // by check, by outcome: the barriers that it raises
}

func newBarriers(p *Problem) barriers {
	b := barriers{
		list: p.Barriers, check: make([][]int, len(p.Checks)), repair: make([][]int, len(p.Repairs)),
		raise: make([][][]int, len(p.Checks)),
	}
	for c := range p.Checks {
		b.raise[c] = make([][]int, len(p.Checks[c].P))
	}
	for i, x := range p.Barriers {
		for _, c := range x.Checks {
			b.check[c] = append(b.check[c], i)
		}
		for _, r := range x.Repairs {
			b.repair[r] = append(b.repair[r], i)
		}
		for _, o := range x.Raised {
			b.raise[o.Check][o.Outcome] = append(b.raise[o.Check][o.Outcome], i)
		}
	}
	return b
}

// stands is true for a barrier that is up after the checks used.
func (k *walker) stands(i int) bool {
	if k.raised[i] == 0 {
		return false
	}
	if k.late[i] == 0 && k.lifted(i, -1) {
		return false
	}
	for _, r := range k.s.bars.list[i].Refilled {
		if k.done[r] > k.s.q.Repairs[r].Done {
			return false
		}
	}
	return true
}

// lifted is true where a check that takes barrier i away was made, other than c.
func (k *walker) lifted(i, c int) bool {
	return slices.ContainsFunc(k.s.bars.list[i].Lifted, func(x int) bool { return x != c && k.used[x] })
}

// barred is true for a check that may not be made: a barrier stands before it, or
// too large a share of the engines of the belief would be hurt by it.
func (k *walker) barred(c int, w []float64) bool {
	for _, i := range k.s.bars.check[c] {
		if k.stands(i) {
			return true
		}
	}
	return k.s.q.Checks[c].hurts(w, k.s.sets.row)
}

// hurts is true when more than MostHurt of the weights would be hurt by the check;
// row is the hypothesis of each.
func (ch *CheckAction) hurts(w []float64, row []int) bool {
	if ch.Hurt == nil {
		return false
	}
	share, mass := 0.0, 0.0
	for a, v := range w {
		mass += v
		share += v * ch.Hurt[row[a]]
	}
	return share > ch.MostHurt*mass
}

// locked gives the cheapest check that takes away what bars a repair, and its
// cost; -1 and nothing where the repair is free, -1 and infinity where nothing can.
// Several barriers are counted as one: the check that lifts the first is made first.
func (k *walker) locked(r, state int) (check int, cost float64) {
	for _, i := range k.s.bars.repair[r] {
		if !k.stands(i) {
			continue
		}
		check, cost = -1, math.Inf(1)
		for _, c := range k.s.bars.list[i].Lifted {
			if x := k.s.q.Checks[c].Cost[state]; x < cost && !k.shut(c) {
				check, cost = c, x
			}
		}
		return check, cost
	}
	return -1, 0
}

// shut is true for a check that a barrier stands before.
func (k *walker) shut(c int) bool {
	for _, i := range k.s.bars.check[c] {
		if k.stands(i) {
			return true
		}
	}
	return false
}

// locks works out for the base policy what each repair's look costs.
func (k *walker) locks(state int) []float64 {
	if len(k.s.bars.list) == 0 {
		return nil
	}
	if k.look == nil {
		k.look = make([]float64, len(k.s.q.Repairs))
	}
	for r := range k.look {
		_, k.look[r] = k.locked(r, state)
	}
	return k.look
}

// instead replaces a repair that is barred by the check that frees it.
func (k *walker) instead(do choice, state int) choice {
	if do.kind != DoRepair {
		return do
	}
	switch c, cost := k.locked(do.index, state); {
	case c >= 0:
		return choice{DoCheck, c}
	case math.IsInf(cost, 1):
		return choice{kind: HandOn}
	}
	return do
}

// free is true for a repair that nothing bars.
func (k *walker) free(r, state int) bool {
	c, cost := k.locked(r, state)
	return c < 0 && cost == 0
}

// raise counts the barriers that an outcome raises, or takes it back with -1.
func (k *walker) raise(c, o, by int) {
	for _, i := range k.s.bars.raise[c][o] {
		k.raised[i] += by
		if k.lifted(i, c) {
			k.late[i] += by
		}
	}
}

// standing is by barrier how often it was raised before anything is done.
func standing(list []Barrier) []int {
	n := make([]int, len(list))
	for i := range list {
		if list[i].Stands {
			n[i] = 1
		}
	}
	return n
}

// raisedBy is the barriers once a check has had an outcome.
func raisedBy(list []Barrier, check, outcome int) []Barrier {
	out := slices.Clone(list)
	for i := range out {
		if slices.Contains(out[i].Lifted, check) {
			out[i].Stands = false
		}
		if slices.Contains(out[i].Raised, Confirmation{check, outcome}) {
			out[i].Stands = true
		}
	}
	return out
}

// liftedBy is the barriers once a repair has been done.
func liftedBy(list []Barrier, repair int) []Barrier {
	out := slices.Clone(list)
	for i := range out {
		if slices.Contains(out[i].Refilled, repair) {
			out[i].Stands = false
		}
	}
	return out
}
