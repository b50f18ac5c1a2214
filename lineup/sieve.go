package lineup

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// proposal is what a round draws a stratum's engines from: a mixture, of which
// most of what will hardly fit is kept back, by a guess before anything is
// simulated and again before the logs are driven.
type proposal struct {
	mixture
	set   *Settings
	sieve *sieve
	worth *float64 // log likelihood of all but the logs from which every engine is driven; nil without logs
}

// density is that of what comes through, over the prior's, at an engine and the log
// likelihood of all but its logs.
func (p proposal) density(z []float64, early float64) float64 {
	return p.mixture.ratio(z) * p.sieve.passes(z) * p.drives(early)
}

// drives is the share of engines of that log likelihood that are driven along the logs.
func (p proposal) drives(early float64) float64 {
	if p.worth == nil {
		return 1
	}
	return through(p.set, early-*p.worth)
}

// through is the share of engines let through that are so many nats better than
// the level.
func through(set *Settings, nats float64) float64 {
	return math.Max(set.SieveLeast.Value, math.Min(1, math.Exp(nats)))
}

// simulated is the share of the mixture's draws that the sieve lets through, told
// by the engines drawn so far.
func (p proposal) simulated(l *Lineup, list []int) float64 {
	if p.sieve == nil {
		return 1
	}
	passed, all := 0.0, 0.0
	for _, i := range list {
		if z := l.pop.cands[i].z; !l.pop.dead[i] {
			r := p.mixture.ratio(z) / l.pop.drawn[i]
			all += r
			passed += r * p.sieve.passes(z)
		}
	}
	if all == 0 {
		return 1
	}
	return math.Max(l.model.Settings.SieveLeast.Value, passed/all)
}

// sieve guesses an engine's log likelihood before it is simulated, and lets a bad
// one through only now and then. What it lets through of z is part of the density
// that z was drawn from, so no answer is bent by a bad guess: it only costs draws
// (Russian roulette: Kahn & Harris 1951).
//
//	log L(z) ~ a + b·y + c·(y²-1),  y the whitened latents of a block
//	passes(z) = min(1, exp(guess - level)), `sieve-least` at the least
type sieve struct {
	*block
	set   *Settings
	guess []float64 // a, b, c
	level float64
}

func (s *sieve) passes(z []float64) float64 {
	if s == nil {
		return 1
	}
	terms, sum := s.terms(z), 0.0
	for k, g := range s.guess {
		sum += g * terms[k]
	}
	return through(s.set, sum-s.level)
}

// terms are 1, y and y²-1.
func (s *sieve) terms(z []float64) []float64 {
	n := len(s.latents)
	out := make([]float64, 1+2*n)
	y := out[1 : 1+n]
	for i, d := range s.latents {
		y[i] = z[d] - s.mean[i]
	}
	s.whiten(y)
	out[0] = 1
	most := s.set.SieveBend.Value
	for i, v := range y {
		out[1+n+i] = math.Min(most, v*v) - 1
	}
	return out
}

// newSieve fits a sieve to the engines listed; nil where they are too few.
func (l *Lineup) newSieve(b *block, list []int) *sieve {
	s := &sieve{block: b, set: l.model.Settings}
	terms := make([][]float64, len(list))
	for r, i := range list {
		terms[r] = s.terms(l.pop.cands[i].z)
	}
	if s.guess = l.guess(list, terms); s.guess == nil {
		return nil
	}
	mean, total := 0.0, 0.0
	for r, i := range list {
		w := l.pop.weights[i]
		for k, g := range s.guess {
			mean += w * g * terms[r][k]
		}
		total += w
	}
	if total == 0 {
		return nil
	}
	s.level = mean/total - l.model.Settings.SieveBelow.Value
	return s
}

// guess fits the log likelihood of the engines listed, less the best's, to their
// terms by weighted ridge regression; nil where they are too few.
func (l *Lineup) guess(list []int, terms [][]float64) []float64 {
	best := math.Inf(-1)
	for _, i := range list {
		if !l.pop.dead[i] {
			best = math.Max(best, l.pop.logLikelihood(i))
		}
	}
	if math.IsInf(best, -1) {
		return nil
	}
	set, n := l.model.Settings, len(terms[0])
	gram, cross := mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
	looked, square, flat := 0.0, 0.0, set.SieveFlat.Value
	for r, i := range list {
		if l.pop.dead[i] {
			continue
		}
		below := math.Max(-set.SieveDepth.Value, l.pop.logLikelihood(i)-best)
		w, x := math.Exp(math.Max(-2*flat, below)/flat), mat.NewVecDense(n, terms[r])
		gram.SymRankOne(gram, w, x)
		cross.AddScaledVec(cross, w*below, x)
		looked += w
		square += w * w
	}
	if looked*looked < set.SieveEngines.Value*float64(n)*square {
		return nil
	}
	for k := 1; k < n; k++ {
		gram.SetSym(k, k, gram.At(k, k)+set.SieveRidge.Value)
	}
	var chol mat.Cholesky
	guess := mat.NewVecDense(n, nil)
	if !chol.Factorize(gram) || chol.SolveVecTo(guess, cross) != nil {
		return nil
	}
	return guess.RawVector().Data
}

// swapped is the sieve for engines on which the cause has the second place.
func (s *sieve) swapped(at int) *sieve {
	if s == nil {
		return nil
	}
	b := *s.block
	b.latents = slices.Clone(b.latents)
	for i, d := range b.latents {
		switch {
		case d >= at && d < at+latentsPerFault:
			b.latents[i] = d + latentsPerFault
		case d >= at+latentsPerFault && d < at+2*latentsPerFault:
			b.latents[i] = d - latentsPerFault
		}
	}
	return &sieve{block: &b, set: s.set, guess: s.guess, level: s.level}
}

// worthDriving is the level for a stratum's logs: `sieve-below` under the posterior's
// mean of all else; nil where there are no logs.
func (l *Lineup) worthDriving(list []int) *float64 {
	logs := logsOf(l.evidence)
	mean, total := 0.0, 0.0
	for _, i := range list {
		if w := l.pop.weights[i]; w > 0 {
			mean += w * l.pop.early(i, len(l.evidence), logs)
			total += w
		}
	}
	if len(logs) == 0 || total == 0 {
		return nil
	}
	level := mean/total - l.model.Settings.SieveBelow.Value
	return &level
}
