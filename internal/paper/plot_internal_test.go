package paper

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// Distances that round to just under the wanted one once kept this going for ever.
func TestNamesOfAChartKeepTheirDistance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var taken []float64
		for range rapid.IntRange(1, 6).Draw(t, "names") {
			at := free(rapid.Float64Range(20, 120).Draw(t, "at"), taken)
			for _, other := range taken {
				if math.Abs(at-other) < 3.2-1e-9 {
					t.Fatalf("a name at %g beside one at %g", at, other)
				}
			}
			taken = append(taken, at)
		}
	})
}
