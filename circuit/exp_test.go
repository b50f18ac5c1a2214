package circuit

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestExpAndLogAreTheLibrarys(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float64Range(-705, 705).Draw(t, "x")
		if got, want := exp(x), math.Exp(x); math.Abs(got-want) > 1e-14*want {
			t.Errorf("exp(%g) is %g, want %g", x, got, want)
		}
		y := math.Exp(x) * rapid.Float64Range(0.5, 2).Draw(t, "factor")
		if got, want := logOf(y), math.Log(y); math.Abs(got-want) > 1e-14*max(1, math.Abs(want)) {
			t.Errorf("log(%g) is %g, want %g", y, got, want)
		}
	})
	for _, x := range []float64{0, 1, -1, 1000, -1000, math.Inf(1), math.Inf(-1)} {
		if got, want := exp(x), math.Exp(x); got != want && math.Abs(got-want) > 1e-14*want {
			t.Errorf("exp(%g) is %g, want %g", x, got, want)
		}
		if got, want := logOf(x), math.Log(x); math.Abs(got-want) > 1e-15 && !(math.IsNaN(got) && math.IsNaN(want)) {
			t.Errorf("log(%g) is %g, want %g", x, got, want)
		}
	}
	if !math.IsNaN(exp(math.NaN())) || !math.IsNaN(logOf(math.NaN())) {
		t.Error("not a number became one")
	}
}

func BenchmarkExp(b *testing.B) {
	for _, f := range []struct {
		name string
		of   func(float64) float64
	}{{"library", math.Exp}, {"ours", exp}, {"library-log", math.Log}, {"ours-log", logOf}} {
		b.Run(f.name, func(b *testing.B) {
			sum, x := 0.0, 0.1
			for b.Loop() {
				sum += f.of(x)
				if x += 0.37; x > 9 {
					x -= 8.9
				}
			}
			if math.IsNaN(sum) {
				b.Fatal("not a number")
			}
		})
	}
}
