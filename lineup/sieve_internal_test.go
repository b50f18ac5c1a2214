package lineup

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
)

func defaults(t *testing.T) *Settings {
	t.Helper()
	s, err := DefaultSettings()
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// A mean over what a sieve lets through, each draw by one over its chance to come
// through, is the mean over all: whatever the guess, good or bad.
func TestASieveBendsNoMean(t *testing.T) {
	cov := mat.NewSymDense(2, []float64{0.5, 0.2, 0.2, 0.8})
	b, ok := newBlock([]int{0, 2}, []float64{0.3, -0.4}, cov)
	if !ok {
		t.Fatal("no block")
	}
	numbers := defaults(t)
	for name, guess := range map[string][]float64{
		"good": {0, 1, 0, -0.5, 0},
		"bad":  {0, -2, 3, 0.5, -1},
	} {
		s := &sieve{block: b, set: numbers, guess: guess, level: 1}
		rng := rand.New(rand.NewPCG(1, 2))
		const n = 200_000
		var sum, square float64
		through := 0
		for range n {
			z := []float64{rng.NormFloat64(), rng.NormFloat64(), rng.NormFloat64()}
			p := s.passes(z)
			if p < numbers.SieveLeast.Value || p > 1 {
				t.Fatalf("%s: passes %g", name, p)
			}
			if rng.Float64() < p {
				through++
				v := math.Exp(z[0]) / p // its mean over the normal is exp(1/2)
				sum += v
				square += v * v
			}
		}
		mean := sum / n
		se := math.Sqrt(square/n-mean*mean) / math.Sqrt(n)
		if math.Abs(mean-math.Exp(0.5)) > 4*se {
			t.Errorf("%s: mean %.4f, want %.4f within %.4f", name, mean, math.Exp(0.5), 4*se)
		}
		if through > n*9/10 {
			t.Errorf("%s: the sieve lets everything through", name)
		}
	}
}

// Swapping the places of two faults in the latents and in the sieve changes nothing.
func TestASwappedSieveSeesTheSameEngine(t *testing.T) {
	const at = 2
	cov := mat.NewSymDense(3, []float64{1, 0.3, 0, 0.3, 1, 0.1, 0, 0.1, 1})
	b, _ := newBlock([]int{0, at, at + latentsPerFault + 1}, []float64{0.1, 0.2, 0.3}, cov)
	s := &sieve{block: b, set: defaults(t), guess: []float64{0.1, 1, -1, 0.5, 0.2, 0.3, -0.4}, level: 0.5}
	z := make([]float64, at+2*latentsPerFault)
	for i := range z {
		z[i] = math.Sin(float64(3 * i))
	}
	there := append([]float64(nil), z...)
	alike{at: at}.changePlaces(there)
	if a, b := s.passes(z), s.swapped(at).passes(there); math.Abs(a-b) > 1e-12 {
		t.Errorf("%g and %g", a, b)
	}
}
