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
	offered := Repair{Cures: cures}
	w := make([]float64, len(s.sets.row))
	copy(w, c.Problem.Weight)
	left := make([]float64, len(w))
	s.sets.mendAtoms(&offered, w, left)
	uncured := sum(left)
	s.sets.gather(left, s.set)
	rest := s.base.cost(s.set, int(Hot), s.done)
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
