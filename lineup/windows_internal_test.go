package lineup

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distmv"
)

// Two windows by hand: three readings each, one missing in the second.
func TestTheWindowsOfALogByHand(t *testing.T) {
	nan := math.NaN()
	coolant := []float64{80, 84, 88, 90, nan, 92}
	windows := cut(coolant, 20, 60, 0.5)
	if len(windows) != 2 || windows[0].spread != 8 || windows[1].spread != 2 {
		t.Fatalf("windows %+v; want spreads of 8 and 2 K", windows)
	}
	candidate := []float64{79, 85, 85, 91, 40, 95}
	swings := []float64{0, 0, 0, 0, 9, 1} // the gap's does not count
	got := misses(windows, coolant, candidate, swings, nil)
	for k, want := range []float64{
		(80 - 79 + 84 - 85 + 88 - 85) / 3., (90 - 91 + 92 - 95) / 2., // of the means
		8 - 6, 2 - 5, // of the spreads; the gap's 40 °C does not count
	} {
		if math.Abs(got[k]-want) > 1e-12 {
			t.Errorf("miss %d is %g, want %g", k, got[k], want)
		}
	}
}

// A window with fewer than half of its readings says nothing.
func TestAWindowOfGapsSaysNothing(t *testing.T) {
	nan := math.NaN()
	coolant := []float64{80, nan, nan, nan, 90, 91, 92, 93}
	windows := cut(coolant, 20, 80, 0.5)
	got := misses(windows, coolant, []float64{80, 80, 80, 80, 90, 91, 92, 93}, make([]float64, 8), nil)
	if !math.IsNaN(got[0]) || !math.IsNaN(got[2]) || got[1] != 0 || got[3] != 0 {
		t.Errorf("misses %v; want nothing of the first window and zero of the second", got)
	}
}

// The likelihood of the windows against the same Gaussian written out, whose
// density is that of a general library (gonum, stat/distmv).
func TestTheLikelihoodOfWindowsIsThatOfTheGaussian(t *testing.T) {
	m := windowModel{means: ErrorModel{ModelSD: 7, Correlation: 1500, ReadingSD: 4}, spreadSD: 8, step: 300}
	x := []float64{3, -2, 9, 11, 1, -4, 6, 2}
	n := len(x) / 2
	cov := mat.NewSymDense(2*n, nil)
	for i := range n {
		for j := range n {
			v := 49 * math.Exp(-300*math.Abs(float64(i-j))/1500)
			if i == j {
				v += 16
			}
			cov.SetSym(i, j, v)
		}
		cov.SetSym(n+i, n+i, 64)
	}
	normal, ok := distmv.NewNormal(make([]float64, 2*n), cov, nil)
	if !ok {
		t.Fatal("the covariance is none")
	}
	if got, want := m.logLikelihood(x), normal.LogProb(x); math.Abs(got-want) > 1e-9 {
		t.Errorf("log likelihood %.12g, want %.12g", got, want)
	}
	white, sum := m.whiten(x), 0.0
	for _, u := range white {
		sum += u * u
	}
	if want := normal.LogProb(make([]float64, 2*n)) - normal.LogProb(x); math.Abs(sum/2-want) > 1e-9 {
		t.Errorf("half the square of the whitened misses is %.12g, want %.12g", sum/2, want)
	}
}
