package lineup

import (
	"context"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"weephole/cause"
	"weephole/sample"
)

// round is one batch of draws: how many candidates of each stratum were asked
// for, how many draws that took, and what they were drawn from.
type round struct {
	counts    []int
	tries     []int // draws, those that the car's fan cannot have or that a sieve kept back included
	proposals []proposal
	pieces    int   // of evidence that there were
	logs      []int // those of them that are logs
}

// sampleRounds turns the columns into the posterior by adaptive multiple importance
// sampling (Cornuet, Marin, Mira & Robert 2012), stratum by stratum.
//
// The evidence of each set of causes is estimated apart: the first round draws
// its engines from the prior, every later one from where the engines drawn so
// far fit best (proposal.go). All rounds count together by the deterministic
// mixture (Owen & Zhou 2000): a candidate's weight is its prior density over the
// density of everything drawn in its stratum,
//
//	w_i = prior_s L(z_i) φ(z_i) / Σ_r n_sr q_sr(z_i)
//
// so that no draw is lost, and the prior's share of the draws bounds every
// weight. It ends when the standard error of every cause's probability is
// below `error-target`; after `most-rounds` rounds `rough-above` is enough, and
// after `last-round` the answer is given as rough.
func (l *Lineup) sampleRounds(ctx context.Context) error {
	s := l.model.Settings
	for step := len(l.rounds); ; step++ {
		l.logEvidence = l.pop.weigh(l.pop.weights)
		if l.opts.KeepStill {
			break
		}
		worst := slices.Max(l.errors())
		// An error knows nothing of sets of causes of which no good engine was met:
		// where few engines fit, all get a look before it is believed. It knows as
		// little of a cause's sites: they need some engines too.
		engines := effectiveSize(l.pop.weights)
		searched := step > int(s.LeastRounds.Value) && engines >= s.LeastEngines.Value || engines >= s.EnoughEngines.Value
		if worst <= s.ErrorTarget.Value && searched || step > int(s.MostRounds.Value) && worst <= s.RoughAbove.Value || step > int(s.LastRound.Value) {
			break
		}
		if err := l.drawRound(ctx, l.nextRound(step)); err != nil {
			return err
		}
	}
	l.judgeSomethingElse()
	return nil
}

// drawRound draws a round's candidates, weighs them by all evidence, and gives
// every candidate of all rounds its weight before evidence.
func (l *Lineup) drawRound(ctx context.Context, r round) error {
	step, known := len(l.rounds), l.pop.size()
	drawn, err := l.drawn(ctx, &r, step)
	if err != nil {
		return err
	}
	r.pieces, r.logs = len(l.evidence), logsOf(l.evidence)
	l.rounds = append(l.rounds, r)

	q, driven := newPopulation(len(drawn), len(l.evidence)), make([]bool, len(drawn))
	copy(q.cands, drawn)
	if err := l.each(ctx, q.size(), func(k *kit, i int) {
		c := &q.cands[i]
		w, ok := l.weighOne(k, c, func(early float64) bool {
			return l.rng(streamDrive, c.drawn, step).Float64() < r.proposals[c.stratum].drives(early)
		})
		if driven[i] = ok; !ok {
			return
		}
		q.put(i, &w)
		for j := range l.rounds {
			q.drawn[i] += l.rounds[j].density(q, i)
		}
	}); err != nil {
		return err
	}
	if err := l.each(ctx, known, func(_ *kit, i int) {
		l.pop.drawn[i] += r.density(l.pop, i)
	}); err != nil {
		return err
	}
	q.keep(driven)
	l.pop.join(q)
	l.rebase()
	return nil
}

// density is the number of the round's draws in the candidate's stratum times
// their density over the prior's at the candidate.
func (r *round) density(p *population, i int) float64 {
	c := &p.cands[i]
	n := r.tries[c.stratum]
	if n == 0 || p.dead[i] {
		return 0
	}
	return float64(n) * r.proposals[c.stratum].density(c.z, p.early(i, r.pieces, r.logs))
}

// rebase fills the weights before evidence; they sum to one.
func (l *Lineup) rebase() {
	p := l.pop
	for i := range p.cands {
		p.logBase[i] = math.Inf(-1)
		c := &p.cands[i]
		s := &l.draw.strata[c.stratum]
		factor := 1.0
		if s.causes[0] != l.model.Causes.NoFault() {
			factor, c.explains = s.blames(l.draw.severities(c), l.model.Settings.BesideMildest.Value)
		}
		if !p.dead[i] {
			p.logBase[i] = math.Log(s.prior * factor / p.drawn[i])
		}
	}
	total := sample.LogSumExp(p.logBase)
	for i := range p.logBase {
		p.logBase[i] -= total
	}
	l.members = make([][]int, len(l.draw.strata))
	for i := range p.cands {
		k := p.cands[i].stratum
		l.members[k] = append(l.members[k], i)
	}
}

