package lineup

import (
	"math"

	"weephole/sample"
)

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
	// By set of causes: mean likelihood over a common factor, as it stands and with the first
	// or the second cause beside the point.
	mean := make(map[[2]int][3]float64)
	logs := make([][3]float64, len(l.draw.strata))
	top := math.Inf(-1)
	for k, list := range l.members {
		var terms [3][]float64
		for _, i := range list {
			c, told := &l.pop.cands[i], l.pop.told[i]
			// Its faults as what the car came for and as beside the point are told apart below.
			log := l.pop.logLikelihood(i) - math.Log(l.pop.drawn[i]) - l.logToBlame(c, told)
			terms[0] = append(terms[0], log+math.Log1p(-l.toldAnyway(c, told)))
			for beside, u := range l.draw.severities(c) {
				terms[1+beside] = append(terms[1+beside], log+math.Log(besideDensity(u, l.model.Settings.BesideMildest.Value)))
			}
		}
		for c := range terms {
			logs[k][c] = sample.LogSumExp(terms[c])
		}
		top = math.Max(top, logs[k][0])
	}
	for k, s := range l.draw.strata {
		var m [3]float64
		for c := range m {
			m[c] = math.Exp(logs[k][c] - top)
		}
		mean[s.causes] = m
	}
	s := Standing{Mass: make([]float64, n), Explains: make([]map[int]float64, n)}
	total := 0.0
	for _, set := range sets(l.model.Causes, l.suspicion()) {
		causes := set.stratum(l.model.Causes.NoFault())
		w := set.prior * mean[causes][set.besideAt(causes)]
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
	other := l.model.Causes.Unnamed()
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

// besideAt is 1 or 2 where the first or the second cause of the stratum is beside the point.
func (s set) besideAt(causes [2]int) int {
	switch {
	case s.other < 0 || s.explains:
		return 0
	case s.other == causes[0]:
		return 1
	}
	return 2
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
