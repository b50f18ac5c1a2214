package plan_test

import (
	"testing"

	"weephole/circuit"
	"weephole/lineup"
	"weephole/plan"
)

// defaults are the program's own catalogues and assumptions.
func defaults(t *testing.T) (*lineup.Model, *plan.Assumptions) {
	t.Helper()
	m, err := lineup.DefaultModel()
	if err != nil {
		t.Fatal(err)
	}
	st, err := plan.DefaultAssumptions()
	if err != nil {
		t.Fatal(err)
	}
	return m, st
}

// carWith is a car on which this was found, with the shop's own tools.
func carWith(t *testing.T, found ...lineup.Event) *plan.CarProblem {
	t.Helper()
	m, st := defaults(t)
	cs := lineup.Case{Shop: circuit.Conditions{AmbientC: 25}, Events: found}
	l, err := lineup.New(t.Context(), m, cs, lineup.DrawOptions{Candidates: 4000, Seed: 1, KeepStill: true})
	if err != nil {
		t.Fatal(err)
	}
	car, err := plan.ForLineup(t.Context(), l, st, plan.Workshop{})
	if err != nil {
		t.Fatal(err)
	}
	return car
}

// allEngines are engines with every fault.
func allEngines(t *testing.T) *lineup.Sample {
	t.Helper()
	all, err := manyEngines()
	if err != nil {
		t.Fatal(err)
	}
	return all
}
