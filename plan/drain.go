package plan

import (
	"slices"

	"weephole/cause"
	"weephole/plan/solve"
)

// sharedMinutes is the labour that two repairs done in one drain save: the coolant is let out,
// filled up and bled once. No repair takes less than what its own parts take.
func (c *CarProblem) sharedMinutes(r, q *cause.Repair) float64 {
	if !r.Drained() || !q.Drained() {
		return 0
	}
	most := c.Settings.Drain.Value + c.Settings.Refill.Value
	return min(most, c.On(r).Minutes.Typical, c.On(q).Minutes.Typical)
}

// shared is the money that two repairs done in one drain save: that labour, and one filling.
func (c *CarProblem) shared(r, q *cause.Repair) float64 {
	if !r.Drained() || !q.Drained() {
		return 0
	}
	return c.sharedMinutes(r, q)/60*c.Rate + min(c.On(r).Consumables.Value, c.On(q).Consumables.Value)
}

// More is what a repair costs when it is done together with another, without a proof run of its own.
func (c *CarProblem) More(r, q *cause.Repair) float64 { return c.Bill(q) - c.shared(r, q) }

// Minutes is the labour of a repair of the problem, with that of what is done in the same drain.
func (c *CarProblem) Minutes(r int) float64 {
	m := c.On(c.Repairs[r]).Minutes.Typical
	if q := c.With[r]; q != nil {
		m += c.On(q).Minutes.Typical - c.sharedMinutes(c.Repairs[r], q)
	}
	return m
}

// pairs adds, for repairs that share a drain, the two at once as one action, where each is as
// likely to be needed as the catalogue asks, or was seen bad. Costly repairs are not among them:
// each has to be shown to be needed. It comes after the need of all single repairs is known.
func (c *CarProblem) pairs() {
	var drained []int
	for r, rep := range c.Repairs {
		if rep != nil && rep.Drained() && !c.Support[r].Costly && c.Problem.Repairs[r].Done == 0 && c.likely(r) {
			drained = append(drained, r)
		}
	}
	n := 0
	for i, r := range drained {
		for _, q := range drained[i+1:] {
			if n == int(c.Settings.PairsMost.Value) || c.within(q, r) || c.within(r, q) {
				continue
			}
			c.addPair(r, q)
			n++
		}
	}
}

// likely is true where what a repair is done for has its need-odds.
func (c *CarProblem) likely(r int) bool {
	p := &c.Problem.Repairs[r]
	reason, odds := c.mainly(p.Cures), 0.0
	for h, kinds := range c.Problem.Faults {
		if slices.ContainsFunc(kinds, func(k int) bool { return slices.Contains(reason, k) }) {
			odds += c.Problem.Weight[h]
		}
	}
	return odds >= p.NeedOdds && odds > 0
}

// addPair adds repairs r and q in one drain.
func (c *CarProblem) addPair(r, q int) {
	first, second := c.Problem.Repairs[r], c.Problem.Repairs[q]
	pair := solve.RepairAction{
		Cures: make([]float64, len(c.Kinds)), NeedOdds: first.NeedOdds, For: c.mainly(first.Cures),
		Wrong: max(first.Wrong, second.Wrong), Then: first.Then,
	}
	if second.NeedOdds > first.NeedOdds {
		pair.NeedOdds, pair.For = second.NeedOdds, c.mainly(second.Cures)
	}
	for k := range pair.Cures {
		pair.Cures[k] = 1 - (1-first.Cures[k])*(1-second.Cures[k])
	}
	more := c.More(c.Repairs[r], c.Repairs[q])
	minutes := c.On(c.Repairs[q]).Minutes.Typical - c.sharedMinutes(c.Repairs[r], c.Repairs[q])
	for state := range first.Cost {
		pair.Cost = append(pair.Cost, first.Cost[state]+more)
		pair.Minutes = append(pair.Minutes, first.Minutes[state]+minutes)
	}
	c.Problem.Repairs = append(c.Problem.Repairs, pair)
	c.Repairs = append(c.Repairs, c.Repairs[r])
	c.With = append(c.With, c.Repairs[q])
	c.Support = append(c.Support, c.Support[r])
}
