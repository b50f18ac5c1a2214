package lineup

import (
	"context"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"weephole/check"
)

// Simulation-based calibration (Talts, Betancourt, Simpson, Vehtari & Gelman
// 2018, algorithm 1, from memory): when truths are drawn from the prior and data
// from the truths, the rank of any quantity of the truth among draws from its
// posterior is uniform. It tests the sampler as a whole, adapted rounds included: a
// posterior too narrow heaps the ranks at both ends, one too wide in the middle.
func TestTheTruthRanksEvenlyAmongWhatTheLineupHolds(t *testing.T) {
	if testing.Short() {
		t.Skip("hundreds of lineups")
	}
	m := smallModel(t)
	settings := *m.Settings
	settings.SecondFault.Value = 0.3
	settings.ErrorTarget.Value = 0 // every adapted round
	settings.MostRounds.Value = 4
	m.Settings = &settings
	quantities := ranked(m)
	const (
		lineups = 400
		draws   = 19 // ranks 0..19
		bins    = 10
	)
	// One lineup is looked at twice: where it stands, and drawn closer.
	stages := [...]string{"still", "drawn closer"}
	counts := make([][len(stages)][bins]float64, len(quantities))
	for rep := range lineups {
		rng := rand.New(rand.NewPCG(uint64(rep), 77))
		list := strata(m.Causes, suspicion{secondFault: settings.SecondFault.Value})
		d := newDrawer(m, Case{}.Vehicle, list)
		truth := d.fromPrior(rng)
		f := d.before(&truth)
		var cs Case
		for i := range 8 {
			k := &m.Checks.Checks[i%2]
			p := make([]float64, len(k.Words))
			shown := f.present()
			if f.n == 0 {
				g := faults{n: 1}
				g.list[0] = noFault(m)
				shown = g.present()
			}
			k.Shows(&check.Subject{Causes: shown}, p)
			w := pick(rng.Float64(), len(p), func(i int) float64 { return p[i] })
			cs.Events = append(cs.Events, Event{Check: k.ID, Word: k.Words[w].Is})
		}
		l, err := New(context.Background(), m, cs, DrawOptions{Candidates: 1600, Seed: uint64(rep) + 1000, Workers: 1, KeepStill: true})
		if err != nil {
			t.Fatal(err)
		}
		for stage := range stages {
			if stage > 0 {
				l.opts.KeepStill = false
				if err := l.sampleRounds(context.Background()); err != nil {
					t.Fatal(err)
				}
			}
			for q := range quantities {
				of := quantities[q].of
				rank := rankAmong(rng, l, draws, of(&truth, &f), of)
				counts[q][stage][rank*bins/(draws+1)]++
			}
		}
	}
	for stage, how := range stages {
		t.Run(how, func(t *testing.T) {
			for q := range quantities {
				evenly(t, quantities[q].name, counts[q][stage][:])
			}
		})
	}
}

// quantity is something of a candidate whose rank is looked at.
type quantity struct {
	name string
	of   func(c *candidate, f *faults) float64
}

// ranked are the quantities whose ranks must be even.
func ranked(m *Model) []quantity {
	keen := m.Causes.Index("keen")
	return []quantity{
		{"sum of severities", func(_ *candidate, f *faults) (sum float64) {
			for _, p := range f.present() {
				sum += p.Severity
			}
			return sum
		}},
		{"whether keen is present", func(_ *candidate, f *faults) float64 {
			if f.has(keen) {
				return 1
			}
			return 0
		}},
		{"how many causes", func(_ *candidate, f *faults) float64 { return float64(f.n) }},
		{"a number of the circuit", func(c *candidate, _ *faults) float64 { return c.z[3] }},
	}
}

// fromPrior draws an engine as the prior holds that engines are: what stands beside the point is
// mild, so the draws without regard to that are thinned.
func (d *drawer) fromPrior(rng *rand.Rand) candidate {
	mildest := d.model.Settings.BesideMildest.Value
	for {
		c := candidate{stratum: pick(rng.Float64(), len(d.strata), func(k int) float64 { return d.strata[k].prior }), z: make([]float64, d.size)}
		for i := range c.z {
			c.z[i] = rng.NormFloat64()
		}
		s := &d.strata[c.stratum]
		if s.causes[0] == d.model.Causes.NoFault() {
			if rng.Float64() < 1/mildest {
				return c
			}
			continue
		}
		if factor, _ := s.blames(d.severities(&c), mildest); rng.Float64() < factor/mildest {
			return c
		}
	}
}

// rankAmong is how many of so many draws from the lineup lie below the truth.
func rankAmong(rng *rand.Rand, l *Lineup, draws int, truth float64, of func(c *candidate, f *faults) float64) int {
	rank, equal := 0, 0
	for range draws {
		i := pick(rng.Float64(), l.pop.size(), func(i int) float64 { return l.pop.weights[i] })
		switch v := of(&l.pop.cands[i], &l.pop.now[i]); {
		case v < truth:
			rank++
		case v == truth:
			equal++
		}
	}
	return rank + rng.IntN(equal+1) // ties are broken by lot
}

// evenly fails where counts of ranks are not those of an even spread.
func evenly(t *testing.T, name string, counts []float64) {
	t.Helper()
	total, chi := 0.0, 0.0
	for _, n := range counts {
		total += n
	}
	want := total / float64(len(counts))
	for _, n := range counts {
		chi += (n - want) * (n - want) / want
	}
	p := 1 - distuv.ChiSquared{K: float64(len(counts) - 1)}.CDF(chi)
	t.Logf("%s: ranks %v, p = %.2g", name, counts, p)
	if p < 0.001 {
		t.Errorf("%s: ranks %v are not even (chi-square %.1f, p = %.2g)", name, counts, chi, p)
	}
}
