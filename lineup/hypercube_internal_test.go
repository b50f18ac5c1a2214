package lineup

import (
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"
)

func TestAHypercubeHitsEveryPartOfEveryLatentOnce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n, latents := rapid.IntRange(2, 200).Draw(t, "n"), rapid.IntRange(1, 6).Draw(t, "latents")
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		h, z := newHypercube(rng, latents, n), make([]float64, latents+1)
		hits := make([][]int, latents)
		for d := range hits {
			hits[d] = make([]int, n)
		}
		for j := range n {
			h.draw(rng, z, j)
			for d := range latents {
				hits[d][int(distuv.UnitNormal.CDF(z[d])*float64(n)*(1-1e-12))]++
			}
		}
		for d, list := range hits {
			for part, k := range list {
				if k != 1 {
					t.Fatalf("latent %d: part %d of %d is hit %d times", d, part, n, k)
				}
			}
		}
		if z[latents] != 0 {
			t.Error("a latent beyond its own was drawn")
		}
	})
}

// One candidate alone is left to chance.
func TestAHypercubeOfOneDrawsNothing(t *testing.T) {
	z := []float64{3}
	newHypercube(rand.New(rand.NewPCG(1, 1)), 1, 1).draw(nil, z, 0)
	if z[0] != 3 {
		t.Errorf("it drew %g", z[0])
	}
}
