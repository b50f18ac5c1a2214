package solve

import "math"

// Say makes the expected costs of a ranking agree with what following its first way
// costs. All ways are moved by the same factor above what the action itself costs, so their order
// stays. No figure leaves its own bounds. The factor is returned.
func Say(list []Action, followed float64) (factor float64) {
	if len(list) == 0 || list[0].Kind == HandOn || list[0].Expected <= 0 {
		return 1
	}
	factor = followed / list[0].Expected
	for i := range list {
		a := &list[i]
		if a.Kind == HandOn {
			continue
		}
		was := a.Expected
		a.Expected = math.Min(math.Max(was*factor, a.Lower), math.Max(a.Upper, a.Lower))
		if rest := was - a.Cost; rest > tiny {
			on := math.Max(0, a.Expected-a.Cost) / rest
			for o := range a.Outcomes {
				a.Outcomes[o].Expected *= on
			}
		}
	}
	return factor
}

// Scale moves the expected costs of the branches behind this one by a factor.
func (b *Branch) Scale(factor float64) {
	for _, then := range b.Then {
		if then == nil {
			continue
		}
		then.Action.Expected *= factor
		then.Margin *= factor
		for o := range then.Action.Outcomes {
			then.Action.Outcomes[o].Expected *= factor
		}
		then.Scale(factor)
	}
}

// agree takes away what the estimates of a ranking contradict. A check can be made and
// its answer ignored. So the way that begins with it costs no more than the best one and
// the check, and what brings the engine back to where it stood.
func (s *Search) agree(list []Action, state int) {
	best := math.Inf(1)
	for _, a := range list {
		best = math.Min(best, a.Expected)
	}
	for i := range list {
		a := &list[i]
		if a.Kind != DoCheck {
			continue
		}
		most := best + a.Cost
		if s.q.Checks[a.Index].Then[state] != state {
			most += s.prefer.Back
		}
		a.Expected = math.Max(math.Min(a.Expected, most), a.Lower)
	}
}