// nextRound decides what the next round draws: where the answer's error comes
// from gets most, and every set of causes some, so that one whose good engines
// have not been met yet is found.
func (l *Lineup) nextRound(step int) round {
	s := l.model.Settings
	// Early rounds only find where the good engines are: they are small.
	size := float64(l.opts.Candidates) * math.Min(s.RoundSize.Value, s.RoundFirst.Value*math.Pow(s.RoundGrowth.Value, float64(step-1)))
	fits := l.proposals()
	share := l.errorShares()
	explore := s.ExploreShare.Value / float64(step)
	wide, look := 0.0, l.hopes()
	for k := range look {
		look[k] = math.Pow(look[k], s.StratumPower.Value)
		if l.draw.strata[k].causes[1] >= 0 {
			look[k] *= s.PairLook.Value
		}
		wide += look[k]
	}
	sought := l.sought(step)
	r := round{counts: make([]int, len(l.draw.strata)), proposals: fits}
	for k := range r.counts {
		if !l.possible(k) {
			continue
		}
		n := size * ((1-explore)*share[k] + explore*look[k]/wide)
		n = math.Max(n, sought[k])
		r.counts[k] = int(math.Round(n / fits[k].simulated(l, l.members[k])))
	}
	return r
}

// sought is how many draws a stratum gets at the least whose good engines have hardly
// been met yet. It is one that would be a good part of the answer if it fit as well as
// its neighbour. A pair's neighbour is the closer of its causes. A single cause's is the
// one that fits best.
func (l *Lineup) sought(step int) []float64 {
	s, strata := l.model.Settings, l.draw.strata
	out := make([]float64, len(strata))
	if step > int(s.SoughtRounds.Value) {
		return out
	}
	single, best := l.singles(), 0.0
	for _, k := range single {
		best = math.Max(best, l.evidenceOf(k))
	}
	for k, list := range l.members {
		near := best
		if c := strata[k].causes; c[1] >= 0 {
			from, _ := l.closer(single, c)
			near = l.evidenceOf(from)
		}
		if strata[k].prior*near > s.SoughtMass.Value && l.effectiveOf(list) < s.SoughtEngines.Value {
			out[k] = math.Max(0, math.Min(s.SoughtLeast.Value, s.SoughtMost.Value-float64(len(list))))
		}
	}
	return out
}

// effectiveOf is the effective size of the engines listed.
func (l *Lineup) effectiveOf(list []int) float64 {
	sum, square := 0.0, 0.0
	for _, i := range list {
		w := l.pop.weights[i]
		sum += w
		square += w * w
	}
	if square == 0 {
		return 0
	}
	return sum * sum / square
}

// hopes is what each stratum's posterior mass may yet turn out to be, in a unit of
// its own: a stratum whose engines fit badly may have better ones that no round has
// met. So its likelihood counts with the power `hope-power`. A pair hopes for as
// much as the closer of its causes: the second fault may show nothing.
func (l *Lineup) hopes() []float64 {
	p, power := l.pop, l.model.Settings.HopePower.Value
	logs, out := make([]float64, p.size()), make([]float64, len(l.draw.strata))
	for i := range logs {
		logs[i] = math.Inf(-1)
		if like := p.logLikelihood(i); !p.dead[i] && !math.IsInf(like, -1) {
			logs[i] = p.logBase[i] + power*like
		}
	}
	top := slices.Max(logs)
	for k, list := range l.members {
		for _, i := range list {
			out[k] += math.Exp(logs[i] - top)
		}
	}
	single := l.singles()
	for k, s := range l.draw.strata {
		if c := s.causes; c[1] >= 0 {
			from, _ := l.closer(single, c)
			out[k] = math.Max(out[k], out[from]*s.prior/l.draw.strata[from].prior)
		}
	}
	return out
}

// possible is false for a stratum whose causes this car's fan cannot have.
func (l *Lineup) possible(k int) bool {
	return len(l.members[k]) > 0 || l.triesOf(k) < int(l.model.Settings.TriesMost.Value)
}

// failedRepairs draws a share of the first round's engines as those on which the
// repairs that changed nothing went wrong: few do, and what the repair was for
// lives on in them alone.
func (l *Lineup) failedRepairs() mixture {
	var latents []int
	var mean []float64
	for r := range l.draw.repairs {
		if t := &l.draw.repairs[r]; t.back || t.known && t.changed != cause.Cured {
			latents = append(latents, l.draw.repairAt[r]+latentSuccess)
			mean = append(mean, l.model.Settings.FailedMean.Value)
		}
	}
	if len(latents) == 0 {
		return nil
	}
	cov, sd := mat.NewSymDense(len(latents), nil), l.model.Settings.FailedSD.Value
	for i := range latents {
		cov.SetSym(i, i, sd*sd)
	}
	b, ok := newBlock(latents, mean, cov)
	if !ok {
		return nil
	}
	return mixture{component{l.model.Settings.FailedShare.Value, b}}
}
