package ode

import (
	"errors"
	"fmt"
	"math"
)

// Func writes dy/dt at (t, y) into dy.
type Func func(t float64, y, dy []float64)

// ErrTooManySteps says that the integration did not reach its end in the
// steps allowed.
var ErrTooManySteps = errors.New("too many steps")

const mostSteps = 5_000_000

// The pair's nodes and weights.
var (
	nodes  = [7]float64{0, 1. / 5, 3. / 10, 4. / 5, 8. / 9, 1, 1}
	stages = [7][6]float64{
		{},
		{1. / 5},
		{3. / 40, 9. / 40},
		{44. / 45, -56. / 15, 32. / 9},
		{19372. / 6561, -25360. / 2187, 64448. / 6561, -212. / 729},
		{9017. / 3168, -355. / 33, 46732. / 5247, 49. / 176, -5103. / 18656},
		{35. / 384, 0, 500. / 1113, 125. / 192, -2187. / 6784, 11. / 84},
	}
	// fifth minus fourth order weights
	estimate = [7]float64{71. / 57600, 0, -71. / 16695, 71. / 1920, -17253. / 339200, 22. / 525, -1. / 40}
)

// Explicit takes y from t to end with the relative and absolute tolerances
// given, in place.
func Explicit(f Func, t, end float64, y []float64, relative, absolute float64) error {
	n := len(y)
	var k [7][]float64
	for i := range k {
		k[i] = make([]float64, n)
	}
	at := make([]float64, n)
	f(t, y, k[0])
	h := firstStep(y, k[0], end-t, relative, absolute)
	for range mostSteps {
		if t >= end {
			return nil
		}
		h = min(h, end-t)
		for s := 1; s < 7; s++ {
			for i := range at {
				sum := 0.0
				for j := range s {
					sum += stages[s][j] * k[j][i]
				}
				at[i] = y[i] + h*sum
			}
			f(t+nodes[s]*h, at, k[s])
		}
		norm := 0.0
		for i := range at {
			e := 0.0
			for s := range k {
				e += estimate[s] * k[s][i]
			}
			scale := absolute + relative*max(math.Abs(y[i]), math.Abs(at[i]))
			norm = max(norm, math.Abs(h*e)/scale)
		}
		if norm <= 1 {
			t += h
			copy(y, at)
			copy(k[0], k[6])
		}
		if end-t < 1e-14*math.Abs(end) {
			return nil
		}
		h *= min(5, max(0.2, 0.9*math.Pow(max(norm, 1e-10), -0.2)))
	}
	return fmt.Errorf("integrate to %g, reached %g: %w", end, t, ErrTooManySteps)
}

func firstStep(y, dy []float64, span, relative, absolute float64) float64 {
	h := span
	for i := range y {
		if scale := absolute + relative*math.Abs(y[i]); dy[i] != 0 {
			h = min(h, 0.01*math.Max(math.Abs(y[i]), scale)/math.Abs(dy[i]))
		}
	}
	return max(h, 1e-10*span)
}
