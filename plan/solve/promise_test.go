package solve_test

import (
	"context"
	"math"
	"testing"

	"pgregory.net/rapid"

	"weephole/plan/solve"
)

// xor is a problem in which two checks together tell everything and either alone
// nothing: the fault is the one or the other as two signs agree or not.
func xor(others int) *solve.Problem {
	p := &solve.Problem{Kinds: 2, States: 1, Tries: 1, GiveUp: []float64{math.Inf(1), math.Inf(1)}}
	for h := range 4 {
		p.Weight = append(p.Weight, 0.25)
		p.Faults = append(p.Faults, []int{h&1 ^ h>>1})
	}
	for k := range 2 {
		cures := make([]float64, 2)
		cures[k] = 1
		p.Repairs = append(p.Repairs, solve.RepairAction{Cost: []float64{100}, Then: []int{0}, Cures: cures})
	}
	for range others { // tell a little, and cost as much
		p.Checks = append(p.Checks, solve.CheckAction{Cost: []float64{5}, Then: []int{0}, P: [][]float64{{0.6, 0.45, 0.45, 0.6}, {0.4, 0.55, 0.55, 0.4}}})
	}
	p.Checks = append(p.Checks,
		solve.CheckAction{Cost: []float64{5}, Then: []int{0}, P: [][]float64{{1, 0, 1, 0}, {0, 1, 0, 1}}},
		solve.CheckAction{Cost: []float64{5}, Then: []int{0}, P: [][]float64{{1, 1, 0, 0}, {0, 0, 1, 1}}})
	return p
}

func TestTwoChecksThatOnlyTogetherSettleAQuestionAreFound(t *testing.T) {
	for _, others := range []int{0, 1, 8, 30} {
		best := rank(t, xor(others), 0)[0]
		// By hand: both checks and the right repair, 5 + 5 + 100; repairs alone 100 + 50.
		if best.Kind != solve.DoCheck || best.Index < others || math.Abs(best.Expected-110) > 1e-9 {
			t.Errorf("with %d other checks: %+v first, at %.2f; want one of the two that settle it, at 110", others, best.Kind, best.Expected)
		}
	}
}

// dear is a problem of a costly repair for fault 0 and cheap ones for others, with one
// check that shows fault 0 directly and one that hints at it.
func dear(t *rapid.T) *solve.Problem {
	n := rapid.IntRange(2, 6).Draw(t, "faults")
	p := &solve.Problem{Kinds: n, States: 1, Tries: 1}
	total := 0.0
	for k := range n {
		w := rapid.Float64Range(0.01, 1).Draw(t, "weight")
		if k == 0 {
			w *= 20
		}
		total += w
		p.Weight = append(p.Weight, w)
		p.Faults = append(p.Faults, []int{k})
		p.GiveUp = append(p.GiveUp, rapid.Float64Range(500, 4000).Draw(t, "give up"))
		cures := make([]float64, n)
		cures[k] = rapid.Float64Range(0.5, 1).Draw(t, "cures")
		p.Repairs = append(p.Repairs, solve.RepairAction{Cost: []float64{rapid.Float64Range(20, 300).Draw(t, "cost")}, Then: []int{0}, Cures: cures})
	}
	for k := range p.Weight {
		p.Weight[k] /= total
	}
	for c := range 2 + rapid.IntRange(0, 3).Draw(t, "more checks") {
		yes, no := make([]float64, n), make([]float64, n)
		for k := range n {
			yes[k] = rapid.Float64Range(0.02, 0.98).Draw(t, "yes")
			if c == 0 {
				yes[k] = 0.02
			}
		}
		if c == 0 {
			yes[0] = 0.9
		}
		for k := range n {
			no[k] = 1 - yes[k]
		}
		p.Checks = append(p.Checks, solve.CheckAction{Cost: []float64{rapid.Float64Range(1, 60).Draw(t, "check")}, Then: []int{0}, P: [][]float64{no, yes}})
	}
	r := &p.Repairs[0]
	r.Cost[0], r.Wrong, r.NeedOdds = 1500, 400, 0.8
	r.For, r.Unconfirmed, r.Confirmations = []int{0}, []int{0}, []solve.Confirmation{{Check: 0, Outcome: 1}}
	return p
}

func TestACostlyRepairIsNeverSaidBeforeItsCauseWasShown(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := dear(t)
		list, err := solve.New(p, 0).Rank(context.Background(), 0)
		if err != nil {
			t.Fatal(err)
		}
		for _, a := range list {
			if a.Kind == solve.DoRepair && a.Index == 0 {
				t.Fatalf("the costly repair is offered with its cause at %.2f and nothing that shows it", p.Weight[0])
			}
		}
		if p.Weight[0] >= p.Repairs[0].NeedOdds && (list[0].Kind != solve.DoCheck || list[0].Index != 0) {
			t.Fatalf("its cause is at %.2f, but the first step is not the check that shows it", p.Weight[0])
		}
		p.Repairs[0].Confirmed = true
		if list, err = solve.New(p, 0).Rank(context.Background(), 0); err != nil {
			t.Fatal(err)
		}
		offered := false
		for _, a := range list {
			offered = offered || a.Kind == solve.DoRepair && a.Index == 0
		}
		if offered != (p.Weight[0] >= p.Repairs[0].NeedOdds) {
			t.Fatalf("shown, and its cause at %.2f: offered %v", p.Weight[0], offered)
		}
	})
}

func TestBoundsHoldTheExpectedCostBetweenThem(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := dear(t)
		last := math.Inf(1)
		for r, err := range solve.New(p, 0).Better(context.Background(), 0) {
			if err != nil {
				t.Fatal(err)
			}
			best := math.Inf(1)
			for _, a := range r.Actions {
				if a.Lower > a.Expected*(1+1e-9) || a.Expected > a.Upper*(1+1e-9) || r.Lower > a.Upper*(1+1e-9) {
					t.Fatalf("round %d: %+v outside its bounds %.4f and %.4f, least possible %.4f", r.Round, a, a.Lower, a.Upper, r.Lower)
				}
				best = math.Min(best, a.Upper)
			}
			if best > last*(1+1e-9) {
				t.Fatalf("round %d has lost a plan: %.4f after %.4f", r.Round, best, last)
			}
			last = best
		}
	})
}
