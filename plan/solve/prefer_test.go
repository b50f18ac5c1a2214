package solve_test

import (
	"context"
	"testing"

	"pgregory.net/rapid"

	"weephole/plan/solve"
)

// A check that belongs to the visit that comes first goes first among ways that cost
// hardly more, but not before a better one whose answer is there at once if it has to
// wait itself.
func TestWhatHasToWaitDoesNotGoBeforeWhatIsThereAtOnce(t *testing.T) {
	jumped := 0
	rapid.Check(t, func(t *rapid.T) {
		p := dear(t)
		first := func(list []solve.Action, err error) (solve.Action, bool) {
			if err != nil {
				t.Fatal(err)
			}
			return list[0], list[0].Kind == solve.DoCheck
		}
		prefer := solve.Preference{Within: 5, Enough: 9, Order: [][]int{make([]int, len(p.Checks))}}
		best, check := first(solve.New(p, 0).Prefer(prefer).Rank(context.Background(), 0))
		waits := rapid.IntRange(0, len(p.Checks)-1).Draw(t, "waits")
		if !check || waits == best.Index {
			return
		}
		prefer.Order[0][waits] = 1
		if a, _ := first(solve.New(p, 0).Prefer(prefer).Rank(context.Background(), 0)); a.Index == waits {
			jumped++
		}
		prefer.AtOnce = [][]bool{make([]bool, len(p.Checks))}
		for c := range p.Checks {
			prefer.AtOnce[0][c] = c != waits
		}
		if a, _ := first(solve.New(p, 0).Prefer(prefer).Rank(context.Background(), 0)); a.Index != best.Index {
			t.Fatalf("check %d goes before check %d, which is there at once", a.Index, best.Index)
		}
	})
	if jumped == 0 {
		t.Error("no check ever went first for its visit: this shows nothing")
	}
}
