package plan_test

import (
	"math"
	"slices"
	"testing"

	"weephole/lineup"
	"weephole/plan"
)

// A hose and a mix that were both seen bad are planned together, at the price of both
// less one drain, one filling and one proof run. What drains nothing shares nothing,
// and a costly repair has to be shown by itself.
func TestTwoRepairsInOneDrainAreOneStep(t *testing.T) {
	_, st := defaults(t)
	car := carWith(t,
		lineup.Event{Check: "level-cold", Word: "full"}, lineup.Event{Check: "coolant-look", Word: "rusty"},
		lineup.Event{Check: "freeze-point", Word: "strong"}, lineup.Event{Check: "pot-test", Word: "late"},
		lineup.Event{Check: "hose-at-speed", Word: "flat"}, lineup.Event{Check: "hose-by-hand", Word: "stays-cold"})
	found := false
	for i, q := range car.With {
		if q == nil {
			continue
		}
		r, pair := car.Repairs[i], car.Problem.Repairs[i]
		if !r.Drained() || !q.Drained() || r.Big || q.Big {
			t.Errorf("%s and %s share no drain, or are too big a job", r.ID, q.ID)
		}
		one := car.Problem.Repairs[slices.Index(car.Repairs, r)]
		minutes := min(st.Drain.Value+st.Refill.Value, r.Minutes.Typical, q.Minutes.Typical)
		saved := minutes/60*car.Rate + min(r.Consumables.Value, q.Consumables.Value)
		if want := one.Cost[plan.Cold] + car.Bill(q) - saved; math.Abs(pair.Cost[plan.Cold]-want) > 0.01 {
			t.Errorf("%s with %s costs %.2f, want %.2f", r.ID, q.ID, pair.Cost[plan.Cold], want)
		}
		found = found || r.ID == "replace-lower-hose" && q.ID == "correct-mix"
	}
	if !found {
		t.Error("a hose and a mix that are both bad are not planned in one drain")
	}
}
