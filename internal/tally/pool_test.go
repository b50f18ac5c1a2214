package tally

import (
	"math"
	"math/rand/v2"
	"testing"
)

var three = []string{"a", "b", "c"}

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if math.Abs(got-want) > within {
		t.Errorf("%s: %.4f, want %.4f within %.4f", what, got, want, within)
	}
}

func TestWithoutJobsTheGroupIsTheCatalogue(t *testing.T) {
	start := []float64{0.5, 0.3, 0.2}
	p := Pool(three, [][]float64{{0, 0, 0}}, start, DefaultPoolRules())
	for c := range start {
		near(t, "group", p.Group[c], start[c], 1e-6)
		near(t, "shop", p.Shops[0].Shares[c], start[c], 1e-6)
	}
}

// By hand, for one kappa: psi(2+1) - psi(1) is 1 + 1/2, and a Dirichlet-multinomial
// with kappa 2 and equal shares gives two jobs of one cause (1 * 2) / (2 * 3) = 1/3.
func TestThePartsAreThoseWorkedOutByHand(t *testing.T) {
	near(t, "rising", rising(2, 1), 1.5, 1e-12)
	near(t, "marginal", math.Exp(logMarginal([]float64{2, 0}, []float64{0.5, 0.5}, 2)), 1.0/3, 1e-12)
	// One shop with jobs (1, 0), kappa 2, equal start that counts for 2 jobs: each
	// round gives (1 + 2 p * 1/(2 p), 1) = (2, 1), so the shares are 2/3 and 1/3.
	phi := groupShares([][]float64{{1, 0}}, []float64{0.5, 0.5}, 2, 2)
	near(t, "group's share", phi[0], 2.0/3, 1e-6)
}

func TestASmallShopBorrowsAndALargeOneHardlyDoes(t *testing.T) {
	start := []float64{1. / 3, 1. / 3, 1. / 3}
	alike := [][]float64{{70, 20, 10}, {140, 40, 20}, {35, 10, 5}, {0, 0, 1}}
	p := Pool(three, alike, start, DefaultPoolRules())
	small, large := p.Shops[3], p.Shops[1]
	if small.Shares[0] < 0.5 {
		t.Errorf("the small shop's share of the group's commonest cause is %.2f; it borrows too little", small.Shares[0])
	}
	near(t, "the large shop", large.Shares[0], 0.7, 0.02)
	unlike := [][]float64{{100, 0, 0}, {0, 100, 0}, {0, 0, 100}, {0, 0, 1}}
	q := Pool(three, unlike, start, DefaultPoolRules())
	if q.Alike > p.Alike/5 {
		t.Errorf("kappa is %.1f for shops that differ and %.1f for shops that are alike", q.Alike, p.Alike)
	}
	if got := q.Shops[3].Shares[2]; got < 0.5 {
		t.Errorf("where shops differ one job should weigh more than the group: share %.2f", got)
	}
	for _, s := range append(p.Shops, q.Shops...) {
		near(t, "sum", total(s.Shares), 1, 1e-9)
	}
}

// Pooling in part is nearer to the truth than each shop alone, for groups drawn as
// the model says, of whichever likeness; and nearer than all shops as one where they
// differ at least as the rules expect. Where they are more alike (kappa 100), all as
// one was nearer by a twentieth when this was written: the rules hold kappa back.
func TestPoolingInPartIsNearerThanNoneAndThanAll(t *testing.T) {
	random := rand.New(rand.NewPCG(19, 5))
	start := []float64{0.4, 0.3, 0.2, 0.1}
	names := []string{"a", "b", "c", "d"}
	for _, kappa := range []float64{4, 20, 100} {
		var part, none, one float64
		for range 60 {
			phi := dirichlet(random, start, 20)
			var shops, truths [][]float64
			whole := make([]float64, 4)
			for _, jobs := range []int{2, 5, 10, 30, 100} {
				theta := dirichlet(random, phi, kappa)
				n := make([]float64, 4)
				for range jobs {
					n[pick(random, theta)]++
				}
				for c := range n {
					whole[c] += n[c]
				}
				shops, truths = append(shops, n), append(truths, theta)
			}
			p := Pool(names, shops, start, DefaultPoolRules())
			for i, theta := range truths {
				for c := range theta {
					alone := (shops[i][c] + 20*start[c]) / (total(shops[i]) + 20)
					all := (whole[c] + 20*start[c]) / (total(whole) + 20)
					part += square(p.Shops[i].Shares[c] - theta[c])
					none += square(alone - theta[c])
					one += square(all - theta[c])
				}
			}
		}
		t.Logf("kappa %g: squared errors in part %.2f, alone %.2f, as one %.2f", kappa, part, none, one)
		if part > none || part > one && kappa <= DefaultPoolRules().Typical {
			t.Errorf("kappa %g: in part %.2f, alone %.2f, as one %.2f", kappa, part, none, one)
		}
	}
}

func square(x float64) float64 { return x * x }

func pick(r *rand.Rand, p []float64) int {
	u := r.Float64()
	for i := range p {
		if u -= p[i]; u < 0 {
			return i
		}
	}
	return len(p) - 1
}

// dirichlet draws shares about a mean; a gamma variate is drawn by the method of
// Marsaglia and Tsang (2000), from memory.
func dirichlet(r *rand.Rand, mean []float64, weight float64) []float64 {
	out, sum := make([]float64, len(mean)), 0.0
	for i, m := range mean {
		out[i] = gamma(r, weight*m)
		sum += out[i]
	}
	for i := range out {
		out[i] /= sum
	}
	return out
}

func gamma(r *rand.Rand, shape float64) float64 {
	if shape < 1 {
		return gamma(r, shape+1) * math.Pow(r.Float64(), 1/shape)
	}
	d := shape - 1.0/3
	c := 1 / math.Sqrt(9*d)
	for {
		x := r.NormFloat64()
		v := 1 + c*x
		if v <= 0 {
			continue
		}
		v = v * v * v
		if math.Log(r.Float64()) < x*x/2+d-d*v+d*math.Log(v) {
			return d * v
		}
	}
}
