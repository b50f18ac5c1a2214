package plan

import (
	"context"
	"math"
	"slices"
	"sort"

	"weephole/cause"
	"weephole/plan/solve"
)

// QuoteVerdict weighs a repair that somebody has proposed. Probabilities are 0..1,
// money is in the currency of the costs.
type QuoteVerdict struct {
	// Presumed is the probability that the cause it presumes is there.
	Presumed float64
	// Alone is the probability, if it is there, that nothing else is wrong.
	Alone float64
	// Takes is the probability, if it is there, that the repair takes that cause
	// away at the first try.
	Takes float64
	// Cures is the probability that the repair leaves the car cured.
	Cures float64
	// IfAccepted is the expected bill of accepting it now and going on by repairs
	// alone where it does not cure; ByPlan that of following the plan; AfterPlan that
	// of following the plan's checks and having the repair done at the quoted price
	// where they lead to it.
	IfAccepted, ByPlan, AfterPlan float64
	// BreakEven is the price at which accepting it now would cost as much as the
	// plan; NaN if no price is low enough.
	BreakEven float64
	// Needed is the probability of the presumed cause from which accepting is the
	// better bargain at this price; NaN if it never is. ToShow is the probability
	// that findings should lift it to: the same, and no less than the catalogue asks
	// before such a repair.
	Needed, ToShow float64
	// Shows lists findings still to be made that would lift the presumed cause to
	// ToShow, most likely first if it is there; where no single one does, pairs.
	Shows []Showing
}

// Showing is a finding, or two, and what it would do to the presumed cause.
type Showing struct {
	Checks   []int // of the car
	Outcomes []int
	// If is the probability of the finding when the cause is there, Presumed that
	// of the cause once it is made.
	If, Presumed float64
}

// Quote weighs the offer to do a repair at a price. presumes is the index of
// the presumed cause in the catalogue, or -1; byPlan is what the plan costs.
func (c *CarProblem) Quote(ctx context.Context, s *solve.Search, r *cause.Repair, price float64, presumes int, byPlan float64) (QuoteVerdict, error) {
	cures := make([]float64, len(c.Kinds))
	for k, f := range c.Kinds {
		cures[k] = r.Succeeds(c.Model.Causes, f)
	}
	rest := c.afterQuote(s, r, c.Problem.Weight, cures)
	v := QuoteVerdict{
		Cures:      1 - s.After(c.Problem.Weight, cures).Mass(),
		IfAccepted: price + c.proof() + rest,
		ByPlan:     byPlan,
		BreakEven:  byPlan - c.proof() - rest,
	}
	if v.BreakEven <= 0 {
		v.BreakEven = math.NaN()
	}
	there := make([]bool, len(c.Problem.Faults))
	for h, kinds := range c.Problem.Faults {
		w := c.Problem.Weight[h]
		missed := 1.0
		for _, k := range kinds {
			if c.Kinds[k].Cause == presumes {
				there[h] = true
				missed *= 1 - cures[k]
			}
		}
		if there[h] {
			v.Presumed += w
			v.Takes += w * (1 - missed)
			if len(kinds) == 1 {
				v.Alone += w
			}
		}
	}
	if v.Presumed > 0 {
		v.Takes /= v.Presumed
		v.Alone /= v.Presumed
	}
	var err error
	if v.AfterPlan, err = c.afterPlan(ctx, r, price, byPlan); err != nil {
		return v, err
	}
	if v.Needed, err = c.needed(ctx, s, r, price, cures, there, v.Presumed); err != nil {
		return v, err
	}
	v.ToShow = r.NeedOdds.Value
	if v.Needed > v.ToShow {
		v.ToShow = v.Needed
	}
	if v.Presumed < v.ToShow {
		v.Shows = c.toShow(there, v.Presumed, v.ToShow)
	}
	return v, nil
}

// afterQuote is what is still to come, on average, after the quoted repair.
func (c *CarProblem) afterQuote(s *solve.Search, r *cause.Repair, weight, cures []float64) float64 {
	rest := s.After(weight, cures).RepairsAlone(int(Hot))
	wrong := c.Settings.WrongRepair.Value
	if r.Big {
		wrong = c.Settings.WrongBigRepair.Value
	}
	for h, kinds := range c.Problem.Faults {
		futile := weight[h]
		for _, k := range kinds {
			futile *= 1 - cures[k]
		}
		rest += wrong * futile
	}
	return rest
}

