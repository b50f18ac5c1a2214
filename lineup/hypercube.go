package lineup

import (
	"math/rand/v2"

	"gonum.org/v1/gonum/mathext"
)

// hypercube draws the candidates of one stratum evenly: each latent's range is cut into
// as many equally likely parts as there are candidates, and every part is hit once
// (Latin hypercube: McKay, Beckman & Conover 1979). Each candidate by itself is a draw
// of the prior, and a mean over them errs less as far as latents act one by one.
type hypercube [][]int32 // by latent, by candidate: its part

func newHypercube(rng *rand.Rand, latents, n int) hypercube {
	if n < 2 {
		return nil
	}
	h := make(hypercube, latents)
	for d := range h {
		h[d] = make([]int32, n)
		for j := range h[d] {
			h[d][j] = int32(j)
		}
		rng.Shuffle(n, func(a, b int) { h[d][a], h[d][b] = h[d][b], h[d][a] })
	}
	return h
}

// draw fills the latents of the j-th candidate.
func (h hypercube) draw(rng *rand.Rand, z []float64, j int) {
	for d, part := range h {
		u := rng.Float64()
		z[d] = mathext.NormalQuantile((float64(part[j]) + max(u, 1e-9)) / float64(len(part)))
	}
}
