package solve_test

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"weephole/plan/solve"
)

// TestManyHypothesesPutTogetherKeepTheChancesOfOutcomes: a search works on groups of
// them, some of no weight at all, yet the chance of each outcome stays exactly the same.
func TestManyHypothesesPutTogetherKeepTheChancesOfOutcomes(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 1))
	p := &solve.Problem{Kinds: 3, States: 1, Tries: 1, GiveUp: []float64{500, 700, 900}}
	for k := range 3 {
		cures := make([]float64, 3)
		cures[k] = 0.9
		p.Repairs = append(p.Repairs, solve.RepairAction{Cost: []float64{100}, Then: []int{0}, Cures: cures})
	}
	c := solve.CheckAction{Cost: []float64{5}, Then: []int{0}, P: [][]float64{nil, nil, nil}}
	want := [3]float64{}
	const n = 2000
	for h := range n {
		w := 0.0
		if h%2 == 0 {
			w = 2.0 / n
		}
		p.Weight = append(p.Weight, w)
		p.Faults = append(p.Faults, []int{h / 2 % 3})
		a, b := rng.Float64(), rng.Float64()
		for o, q := range []float64{a * b, a * (1 - b), 1 - a} {
			c.P[o] = append(c.P[o], q)
			want[o] += w * q
		}
	}
	p.Checks = []solve.CheckAction{c}
	list, err := solve.New(p, 0).Rank(context.Background(), 0)
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range list {
		for o := range a.Outcomes {
			if a.Kind == solve.DoCheck && math.Abs(a.Outcomes[o].Probability-want[o]) > 1e-12 {
				t.Errorf("outcome %d: %v, want %v", o, a.Outcomes[o].Probability, want[o])
			}
		}
	}
}
