package lineup

import (
	"context"
	"math"
)

// move carries the lineup from the prior to the posterior in steps when too few
// candidates are left to carry the weight: adaptive tempered sequential Monte
// Carlo (Del Moral, Doucet & Jasra 2006). Each step raises the likelihood to a
// power that keeps a set share of the effective size, resamples, and moves every
// candidate with steps that leave the tempered posterior as it is, so that the
// target stays exact:
//
//   - the latent vector by a preconditioned Crank-Nicolson step
//     z' = sqrt(1-b^2) z + b w, w ~ N(0, I), which keeps the Gaussian prior, so
//     only the likelihood ratio decides (Cotter, Roberts, Stuart & White 2013);
//   - now and then the causes, with their severities and hidden states, drawn
//     afresh from the prior: an independence Metropolis-Hastings step.
func (l *Lineup) move(ctx context.Context) error {
	s := l.model.Settings
	target := min(int(s.MovedLineup.Value), max(200, l.opts.Candidates/4))
	p := l.prior
	logLik := make([]float64, p.size())
	for i := range logLik {
		logLik[i] = p.logLikelihood(i)
	}
	w := make([]float64, p.size())
	logZ := normalise(p.logBase, w)

	ancestors := make([]int, p.size())
	for i := range ancestors {
		ancestors[i] = i
	}
	power, beta := 0.0, s.MoveStep.Value
	for step := 1; power < 1; step++ {
		next := temper(w, logLik, power, s.TemperingKeep.Value)
		logw := make([]float64, len(w))
		for i := range w {
			logw[i] = math.Log(w[i]) + (next-power)*logLik[i]
		}
		logZ += normalise(logw, w)
		power = next

		picks := systematic(w, target, l.rng(streamResample, 0, step).Float64())
		p = p.pick(picks)
		kept := make([]int, target)
		for i, from := range picks {
			kept[i] = ancestors[from]
		}
		ancestors = kept
		w = make([]float64, target)
		logLik = make([]float64, target)
		for i := range w {
			w[i] = 1 / float64(target)
			logLik[i] = p.logLikelihood(i)
		}
		rounds := int(s.MovesPerStep.Value)
		if power == 1 {
			rounds *= 2 // the last population is the answer: let it forget its parents
		}
		for round := range rounds {
			accepted, err := l.step(ctx, p, logLik, power, beta, step*64+round)
			if err != nil {
				return err
			}
			switch { // aim between the usual 0.2 and 0.4
			case accepted < 0.2:
				beta = math.Max(0.05, beta*0.7)
			case accepted > 0.4:
				beta = math.Min(0.9, beta*1.3)
			}
		}
	}
	distinct := make(map[int]bool)
	for _, a := range ancestors {
		distinct[a] = true
	}
	copy(p.weights, w)
	l.post, l.distinct, l.logEvidence = p, len(distinct), logZ
	return nil
}

// temper finds the next power of the likelihood: the largest that keeps the
// share `keep` of the conditional effective size (Zhou, Johansen & Aston 2016).
func temper(w, logLik []float64, power, keep float64) float64 {
	inc := make([]float64, len(w))
	share := func(next float64) float64 {
		top := math.Inf(-1)
		for i := range w {
			if w[i] > 0 {
				inc[i] = (next - power) * logLik[i]
				top = math.Max(top, inc[i])
			}
		}
		a, b := 0.0, 0.0
		for i := range w {
			if w[i] > 0 {
				v := math.Exp(inc[i] - top)
				a += w[i] * v
				b += w[i] * v * v
			}
		}
		return a * a / b
	}
	if share(1) >= keep {
		return 1
	}
	low, high := power, 1.0
	for range 40 {
		mid := (low + high) / 2
		if share(mid) >= keep {
			low = mid
		} else {
			high = mid
		}
	}
	return math.Max(low, math.Min(1, power+1e-4))
}

// causeMoveShare is how often a move draws the causes afresh: a design choice.
const causeMoveShare = 0.3

// step moves every candidate once at the given power of the likelihood and
// returns the share of the latent moves that were accepted.
func (l *Lineup) step(ctx context.Context, p *population, logLik []float64, power, beta float64, round int) (float64, error) {
	n := p.size()
	outcome := make([]int8, n) // 1 accepted, 0 rejected, -1 a move of causes
	keep := math.Sqrt(1 - beta*beta)
	err := l.each(ctx, n, func(k *kit, i int) {
		rng := l.rng(streamMove, i, round)
		was := &p.cands[i]
		c := candidate{stratum: was.stratum, z: make([]float64, len(was.z))}
		causes := rng.Float64() < causeMoveShare
		if causes {
			copy(c.z, was.z)
			c.stratum = pick(rng.Float64(), len(l.draw.strata), func(k int) float64 { return l.draw.strata[k].prior })
			for d := l.draw.dim; d < len(c.z); d++ {
				c.z[d] = rng.NormFloat64()
			}
			outcome[i] = -1
		} else {
			for d := range c.z {
				c.z[d] = keep*was.z[d] + beta*rng.NormFloat64()
			}
		}
		w := l.weighOne(k, &c)
		sum := 0.0
		for _, v := range w.evidence {
			sum += v
		}
		if math.Log(rng.Float64()) < power*(sum-logLik[i]) {
			p.cands[i] = c
			p.put(i, &w)
			logLik[i] = sum
			if !causes {
				outcome[i] = 1
			}
		}
	})
	accepted, tried := 0, 0
	for _, o := range outcome {
		if o >= 0 {
			tried++
			accepted += int(o)
		}
	}
	return float64(accepted) / math.Max(1, float64(tried)), err
}

// pick makes a population of copies of the picked candidates, equally weighted.
func (p *population) pick(picks []int) *population {
	q := newPopulation(len(picks), len(p.columns))
	for i, from := range picks {
		q.cands[i] = p.cands[from]
		q.now[i], q.records[i], q.have[i] = p.now[from], p.records[from], p.have[from]
		q.logBase[i] = -math.Log(float64(len(picks)))
		for j := range p.columns {
			q.columns[j][i] = p.columns[j][from]
		}
	}
	return q
}
