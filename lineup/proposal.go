package lineup

import (
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// mixture is what a round draws a stratum's latents from: the prior, a
// standard normal, in part, and normal distributions about where the engines
// drawn so far fit. The zero mixture is the prior.
type mixture []component

// component is one distribution of a mixture.
type component struct {
	share float64
	shape
}

// shape is a distribution of the latents given by how it differs from the
// prior: transform turns a draw of the prior into one of its own, and logRatio is
// the log of its density over the prior's.
type shape interface {
	transform(rng *rand.Rand, z []float64)
	logRatio(z []float64) float64
}

// product is two shapes that move different latents.
type product [2]shape

func (p product) transform(rng *rand.Rand, z []float64) {
	p[0].transform(rng, z)
	p[1].transform(rng, z)
}

func (p product) logRatio(z []float64) float64 { return p[0].logRatio(z) + p[1].logRatio(z) }

// alike draws a pair of causes as one of the two alone is drawn: a second fault that
// hardly shows leaves the rest of the engine where the first alone puts it. Alone a
// cause has the first place; where it is the pair's second, the two change places.
type alike struct {
	mixture
	at   int // where the latents of the first fault begin
	swap bool
}

func (a alike) transform(rng *rand.Rand, z []float64) {
	if a.swap {
		a.changePlaces(z)
		defer a.changePlaces(z)
	}
	a.mixture.transform(rng, z)
}

func (a alike) logRatio(z []float64) float64 {
	if a.swap {
		z = slices.Clone(z) // others may be looking at it
		a.changePlaces(z)
	}
	return math.Log(a.ratio(z))
}

func (a alike) changePlaces(z []float64) {
	for d := a.at; d < a.at+latentsPerFault; d++ {
		z[d], z[d+latentsPerFault] = z[d+latentsPerFault], z[d]
	}
}

// block is a normal distribution of a few latents; the rest keep the prior.
type block struct {
	latents []int
	mean    []float64
	root    *mat.TriDense // lower Cholesky factor of the covariance
	logDet  float64       // of the covariance
}

func newBlock(latents []int, mean []float64, cov *mat.SymDense) (*block, bool) {
	var chol mat.Cholesky
	if !chol.Factorize(cov) {
		return nil, false
	}
	b := &block{latents: latents, mean: mean, root: new(mat.TriDense), logDet: chol.LogDet()}
	chol.LTo(b.root)
	return b, true
}

func (b *block) transform(_ *rand.Rand, z []float64) {
	x := b.spread(z)
	for i, d := range b.latents {
		z[d] = b.mean[i] + x[i]
	}
}

// spread is a draw of the block about zero from independent normals.
func (b *block) spread(z []float64) []float64 {
	x := make([]float64, len(b.latents))
	for i := range x {
		for j := 0; j <= i; j++ {
			x[i] += b.root.At(i, j) * z[b.latents[j]]
		}
	}
	return x
}

func (b *block) logRatio(z []float64) float64 {
	x := make([]float64, len(b.latents))
	sum := -b.logDet
	for i, d := range b.latents {
		x[i] = z[d] - b.mean[i]
		sum += z[d] * z[d]
	}
	for _, y := range b.whiten(x) {
		sum -= y * y
	}
	return 0.5 * sum
}

// whiten solves root y = x in place.
func (b *block) whiten(x []float64) []float64 {
	for i := range x {
		for j := range i {
			x[i] -= b.root.At(i, j) * x[j]
		}
		x[i] /= b.root.At(i, i)
	}
	return x
}

// priorShare is what the components leave to the prior.
func (m mixture) priorShare() float64 {
	left := 1.0
	for _, c := range m {
		left -= c.share
	}
	return left
}

// transform turns a draw of the prior into one of the mixture.
func (m mixture) transform(rng *rand.Rand, z []float64) {
	if len(m) > 0 {
		m.draw(m.pick(rng.Float64()), rng, z)
	}
}

// pick is the place of a component, by a number from 0 to 1; len(m) is the prior.
func (m mixture) pick(u float64) int {
	for c := range m {
		if u -= m[c].share; u < 0 {
			return c
		}
	}
	return len(m)
}

// draw turns a draw of the prior into one of the component at that place.
func (m mixture) draw(place int, rng *rand.Rand, z []float64) {
	if place < len(m) {
		m[place].transform(rng, z)
	}
}

// ratio is the mixture's density over the prior's at z.
func (m mixture) ratio(z []float64) float64 {
	sum := m.priorShare()
	for _, c := range m {
		sum += c.share * math.Exp(c.logRatio(z))
	}
	return sum
}

// normal is a normal distribution over the first len(mean) latents whose
// precision is the prior's and more in a few directions: I + AᵀA, A with few
// rows. With gain G = Hᵀ(HHᵀ+R)⁻¹ a draw of the prior z0 and one of the noise
// e ~ N(0, R) make a draw of it: z0 + G(target - Hz0 - e) (Matheron's rule; the
// ensemble Kalman update of Evensen 1994).
type normal struct {
	mean   []float64
	a      *mat.Dense // K x D
	gain   *mat.Dense // D x K
	h      *mat.Dense // K x D
	noise  *mat.Dense // K x K, lower Cholesky factor of R
	target []float64
	logDet float64 // of the precision
}

// transform turns a draw of the prior into one of the distribution.
func (n *normal) transform(rng *rand.Rand, z []float64) {
	k, d := n.h.Dims()
	miss := make([]float64, k)
	e := make([]float64, k)
	for i := range e {
		e[i] = rng.NormFloat64()
	}
	for i := range miss {
		row := n.h.RawRowView(i)
		sum := n.target[i]
		for j, v := range row {
			sum -= v * z[j]
		}
		noise := n.noise.RawRowView(i)
		for j := 0; j <= i; j++ {
			sum -= noise[j] * e[j]
		}
		miss[i] = sum
	}
	for j := range d {
		row := n.gain.RawRowView(j)
		for i, v := range row {
			z[j] += v * miss[i]
		}
	}
}

// logRatio is the log of the density over the standard normal's.
func (n *normal) logRatio(z []float64) float64 {
	k, d := n.a.Dims()
	sum := n.logDet
	for j := range d {
		diff := z[j] - n.mean[j]
		sum += z[j]*z[j] - diff*diff
	}
	for i := range k {
		along := 0.0
		for j, v := range n.a.RawRowView(i) {
			along += v * (z[j] - n.mean[j])
		}
		sum -= along * along
	}
	return 0.5 * sum
}

// newNormal makes the distribution of z ~ N(0, I) given that Hz + e = target,
// e ~ N(0, R); ok is false where R is no covariance.
func newNormal(h *mat.Dense, r *mat.SymDense, target []float64) (n *normal, ok bool) {
	k, d := h.Dims()
	var chol mat.Cholesky
	if !chol.Factorize(r) {
		return nil, false
	}
	var lower mat.TriDense
	chol.LTo(&lower)
	n = &normal{h: h, target: target, a: mat.NewDense(k, d, nil), noise: mat.DenseCopyOf(&lower)}
	if err := n.a.Solve(&lower, h); err != nil {
		return nil, false
	}
	s := mat.NewSymDense(k, nil)
	s.SymOuterK(1, h)
	s.AddSym(s, r)
	var total mat.Cholesky
	if !total.Factorize(s) {
		return nil, false
	}
	var inverse mat.SymDense
	if err := total.InverseTo(&inverse); err != nil {
		return nil, false
	}
	n.gain = mat.NewDense(d, k, nil)
	n.gain.Mul(h.T(), &inverse)
	n.mean = make([]float64, d)
	mean := mat.NewVecDense(d, n.mean)
	mean.MulVec(n.gain, mat.NewVecDense(k, target))
	// det(I + AᵀA) = det(I + AAᵀ) = det(HHᵀ+R)/det R.
	n.logDet = total.LogDet() - chol.LogDet()
	return n, true
}
