package sample_test

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"weephole/sample"
)

func TestSystematicTakesEachAsOftenAsItsWeightSays(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := rapid.SliceOfN(rapid.Float64Range(0, 1), 1, 30).Draw(t, "weights")
		total := 0.0
		for _, v := range w {
			total += v
		}
		if total == 0 {
			t.Skip("nothing to draw from")
		}
		n := rapid.IntRange(1, 100).Draw(t, "n")
		u := rapid.Float64Range(0, 1-1e-9).Draw(t, "u")
		taken := make([]int, len(w))
		last := 0
		for _, i := range sample.Systematic(len(w), func(i int) float64 { return w[i] / total }, n, u) {
			if i < last {
				t.Fatalf("%d comes after %d", i, last)
			}
			last = i
			taken[i]++
		}
		for i, k := range taken {
			if math.Abs(float64(k)-float64(n)*w[i]/total) >= 1+1e-6 {
				t.Fatalf("%d of %d draws with the weight %g", k, n, w[i]/total)
			}
		}
	})
}

func TestPickFollowsTheWeights(t *testing.T) {
	w := []float64{1, 0, 3}
	for _, c := range []struct {
		u    float64
		want int
	}{{0, 0}, {0.249, 0}, {0.251, 2}, {0.999, 2}} {
		if got := sample.Pick(len(w), func(i int) float64 { return w[i] }, c.u); got != c.want {
			t.Errorf("u = %g: %d, want %d", c.u, got, c.want)
		}
	}
}

func ExampleSystematic() {
	w := []float64{0.5, 0.125, 0.375}
	fmt.Println(sample.Systematic(len(w), func(i int) float64 { return w[i] }, 8, 0.5))
	// Output: [0 0 0 0 1 2 2 2]
}

// By hand: log(1/2 + 1/4) beside weights far too small to be added as they are.
func TestWeightsAreAddedByTheirLogs(t *testing.T) {
	none := math.Inf(-1)
	for _, c := range []struct {
		logs []float64
		want float64
	}{
		{nil, none}, {[]float64{none, none}, none}, {[]float64{none, -3}, -3},
		{[]float64{-2000 + math.Log(0.5), -2000 + math.Log(0.25)}, -2000 + math.Log(0.75)},
	} {
		if got := sample.LogSumExp(c.logs); got != c.want && !(math.Abs(got-c.want) < 1e-9) {
			t.Errorf("%v: %g, want %g", c.logs, got, c.want)
		}
	}
}
