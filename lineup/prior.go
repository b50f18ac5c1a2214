package lineup

import "math"

// Standing is how the weight of a lineup is spread over what the cars came for.
// It answers what the odds would be under other priors without weighing again.
type Standing struct {
	// Mass is the posterior weight of each cause, by catalogue index, as the main
	// cause, with something-else; it sums to one.
	Mass []float64
	// Explains[i][c] is the probability that c is to blame where i is the main
	// cause; 1 for c = i.
	Explains []map[int]float64
}

// Standing gives the standing of the main causes.
func (l *Lineup) Standing() Standing {
	n := len(l.model.Causes.Causes)
	mean := make(map[[2]int]float64) // by set of causes: mean likelihood, over a common factor
	logs := make([]float64, len(l.draw.strata))
	top := math.Inf(-1)
	for k, list := range l.members {
		terms := make([]float64, len(list))
		for m, i := range list {
			terms[m] = l.pop.logLikelihood(i) - math.Log(l.pop.drawn[i])
		}
		logs[k] = logSumExp(terms)
		top = math.Max(top, logs[k])
	}
	for k, s := range l.draw.strata {
		mean[s.causes] = math.Exp(logs[k] - top)
	}
	s := Standing{Mass: make([]float64, n), Explains: make([]map[int]float64, n)}
	total := 0.0
	for _, set := range sets(l.model.Causes, l.suspicion()) {
		w := set.prior * mean[set.stratum(l.model.Causes.NoFault())]
		if s.Explains[set.main] == nil {
			s.Explains[set.main] = make(map[int]float64)
		}
		s.Mass[set.main] += w
		s.Explains[set.main][set.main] += w
		if set.explains {
			s.Explains[set.main][set.other] += w
		}
		total += w
	}
	other := l.model.Causes.Index(somethingElse)
	for i, e := range s.Explains {
		for c := range e {
			e[c] /= s.Mass[i]
		}
		s.Mass[i] *= (1 - l.other) / total
	}
	if other >= 0 {
		s.Mass[other], s.Explains[other] = l.other, map[int]float64{other: 1}
	}
	return s
}

// Under gives the probability of each cause with the weight of every main cause
// multiplied by a factor.
func (s *Standing) Under(factor func(cause int) float64) []float64 {
	sum := make([]float64, len(s.Mass))
	total := 0.0
	for i, m := range s.Mass {
		if m == 0 {
			continue
		}
		w := m * factor(i)
		total += w
		for c, p := range s.Explains[i] {
			sum[c] += w * p
		}
	}
	for c := range sum {
		sum[c] /= total
	}
	return sum
}
