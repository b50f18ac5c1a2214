package plan_test

import (
	"testing"

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

// allEngines are engines with every fault.
func allEngines(t *testing.T) *lineup.Sample {
	t.Helper()
	all, err := manyEngines()
	if err != nil {
		t.Fatal(err)
	}
	return all
}
