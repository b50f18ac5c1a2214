package plan_test

import (
	"context"
	"math"
	"slices"
	"testing"

	"weephole/circuit"
	"weephole/lineup"
	"weephole/plan"
)

// TestTwoRepairsInOneDrainAreOneStep: a hose and a mix that were both seen bad are planned together, at the bill of both less one drain, one filling and one proof run; what drains
// nothing shares nothing, and a costly repair has to be shown by itself.
func TestTwoRepairsInOneDrainAreOneStep(t *testing.T) {
	m, err := lineup.DefaultModel()
	if err != nil {
		t.Fatal(err)
	}
	st, err := plan.DefaultAssumptions()
	if err != nil {
		t.Fatal(err)
	}
	ctx := context.Background()
	cs := lineup.Case{Shop: circuit.Conditions{AmbientC: 25}, Events: []lineup.Event{
		{Check: "level-cold", Word: "full"}, {Check: "coolant-look", Word: "rusty"}, {Check: "freeze-point", Word: "strong"},
		{Check: "pot-test", Word: "late"}, {Check: "hose-at-speed", Word: "flat"}, {Check: "hose-by-hand", Word: "stays-cold"},
	}}
	l, err := lineup.New(ctx, m, cs, lineup.DrawOptions{Candidates: 4000, Seed: 1, KeepStill: true})
	if err != nil {
		t.Fatal(err)
	}
	car, err := plan.ForLineup(ctx, l, st, plan.Workshop{})
	if err != nil {
		t.Fatal(err)
	}
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
		saved := (st.Drain.Value+st.Refill.Value)/60*car.Rate + min(r.Consumables.Value, q.Consumables.Value)
		if want := one.Cost[plan.Cold] + car.Bill(q) - saved; math.Abs(pair.Cost[plan.Cold]-want) > 0.01 && r.Minutes.Typical > 55 && q.Minutes.Typical > 55 {
			t.Errorf("%s with %s costs %.2f, want %.2f", r.ID, q.ID, pair.Cost[plan.Cold], want)
		}
		t.Log(r.ID, q.ID)
		found = found || r.ID == "replace-lower-hose" && q.ID == "correct-mix"
	}
	if !found {
		t.Error("a hose and a mix that are both bad are not planned in one drain")
	}
}
