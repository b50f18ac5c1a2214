package lineup

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"
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
//   - the vehicle's numbers by a differential step z' = z + g (z1 - z2) along
//     the line between two other candidates, which finds scale and correlation
//     of what the findings have pinned down by itself; symmetric, so prior and
//     likelihood decide (ter Braak 2006);
//   - now and then the causes, drawn afresh with their severities and hidden
//     states: an independence Metropolis-Hastings step whose proposal already
//     knows what the evidence but the logs says of each set of causes.
//
// A log pins down the vehicle's own numbers far from where most are drawn, so
// that the few candidates that happen to lie near would speak for their causes
// alone. With a log among the evidence a pilot run therefore finds where the
// numbers lie; the lineup is drawn again, half from the prior and half from
// there, weighted for it, so that every cause is tried on a well-fitting engine.
func (l *Lineup) move(ctx context.Context) error {
	target := min(int(l.model.Settings.MovedLineup.Value), max(200, l.opts.Candidates/4))
	propose := l.proposeCauses()
	from := l.prior
	if countLogs(l.evidence) > 0 {
		pilot, err := l.travel(ctx, l.prior, propose, target/3, 0)
		if err != nil {
			return err
		}
		if from, err = l.drawAround(ctx, pilot.p, len(l.prior.cands)/focusShare); err != nil {
			return err
		}
	}
	t, err := l.travel(ctx, from, propose, target, 1)
	if err != nil {
		return err
	}
	l.post, l.distinct, l.logEvidence = t.p, t.ancestors, t.logZ
	return nil
}

// focusShare: one in so many candidates is drawn again around the pilot.
const focusShare = 2

// travelled is where a journey from the prior to the posterior ends.
type travelled struct {
	p         *population
	ancestors int     // candidates at the start that it descends from
	logZ      float64 // log of the evidence
}

