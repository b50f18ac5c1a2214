package lineup

import (
	"math"

	"weephole/sample"
)

// normalise turns log weights into weights that sum to one, written to w, and
// returns the log of their sum. The sum runs in index order, so the result is
// the same on any number of cores.
func normalise(logw, w []float64) float64 {
	total := sample.LogSumExp(logw)
	if math.IsInf(total, -1) {
		for i := range w {
			w[i] = 1 / float64(len(w))
		}
		return total
	}
	for i, v := range logw {
		w[i] = math.Exp(v - total)
	}
	return total
}

// effectiveSize is 1/sum(w^2) of normalised weights (Kong, Liu & Wong 1994):
// how many equally weighted candidates would tell as much.
func effectiveSize(w []float64) float64 {
	sum := 0.0
	for _, v := range w {
		sum += v * v
	}
	if sum == 0 {
		return 0
	}
	return 1 / sum
}

// systematic draws n indexes in proportion to the normalised weights with one
// uniform number u in [0,1) (Kitagawa 1996): the least noisy simple resampling.
func systematic(w []float64, n int, u float64) []int {
	return sample.Systematic(len(w), func(i int) float64 { return w[i] }, n, u)
}
