package lineup_test

import (
	"context"
	"math"
	"testing"

	"weephole/lineup"
)

// A weight of zero is a weight, and not "not said".
func TestAFindingOfNoWeightChangesNothing(t *testing.T) {
	m := model(t)
	odds := func(weight *float64) []float64 {
		cs := complaint(t, m, "overheats")
		cs.Events = []lineup.Event{{Check: "belt-look", Word: "belt-off", Weight: weight}}
		if weight == nil {
			cs.Events = nil
		}
		l, err := lineup.New(context.Background(), m, cs, lineup.DrawOptions{Candidates: 1000, Seed: 1, KeepStill: true})
		if err != nil {
			t.Fatal(err)
		}
		return l.Probabilities()
	}
	none, nothing, whole := odds(nil), odds(new(0.0)), odds(new(1.0))
	at := m.Causes.Index("belt-slipping")
	if math.Abs(nothing[at]-none[at]) > 1e-9 || whole[at] < 2*none[at] {
		t.Errorf("a belt seen off puts it at %.3f, with no weight at %.3f, unsaid at %.3f", whole[at], nothing[at], none[at])
	}
}