// travel carries a population from its base weights to the posterior. leg keeps
// the random numbers of several journeys apart.
func (l *Lineup) travel(ctx context.Context, p *population, propose []float64, target, leg int) (travelled, error) {
	s := l.model.Settings
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
	for step := 1 + leg*legSteps; power < 1; step++ {
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
			rounds *= 3 // the last population is the answer: let it forget its parents
		}
		for round := range rounds {
			accepted, err := l.step(ctx, p, propose, logLik, power, beta, step*64+round)
			if err != nil {
				return travelled{}, err
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
	return travelled{p, len(distinct), logZ}, nil
}

// legSteps keeps the steps of two journeys apart; no journey takes so many.
const legSteps = 4096

// drawAround draws n candidates anew, the vehicle's numbers half from the prior
// and half from a normal distribution about where the pilot's lie, wider than
// they do, and weighs each for that: the mixture bounds every weight by two.
func (l *Lineup) drawAround(ctx context.Context, pilot *population, n int) (*population, error) {
	dim := l.draw.dim
	mean, sd := make([]float64, dim), make([]float64, dim)
	for d := range dim {
		sum, square := 0.0, 0.0
		for i := range pilot.cands {
			z := pilot.cands[i].z[d]
			sum += z
			square += z * z
		}
		m := sum / float64(pilot.size())
		mean[d] = m
		sd[d] = math.Min(1, math.Max(leastSpread, 1.3*math.Sqrt(math.Max(0, square/float64(pilot.size())-m*m))))
	}
	counts := allocate(l.draw.strata, n, l.model.Settings.StratumPower.Value, max(2, n/400))
	var from []int // by new candidate: its stratum
	for k, c := range counts {
		for range c {
			from = append(from, k)
		}
	}
	p := newPopulation(len(from), len(l.evidence))
	err := l.each(ctx, len(from), func(k *kit, i int) {
		rng := l.rng(streamFocus, i, 0)
		c := candidate{stratum: from[i], z: make([]float64, l.draw.size)}
		near := rng.Float64() < 0.5
		for d := range c.z {
			c.z[d] = rng.NormFloat64()
			if d < dim && near {
				c.z[d] = mean[d] + sd[d]*c.z[d]
			}
		}
		logRatio := 0.0 // log of the pilot's density over the prior's
		for d := range dim {
			z := (c.z[d] - mean[d]) / sd[d]
			logRatio += 0.5*(c.z[d]*c.z[d]-z*z) - math.Log(sd[d])
		}
		p.logBase[i] = math.Log(l.draw.strata[from[i]].prior/float64(counts[from[i]])) -
			logSumExp([]float64{math.Log(0.5), math.Log(0.5) + logRatio})
		if !l.draw.fits(&c) {
			p.logBase[i] = math.Inf(-1)
		}
		w := l.weighOne(k, &c)
		p.cands[i] = c
		p.put(i, &w)
	})
	if err != nil {
		return nil, err
	}
	total := logSumExp(p.logBase)
	for i := range p.logBase {
		p.logBase[i] -= total
	}
	return p, nil
}

// leastSpread keeps the pilot from pinning a number more than it knows it;
// judgement, in standard deviations of the prior.
const leastSpread = 0.4

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

// How often each kind of move is made, the rest being Crank-Nicolson steps:
// design choices.
const (
	causeMoveShare        = 0.25
	differentialMoveShare = 0.45
)

// step moves every candidate once at the given power of the likelihood and
// returns the share of the Crank-Nicolson moves that were accepted. All
// proposals rest on the population as it was before the step, so the order of
// the workers does not matter.
func (l *Lineup) step(ctx context.Context, p *population, propose []float64, logLik []float64, power, beta float64, round int) (float64, error) {
	n := p.size()
	before := append([]candidate(nil), p.cands...)
	outcome := make([]int8, n) // 1 accepted, 0 rejected, -1 another kind of move
	err := l.each(ctx, n, func(k *kit, i int) {
		rng := l.rng(streamMove, i, round)
		var c candidate
		logPrior := 0.0 // ratio of the prior densities, for moves that do not keep the prior
		switch u := rng.Float64(); {
		case u < causeMoveShare:
			c = l.freshCauses(&before[i], propose, rng)
			logPrior = l.logFavour(c.stratum, propose) - l.logFavour(before[i].stratum, propose)
			outcome[i] = -1
		case u < causeMoveShare+differentialMoveShare:
			c, logPrior = l.differential(before, i, rng)
			outcome[i] = -1
		default:
			c = crankNicolson(&before[i], beta, rng)
		}
		if !l.draw.fits(&c) {
			return // no such engine: the prior of the proposal is nothing
		}
		w := l.weighOne(k, &c)
		sum := 0.0
		for _, v := range w.evidence {
			sum += v
		}
		if math.Log(rng.Float64()) < logPrior+power*(sum-logLik[i]) {
			p.cands[i] = c
			p.put(i, &w)
			logLik[i] = sum
			if outcome[i] == 0 {
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

// crankNicolson moves all latents a little.
func crankNicolson(was *candidate, beta float64, rng *rand.Rand) candidate {
	c := candidate{stratum: was.stratum, z: make([]float64, len(was.z))}
	keep := math.Sqrt(1 - beta*beta)
	for d := range c.z {
		c.z[d] = keep*was.z[d] + beta*rng.NormFloat64()
	}
	return c
}

// proposeCauses is the distribution over strata that fresh causes are proposed
// from: half the prior, half the posterior under all evidence but the logs,
// which cost little to weigh and mostly concern the vehicle's numbers.
func (l *Lineup) proposeCauses() []float64 {
	p := l.prior
	logw := slices.Clone(p.logBase)
	for j := range l.evidence {
		if l.evidence[j].log == nil {
			for i := range logw {
				logw[i] += p.columns[j][i]
			}
		}
	}
	w := make([]float64, len(logw))
	normalise(logw, w)
	propose := make([]float64, len(l.draw.strata))
	for i, v := range w {
		propose[p.cands[i].stratum] += 0.5 * v
	}
	for k := range propose {
		propose[k] += 0.5 * l.draw.strata[k].prior
	}
	return propose
}

// logFavour is the log of a stratum's prior over its share of the proposals.
func (l *Lineup) logFavour(k int, propose []float64) float64 {
	return math.Log(l.draw.strata[k].prior / propose[k])
}

// freshCauses draws the causes and all that belongs to them afresh. Whatever
// the repairs did is drawn afresh too: it goes with what there was to repair.
func (l *Lineup) freshCauses(was *candidate, propose []float64, rng *rand.Rand) candidate {
	c := candidate{z: append([]float64(nil), was.z...)}
	c.stratum = pick(rng.Float64(), len(propose), func(k int) float64 { return propose[k] })
	for d := l.draw.dim; d < l.draw.dim+2*latentsPerFault; d++ {
		c.z[d] = rng.NormFloat64()
	}
	for _, at := range l.draw.repairAt {
		for d := at; d < at+latentsPerRepair; d++ {
			c.z[d] = rng.NormFloat64()
		}
	}
	return c
}

// differential moves some of the vehicle's numbers along the difference of two
// other candidates. The second value is the log ratio of the prior densities.
func (l *Lineup) differential(all []candidate, i int, rng *rand.Rand) (candidate, float64) {
	n := len(all)
	a, b := rng.IntN(n), rng.IntN(n)
	for a == i {
		a = rng.IntN(n)
	}
	for b == i || b == a {
		b = rng.IntN(n)
	}
	was := &all[i]
	c := candidate{stratum: was.stratum, z: append([]float64(nil), was.z...)}
	share := []float64{0.15, 0.4, 1}[rng.IntN(3)]          // of the numbers that move
	reach := 2.38 / math.Sqrt(2*share*float64(l.draw.dim)) // ter Braak 2006
	logPrior := 0.0
	for d := range l.draw.dim {
		if rng.Float64() < share {
			c.z[d] += reach*(all[a].z[d]-all[b].z[d]) + 1e-4*rng.NormFloat64()
			logPrior += 0.5 * (was.z[d]*was.z[d] - c.z[d]*c.z[d])
		}
	}
	return c, logPrior
}

// pick makes a population of copies of the picked candidates, equally weighted.
func (p *population) pick(picks []int) *population {
	q := newPopulation(len(picks), len(p.columns))
	for i, from := range picks {
		q.cands[i] = p.cands[from]
		q.now[i], q.records[i], q.have[i], q.any[i] = p.now[from], p.records[from], p.have[from], p.any[from]
		q.logBase[i] = -math.Log(float64(len(picks)))
		for j := range p.columns {
			q.columns[j][i] = p.columns[j][from]
		}
	}
	return q
}
