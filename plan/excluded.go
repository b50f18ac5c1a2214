package plan

import (
	"cmp"
	"slices"
)

// CauseLeft is how likely a cause is on the engines that are left.
type CauseLeft struct {
	Cause       int // index
	Probability float64
}

// CausesLeft are the causes of the engines that are left, the likeliest first. A pair
// counts for both.
func (c *CarProblem) CausesLeft() []CauseLeft {
	by := make(map[int]float64)
	for h, kinds := range c.Problem.Faults {
		var seen []int
		for _, k := range kinds {
			if f := c.Kinds[k].Cause; !slices.Contains(seen, f) {
				seen = append(seen, f)
				by[f] += c.Problem.Weight[h]
			}
		}
	}
	out := make([]CauseLeft, 0, len(by))
	for f, p := range by {
		out = append(out, CauseLeft{f, p})
	}
	slices.SortFunc(out, func(a, b CauseLeft) int {
		return cmp.Or(cmp.Compare(b.Probability, a.Probability), cmp.Compare(a.Cause, b.Cause))
	})
	return out
}

// FitsNothing is true where what nobody knows is likelier than all causes together.
func (c *CarProblem) FitsNothing() bool {
	for _, s := range c.CausesLeft() {
		if s.Cause == c.Model.Causes.Unnamed() {
			return s.Probability >= c.Settings.FitsNothing.Value
		}
	}
	return false
}

// Excluded lists the causes that the findings have as good as ruled out, the commonest
// first: those that stand below the setting `ruled-out` and came with at least that much.
func (c *CarProblem) Excluded() []int {
	m := c.Model.Causes
	odds := make([]float64, len(m.Causes))
	for _, s := range c.CausesLeft() {
		odds[s.Cause] = s.Probability
	}
	total := 0.0
	for i := range m.Causes {
		total += m.Causes[i].Weight.Value
	}
	var out []int
	for i := range m.Causes {
		common := m.Causes[i].Weight.Value/total >= c.Settings.RuledOut.Value
		if common && odds[i] < c.Settings.RuledOut.Value && i != m.NoFault() && i != m.Unnamed() {
			out = append(out, i)
		}
	}
	slices.SortStableFunc(out, func(a, b int) int { return cmp.Compare(m.Causes[b].Weight.Value, m.Causes[a].Weight.Value) })
	return out
}

// Drivable is true for a car that may be driven until it does it again: its level is
// known to be right, oil and coolant have not met, and few of the engines left would
// overheat at once.
func (c *CarProblem) Drivable() bool {
	return !c.now.low && !c.now.spoilt && c.unfit < c.Settings.UnfitRoad.Value
}
