package plan

import (
	"sort"

	"weephole/plan/solve"
)

// Extra is a repair that is worth doing along with another.
type Extra struct {
	Repair int // of the car
	// Odds is the probability that what it cures is still there after the other.
	Odds float64
	// Now is what it costs when proven by the same run, and done in the same drain
	// where both need one; Later what it costs when that is found to be needed afterwards.
	Now, Later float64
}

// Together lists the repairs that pay along with repair r, most worth first. They share
// its proof run, and its drain and refill where both need them. The chance that they turn
// out to be needed is worth more than what they cost now. Costly repairs are not among
// them, nor what is part of repair r already.
func (c *CarProblem) Together(s *solve.Search, r int) []Extra {
	rep := c.Repairs[r]
	if rep == nil {
		return nil
	}
	left := s.After(c.Problem.Weight, c.Problem.Repairs[r].Cures)
	var list []Extra
	for q, other := range c.Repairs {
		if q == r || other == nil || c.Support[q].Costly || c.Problem.Repairs[q].Done > 0 || c.With[q] != nil {
			continue
		}
		if c.within(q, r) {
			continue // that is part of the other
		}
		if c.With[r] == other {
			continue
		}
		now := c.More(rep, other)
		t := Extra{Repair: q, Odds: left.Cured(q), Now: now, Later: c.Problem.Repairs[q].Cost[Hot]}
		if t.Now <= 0 {
			continue // draining and refilling is all of it
		}
		if t.Odds*t.Later > t.Now {
			list = append(list, t)
		}
	}
	sort.SliceStable(list, func(i, j int) bool {
		return list[i].Odds*list[i].Later-list[i].Now > list[j].Odds*list[j].Later-list[j].Now
	})
	return list
}

// within is true when one repair cures nothing that the other does not.
func (c *CarProblem) within(q, r int) bool {
	for k, p := range c.Problem.Repairs[q].Cures {
		if p > 0 && c.Problem.Repairs[r].Cures[k] == 0 {
			return false
		}
	}
	return true
}
