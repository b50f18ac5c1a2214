package tally

import (
	"math"
	"slices"
)

// PoolRules are the numbers of the pooling.
type PoolRules struct {
	// Typical and Spread say what is thought of how alike shops are before any has
	// been seen: ln kappa is normal about ln Typical with this standard deviation.
	// kappa counts in jobs: a shop with so many closed jobs trusts its own counts as
	// much as the group. Typical is the weight of the starting prior; Spread lets it
	// be seven times smaller or larger. Judgement.
	Typical, Spread float64
	// Catalogue is how many jobs the shares that the group starts from count for,
	// in all: judgement, as the catalogue's own pseudo-cases.
	Catalogue float64
}

// DefaultPoolRules gives the numbers above.
func DefaultPoolRules() PoolRules { return PoolRules{Typical: 20, Spread: 1, Catalogue: 20} }

// Pooled is what a group of shops has learned together.
type Pooled struct {
	Causes []string
	Group  []float64 // share of each cause in a shop that has not been seen
	Alike  float64   // kappa, its posterior mean
	Shops  []Share   // as they were given
}

// Share is what a shop has from the group.
type Share struct {
	Jobs   int       // that it has closed
	Counts []float64 // by cause: its own
	Lent   []float64 // by cause: jobs that it borrows, the catalogue's own included
	Shares []float64 // by cause: of its next job
}

// Borrowed are the jobs that a shop's own sheet would have to count, to start from
// the group: its own, and what the group lends beyond the catalogue, whose own
// pseudo-jobs the program has already.
func (s *Share) Borrowed(start []float64, rules PoolRules) []float64 {
	out := slices.Clone(s.Counts)
	for c := range out {
		out[c] += max(0, s.Lent[c]-rules.Catalogue*start[c])
	}
	return out
}

// The grid of ln kappa: from e^-1 to e^8 jobs. Design choice.
const (
	lowestLog, highestLog = -1.0, 8.0
	kappas                = 46
	// rounds of the fixed point are enough for four digits. Design choice.
	rounds = 200
	still  = 1e-7
)

// Pool lets small shops borrow from the group. shops are their counts of closed
// jobs by cause; start is the catalogue's share of each cause. See the package's
// description for the equations.
func Pool(causes []string, shops [][]float64, start []float64, rules PoolRules) Pooled {
	out := Pooled{Causes: causes, Group: make([]float64, len(causes)), Shops: make([]Share, len(shops))}
	for i, n := range shops {
		s := &out.Shops[i]
		s.Counts, s.Lent, s.Shares = n, make([]float64, len(causes)), make([]float64, len(causes))
		s.Jobs = int(math.Round(total(n)))
	}
	logs, phis := make([]float64, kappas), make([][]float64, kappas)
	for g := range kappas {
		kappa := math.Exp(at(g))
		phis[g] = groupShares(shops, start, kappa, rules.Catalogue)
		z := (at(g) - math.Log(rules.Typical)) / rules.Spread
		logs[g] = -z*z/2 + logPrior(phis[g], start, rules.Catalogue)
		for _, n := range shops {
			logs[g] += logMarginal(n, phis[g], kappa)
		}
	}
	most, sum := slices.Max(logs), 0.0
	for g := range logs {
		logs[g] = math.Exp(logs[g] - most)
		sum += logs[g]
	}
	for g, w := range logs {
		w /= sum
		kappa := math.Exp(at(g))
		out.Alike += w * kappa
		for c := range causes {
			out.Group[c] += w * phis[g][c]
			for i := range out.Shops {
				s := &out.Shops[i]
				s.Lent[c] += w * kappa * phis[g][c]
				s.Shares[c] += w * (s.Counts[c] + kappa*phis[g][c]) / (total(s.Counts) + kappa)
			}
		}
	}
	return out
}

func at(g int) float64 { return lowestLog + (highestLog-lowestLog)*float64(g)/(kappas-1) }

func total(n []float64) (sum float64) {
	for _, x := range n {
		sum += x
	}
	return sum
}

// groupShares are the group's shares for a kappa: the mode of their posterior, by
// Minka's fixed point with the catalogue's pseudo-jobs added. A cause's jobs in one
// shop count for the less, the more of them there are: the second says little of
// the group that the first did not.
func groupShares(shops [][]float64, start []float64, kappa, catalogue float64) []float64 {
	phi := slices.Clone(start)
	for range rounds {
		next, sum := make([]float64, len(phi)), 0.0
		for c := range phi {
			a := kappa * phi[c]
			next[c] = catalogue * start[c]
			for _, n := range shops {
				next[c] += a * rising(n[c], a)
			}
			sum += next[c]
		}
		moved := 0.0
		for c := range next {
			next[c] /= sum
			moved = max(moved, math.Abs(next[c]-phi[c]))
		}
		phi = next
		if moved < still {
			break
		}
	}
	return phi
}

// rising is psi(n+a) - psi(a), psi the digamma function, for whole n.
func rising(n, a float64) (sum float64) {
	for i := 0.0; i < n; i++ {
		sum += 1 / (a + i)
	}
	return sum
}

// logMarginal is the logarithm of the Dirichlet-multinomial probability of a shop's
// jobs in the order they came.
func logMarginal(n, phi []float64, kappa float64) float64 {
	out := lgamma(kappa) - lgamma(kappa+total(n))
	for c := range n {
		if n[c] > 0 {
			out += lgamma(kappa*phi[c]+n[c]) - lgamma(kappa*phi[c])
		}
	}
	return out
}

// logPrior is that of the group's shares, up to a constant: as if the catalogue's
// pseudo-jobs had been seen.
func logPrior(phi, start []float64, catalogue float64) (out float64) {
	for c := range phi {
		if start[c] > 0 {
			out += catalogue * start[c] * math.Log(phi[c])
		}
	}
	return out
}

func lgamma(x float64) float64 {
	v, _ := math.Lgamma(x) // the sign is of no interest: all arguments are positive
	return v
}
