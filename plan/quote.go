package plan

import (
	"math"

	"weephole/cause"
)

// QuoteVerdict weighs a repair that somebody has proposed.
type QuoteVerdict struct {
	// Presumed is the probability that the cause it presumes is present, 0..1.
	Presumed float64
	// Cures is the probability that the repair, well done, leaves the car cured.
	Cures float64
	// IfAccepted is the expected cost of accepting it now and going on by the
	// base policy where it does not cure; ByPlan that of following the plan.
	IfAccepted, ByPlan float64
	// BreakEven is the price at which accepting it would cost as much as the
	// plan; NaN if no price is low enough.
	BreakEven float64
}

// Quote weighs the offer to do a repair at a price. presumes is the index of
// the presumed cause in the catalogue, or -1.
func (c *Car) Quote(s *Search, r *cause.Repair, price float64, presumes int, byPlan float64) QuoteVerdict {
	cures := make([]float64, len(c.Kinds))
	for k, f := range c.Kinds {
		cures[k] = r.Succeeds(c.Model.Causes, f)
	}
	left := s.accept(cures)
	uncured := sum(left)
	rest := s.repairsAlone(left, int(Hot))
	if r.Big {
		rest += c.Settings.WrongBigRepair.Value * uncured
	}
	v := QuoteVerdict{
		Cures:      1 - uncured,
		IfAccepted: price + c.proof() + rest,
		ByPlan:     byPlan,
		BreakEven:  byPlan - c.proof() - rest,
	}
	if v.BreakEven <= 0 {
		v.BreakEven = math.NaN()
	}
	for h, kinds := range c.Problem.Faults {
		for _, k := range kinds {
			if c.Kinds[k].Cause == presumes {
				v.Presumed += c.Problem.Weight[h]
				break
			}
		}
	}
	return v
}

// accept is the belief over fault sets that a repair with these chances of cure
// leaves; what is missing from one is cured.
func (s *Search) accept(cures []float64) []float64 {
	left := make([]float64, len(s.full.kinds))
	for h, w := range s.p.Weight {
		kinds := s.p.Faults[h]
		for mask, to := range s.full.sub[s.full.set[h]] {
			p := w
			for b, k := range kinds {
				if mask&(1<<b) != 0 {
					p *= 1 - cures[k]
				} else {
					p *= cures[k]
				}
			}
			if mask != 0 {
				left[to] += p
			}
		}
	}
	return left
}

// repairsAlone is the expected cost of the base policy from a belief over fault sets.
func (s *Search) repairsAlone(sets []float64, state int) float64 {
	done, proven := make([]int, len(s.p.Repairs)), make([]bool, len(s.p.Repairs))
	for r := range s.p.Repairs {
		done[r], proven[r] = s.p.Repairs[r].Done, s.p.Repairs[r].Proven
	}
	return newBase(s.p, s.full).cost(sets, state, done, proven)
}
