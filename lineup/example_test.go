package lineup_test

import (
	"context"
	"fmt"

	"weephole/check"
	"weephole/circuit"
	"weephole/lineup"
)

// A car overheats and its electric fan stands still, though the engine is hot and
// the air conditioning is on. The look was taken twice.
func ExampleNew() {
	model, err := lineup.DefaultModel()
	if err != nil {
		fmt.Println(err)
		return
	}
	fan, air := circuit.FanElectric, circuit.Conditions{AmbientC: 24}
	still := lineup.Event{Check: "fan-run", Word: "still"}
	c := lineup.Case{
		Vehicle: circuit.Vehicle{FanKind: &fan}, Shop: air, OnTheRoad: air,
		Complaint: check.Complaint{Signs: make([]check.Heard, len(model.Checks.Signs)), Conditions: make([]check.Heard, len(model.Checks.Conditions))},
		Events:    []lineup.Event{still, still},
	}
	c.Complaint.Signs[model.Checks.SignIndex("overheats")] = check.Said
	l, err := lineup.New(context.Background(), model, c, lineup.DrawOptions{Candidates: 600, Seed: 1, KeepStill: true})
	if err != nil {
		fmt.Println(err)
		return
	}
	first := l.Odds().Causes[0]
	fmt.Println(first.Name, first.Probability > 0.5, first.Before < 0.3)
	// Output: electric fan that does not run true true
}
