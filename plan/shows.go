package plan

import "slices"

// Shows is true for a check that could show one of the causes. It looks at their part, or
// is one of their direct signs. Or it has an outcome that is shows-ratio times likelier
// with them than without, and comes at least with the share shows-share of them.
func (c *CarProblem) Shows(i int, causes []int) bool {
	k := c.Checks[i]
	there := make([]bool, len(c.Problem.Weight))
	mass, all := 0.0, 0.0
	for h, kinds := range c.Problem.Faults {
		there[h] = slices.ContainsFunc(kinds, func(kind int) bool { return slices.Contains(causes, c.Kinds[kind].Cause) })
		all += c.Problem.Weight[h]
		if there[h] {
			mass += c.Problem.Weight[h]
		}
	}
	for kind, f := range c.Kinds {
		if !slices.Contains(causes, f.Cause) {
			continue
		}
		if c.looksAt(k, c.Kinds[kind]) || slices.ContainsFunc(c.Settings.signs(c.Model.Causes, f), func(s DirectSign) bool { return s.Check == k.ID }) {
			return true
		}
	}
	if mass <= 0 || all <= mass {
		return false
	}
	for _, row := range c.Problem.Checks[i].P {
		with, without := 0.0, 0.0
		for h, w := range c.Problem.Weight {
			if there[h] {
				with += w * row[h] / mass
			} else {
				without += w * row[h] / (all - mass)
			}
		}
		if with >= c.Settings.ShowsShare.Value && with >= c.Settings.ShowsRatio.Value*without {
			return true
		}
	}
	return false
}
