package solve_test

import (
	"context"
	"math"
	"testing"

	"weephole/plan/solve"
)

// TestTextbookDecisionsComeOutAsPublished takes decisions between two acts, one of
// which pays by what is the case and one always the same, with a test before them or not.
// Costs are the best pay less the pay. The first act is handing on, whose cost depends on
// what is the case; the other a repair that always works. Figures: testdata/bayes_decision_troubleshooting.json.
func TestTextbookDecisionsComeOutAsPublished(t *testing.T) {
	for _, c := range []struct {
		name        string
		good        float64    // probability that all is well
		best        float64    // pay of the first act then
		bad         float64    // pay of the first act else
		other       float64    // pay of the other act
		test        float64    // cost of the test; 0 for none
		passes      [2]float64 // if good, if bad
		act, tested float64    // expected pay of the best act without and with the test
		perfect     float64    // expected pay with perfect information
	}{
		{name: "ship or rework", good: 0.75, best: 40, bad: -20, other: 10, act: 25, perfect: 32.5},                                                             // ship_or_rework
		{name: "a car with one test", good: 0.8, best: 60, bad: -100, other: 0, test: 9, passes: [2]float64{0.9, 0.4}, act: 28, tested: 26.2, perfect: 48},      // car_buyer_neapolitan; perfect by hand, 0.8 x 60
		{name: "a car and a mechanic", good: 0.7, best: 500, bad: -200, other: 0, test: 50, passes: [2]float64{0.8, 0.35}, act: 290, tested: 240, perfect: 350}, // aima_16_22: the test is worth nothing, so 290 - 50
	} {
		t.Run(c.name, func(t *testing.T) {
			p := &solve.Problem{
				Weight: []float64{c.good, 1 - c.good}, Faults: [][]int{{0}, {1}}, Kinds: 2, States: 1, Tries: 1,
				GiveUp:  []float64{0, c.best - c.bad},
				Repairs: []solve.RepairAction{{Cost: []float64{c.best - c.other}, Then: []int{0}, Cures: []float64{1, 1}}},
			}
			if c.test > 0 {
				p.Checks = []solve.CheckAction{{Cost: []float64{c.test}, Then: []int{0},
					P: [][]float64{{c.passes[0], c.passes[1]}, {1 - c.passes[0], 1 - c.passes[1]}}}}
			}
			s := solve.New(p, 0)
			list, err := s.Rank(context.Background(), 0)
			if err != nil {
				t.Fatal(err)
			}
			near := func(what string, got, want float64) {
				if math.Abs(got-want) > 1e-9 {
					t.Errorf("%s: pays %.4f, want %.4f", what, got, want)
				}
			}
			if list[0].Kind != solve.HandOn {
				t.Errorf("first %v %d; want the first act", list[0].Kind, list[0].Index)
			}
			near("the best act", c.best-list[0].Expected, c.act)
			near("perfect information", c.best-s.PerfectInformation(0), c.perfect)
			for _, a := range list {
				if a.Kind == solve.DoCheck {
					near("the test first", c.best-a.Expected, c.tested)
				}
			}
		})
	}
}
