package trial

import (
	"math"
	"testing"
)

// One statement on each of n cars, all of 0.5: the error is |k/n - 1/2| with k
// binomial, whose mean is about sqrt(1/(2 pi n)) (the mean of a normal's size,
// sigma sqrt(2/pi), with sigma = 0.5/sqrt(n)).
func TestChanceLeavesTheErrorThatTheBinomialHas(t *testing.T) {
	const n = 400
	said := make([][]float64, n)
	for i := range said {
		said[i] = []float64{0.5}
	}
	if got, want := byChance(said), math.Sqrt(1/(2*math.Pi*n)); math.Abs(got-want) > 0.15*want {
		t.Errorf("error by chance %.4f, want about %.4f", got, want)
	}
	said = [][]float64{{0, 1}, {1}, {0}}
	if got := byChance(said); got != 0 {
		t.Errorf("what is certain cannot be wrong by chance: %v", got)
	}
}
