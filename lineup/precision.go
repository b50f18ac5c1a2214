package lineup

import "math"

// The standard error of a probability P_c = Σ w_i [c in i], by the delta method
// for a ratio of two estimates (Owen 2013, ch. 9.2), with the strata's draws
// independent of each other and their numbers fixed:
//
//	e_i = w_i ([c in i] - P_c),  Var P_c = Σ_s n_s/(n_s-1) (Σ e_i² - (Σ e_i)²/n_s)
//
// With a log few engines carry much of the weight, and the rounds end when they happen to
// look even. Measured over many seeds the error is then larger: setting "log-error".

// eachSaid calls f with every probability that the answer says which candidate i has
// a share in: by catalogue index that a cause is what the car came for, and behind all
// of those that it is bad, whatever it explains.
func (l *Lineup) eachSaid(p *population, i int, f func(k int, share float64)) {
	l.eachCause(p, i, f)
	for _, here := range p.now[i].present() {
		f(len(l.model.Causes.Causes)+here.Cause, 1)
	}
}

// said is those probabilities, something-else left out.
func (l *Lineup) said() []float64 {
	return append(l.marginals(l.pop, l.pop.weights), l.present(l.pop, l.pop.weights)...)
}

// errors is the standard error of each probability that is said, in the order of
// eachSaid.
func (l *Lineup) errors() []float64 {
	p, mean := l.pop, l.said()
	variance := make([]float64, len(mean))
	sum, square, cross := make([]float64, len(mean)), make([]float64, len(mean)), make([]float64, len(mean))
	for k, list := range l.members {
		clear(sum)
		clear(square)
		clear(cross)
		all, allSquare := 0.0, 0.0
		for _, i := range list {
			w := p.weights[i]
			if w == 0 {
				continue
			}
			all += w
			allSquare += w * w
			l.eachSaid(p, i, func(c int, share float64) {
				sum[c] += w * share
				square[c] += w * w * share * share
				cross[c] += w * w * share
			})
		}
		n := float64(l.triesOf(k))
		if n < 2 || all == 0 {
			continue
		}
		for c, m := range mean {
			e := sum[c] - m*all
			e2 := square[c] - 2*m*cross[c] + m*m*allSquare
			variance[c] += n / (n - 1) * math.Max(0, e2-e*e/n)
		}
	}
	wider := 1 - l.other
	if len(logsOf(l.evidence)) > 0 {
		wider *= l.model.Settings.LogError.Value
	}
	for c := range variance {
		variance[c] = math.Sqrt(variance[c]) * wider
	}
	return variance
}

// errorShares is the share of the next draws that each stratum should get so
// that the errors of all that is said together fall fastest: in
// proportion to the spread of its weights times how much they matter (Neyman
// 1934). The shares sum to one.
func (l *Lineup) errorShares() []float64 {
	p, mean := l.pop, l.said()
	all := 0.0
	for _, m := range mean {
		all += m * m
	}
	share := make([]float64, len(l.draw.strata))
	total := 0.0
	for k, list := range l.members {
		n := float64(len(list)) // simulated: what a sieve kept back costs nothing
		var sum, square, matters float64
		for _, i := range list {
			w := p.weights[i]
			if w == 0 {
				continue
			}
			matter := all // of (0-P_c)² over all that is said, put right for what is there
			l.eachSaid(p, i, func(c int, share float64) { matter += share * (share - 2*mean[c]) })
			sum += w
			square += w * w
			matters += w * w * matter
		}
		if n < 2 || square == 0 {
			continue
		}
		spread := math.Max(0, square-sum*sum/n) * n
		share[k] = math.Sqrt(spread * matters / square)
		total += share[k]
	}
	for k := range share {
		if total > 0 {
			share[k] /= total
		}
	}
	return share
}

// triesOf is how many draws a stratum has had in all rounds.
func (l *Lineup) triesOf(k int) int {
	n := 0
	for i := range l.rounds {
		n += l.rounds[i].tries[k]
	}
	return n
}

// effectiveByCause is the effective size of the engines with each cause.
func (l *Lineup) effectiveByCause() []float64 {
	sum, square := make([]float64, len(l.model.Causes.Causes)), make([]float64, len(l.model.Causes.Causes))
	for i, w := range l.pop.weights {
		l.eachCause(l.pop, i, func(c int, share float64) {
			sum[c] += w * share
			square[c] += w * w * share * share
		})
	}
	for c := range sum {
		if square[c] > 0 {
			sum[c] *= sum[c] / square[c]
		}
	}
	return sum
}
