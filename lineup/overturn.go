package lineup

import "math"

// Overturn is a finding that, had it come out otherwise, would have put
// another cause first.
type Overturn struct {
	Finding     int     `json:"finding"` // order in the job, from 1
	What        string  `json:"what"`
	Instead     string  `json:"instead"` // the word it would have had to be
	Cause       string  `json:"cause"`   // that would then come first
	Probability float64 `json:"probability"`
}

// Overturn finds the finding in words whose other outcome would most plainly
// overturn the answer: the others are kept, that one is left out, and the other
// word is put in its place. ok is false when none would.
func (l *Lineup) Overturn() (o Overturn, ok bool) {
	p := l.pop
	first := l.leading(p.weights)
	w, v := make([]float64, p.size()), make([]float64, p.size())
	for j := range l.evidence {
		e := &l.evidence[j]
		if !e.worded || e.weight != 1 || e.cond != 0 || e.epoch != len(l.draw.repairs) {
			continue
		}
		l.without(j, w)
		shows := make([]float64, len(e.check.Words)*p.size())
		for i := range p.now {
			s := l.subject(&p.now[i], p.records[i])
			e.check.Shows(&s, shows[i*len(e.check.Words):(i+1)*len(e.check.Words)])
		}
		for word := range e.check.Words {
			if word == e.word {
				continue
			}
			total := 0.0
			for i := range v {
				v[i] = w[i] * shows[i*len(e.check.Words)+word]
				total += v[i]
			}
			if total <= 0 {
				continue
			}
			for i := range v {
				v[i] /= total
			}
			marginal := l.marginals(p, v)
			top := l.leading(v)
			if top != first && marginal[top] > o.Probability {
				o = Overturn{Finding: e.finding(), What: e.label, Instead: e.check.Words[word].Is,
					Cause: l.model.Causes.Causes[top].ID, Probability: marginal[top]}
				ok = true
			}
		}
	}
	return o, ok
}

// leading is the index of the likeliest cause under the weights.
func (l *Lineup) leading(weights []float64) int {
	best, top := -1, math.Inf(-1)
	for i, v := range l.marginals(l.pop, weights) {
		if v > top {
			best, top = i, v
		}
	}
	return best
}