// afterPlan is the expected bill when the plan is followed and the other shop does
// the repair at its price where the plan comes to it.
func (c *CarProblem) afterPlan(ctx context.Context, r *cause.Repair, price, byPlan float64) (float64, error) {
	at := slices.Index(c.Repairs, r)
	if at < 0 {
		return byPlan, nil
	}
	p := *c.Problem
	p.Repairs = slices.Clone(p.Repairs)
	rep := &p.Repairs[at]
	rep.Cost = slices.Clone(rep.Cost)
	for x := range rep.Cost {
		rep.Cost[x] += price - c.Bill(r)
	}
	list, err := solve.New(&p, 0).Rank(ctx, int(c.Shop.State))
	if err != nil || len(list) == 0 {
		return byPlan, err
	}
	return list[0].Expected, nil
}

// needed finds the probability of the presumed cause at which accepting costs what
// the plan costs, by halving: all that is not known about the car stays as it is but
// for that probability. The bill when accepted is linear in it.
func (c *CarProblem) needed(ctx context.Context, s *solve.Search, r *cause.Repair, price float64, cures []float64, there []bool, presumed float64) (float64, error) {
	if presumed <= 0 || presumed >= 1 {
		return math.NaN(), nil
	}
	gain := func(pi float64) (float64, error) {
		p := *c.Problem
		p.Weight = make([]float64, len(c.Problem.Weight))
		for h, w := range c.Problem.Weight {
			if there[h] {
				p.Weight[h] = w * pi / presumed
			} else {
				p.Weight[h] = w * (1 - pi) / (1 - presumed)
			}
		}
		accepted := price + c.proof() + c.afterQuote(s, r, p.Weight, cures)
		for plan, err := range solve.New(&p, 0).Better(ctx, int(c.Shop.State)) {
			if err != nil {
				return 0, err
			}
			return plan.Actions[0].Expected - accepted, nil // the first round will do
		}
		return 0, nil
	}
	low, high := 0.0, 1.0
	if g, err := gain(high); err != nil || g < 0 {
		return math.NaN(), err
	}
	for range int(c.Settings.QuoteHalves.Value) {
		mid := (low + high) / 2
		g, err := gain(mid)
		if err != nil {
			return 0, err
		}
		if g >= 0 {
			high = mid
		} else {
			low = mid
		}
	}
	return high, nil
}

// toShow looks for the findings that would lift the presumed cause to a probability.
func (c *CarProblem) toShow(there []bool, presumed, to float64) []Showing {
	var single, list []Showing
	row := func(x Showing, h int) float64 {
		p := 1.0
		for i, k := range x.Checks {
			p *= c.Problem.Checks[k].P[x.Outcomes[i]][h]
		}
		return p
	}
	weigh := func(x Showing) Showing {
		all := 0.0
		for h, w := range c.Problem.Weight {
			p := w * row(x, h)
			all += p
			if there[h] {
				x.If += p
			}
		}
		x.Presumed = x.If / math.Max(all, tiny)
		x.If /= math.Max(presumed, tiny)
		return x
	}
	for k := range c.Checks {
		if c.Checks[k].ID == ownRun {
			continue // what the owner sees as well proves no cause
		}
		for o := range c.Problem.Checks[k].P {
			single = append(single, weigh(Showing{Checks: []int{k}, Outcomes: []int{o}}))
		}
	}
	keep := func(x Showing) {
		if x.Presumed >= to && x.If >= c.Settings.ToShowLeast.Value {
			list = append(list, x)
		}
	}
	for _, x := range single {
		keep(x)
	}
	if len(list) == 0 {
		sort.SliceStable(single, func(i, j int) bool { return single[i].Presumed*single[i].If > single[j].Presumed*single[j].If })
		single = single[:min(int(c.Settings.ToShowPairs.Value), len(single))]
		for i, a := range single {
			for _, b := range single[:i] {
				if a.Checks[0] != b.Checks[0] {
					keep(weigh(Showing{Checks: []int{b.Checks[0], a.Checks[0]}, Outcomes: []int{b.Outcomes[0], a.Outcomes[0]}}))
				}
			}
		}
	}
	sort.SliceStable(list, func(i, j int) bool { return list[i].If > list[j].If })
	return list[:min(int(c.Settings.ToShowMost.Value), len(list))]
}

// ownRun is the catalogue's check that is a run as the owner makes it.
const ownRun = "repair-and-run"
