package solve_test

import (
	"context"
	"math"
	"testing"

	"pgregory.net/rapid"

	"weephole/plan/solve"
)

// TestWhatIsSaidKeepsItsOrderAndItsBounds: moving all ways by what following the first
// one costs changes no order of checks and repairs, and no figure leaves its bounds.
func TestWhatIsSaidKeepsItsOrderAndItsBounds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		list := rankOf(t, dear(t), 0)
		first := list[0].Expected
		followed := first * rapid.Float64Range(0.3, 3).Draw(t, "followed")
		solve.Say(list, followed)
		for i, a := range list {
			if a.Kind != solve.HandOn && (a.Expected < a.Lower-1e-9 || a.Expected > math.Max(a.Upper, a.Lower)+1e-9) {
				t.Fatalf("way %d is said at %.2f, outside of %.2f to %.2f", i, a.Expected, a.Lower, a.Upper)
			}
			sum := a.Cost
			for _, o := range a.Outcomes {
				sum += o.Probability * o.Expected
			}
			if a.Kind == solve.DoCheck && sum > a.Expected+0.5*first && a.Expected < a.Upper-1e-9 {
				t.Fatalf("way %d: its outcomes come to %.2f, it is said at %.2f", i, sum, a.Expected)
			}
		}
	})
}

// TestAStepMakesTheWayNoDearerThanItself: a check whose answer is ignored costs itself.
func TestAStepMakesTheWayNoDearerThanItself(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := dear(t)
		list := rankOf(t, p, 0)
		best := math.Inf(1)
		for _, a := range list {
			best = math.Min(best, a.Expected)
		}
		for _, a := range list {
			if most := math.Max(best+a.Cost, a.Lower); a.Kind == solve.DoCheck && a.Expected > most+1e-9 {
				t.Fatalf("a check of %.2f makes the way %.2f dearer", a.Cost, a.Expected-best)
			}
		}
	})
}

// TestTheControlVariateHasTheSameMean: on a problem small enough to follow many engines, the
// mean with what the faults are known to cost taken out and put back is the plain mean.
func TestTheControlVariateHasTheSameMean(t *testing.T) {
	p := xor(3)
	s := solve.New(p, 0)
	list, err := s.Rank(context.Background(), 0)
	if err != nil {
		t.Fatal(err)
	}
	f, err := s.Follow(context.Background(), list[0], 0, 400, 5)
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(f.Said-f.Cost) > 3*(f.Error+f.SaidError)+1e-9 || f.SaidError > f.Error+1e-9 {
		t.Errorf("plain %.2f ± %.2f, controlled %.2f ± %.2f", f.Cost, f.Error, f.Said, f.SaidError)
	}
}

func rankOf(t *rapid.T, p *solve.Problem, more int) []solve.Action {
	list, err := solve.New(p, more).Rank(context.Background(), 0)
	if err != nil {
		t.Fatal(err)
	}
	return list
}
