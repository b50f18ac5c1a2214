package plan_test

import (
	"context"
	"testing"

	"weephole/circuit"
	"weephole/lineup"
	"weephole/plan"
)

// warm is a lineup of 20,000 engines with a complaint and a finding, every engine
// run through every situation.
func warm(b *testing.B) (*lineup.Lineup, *plan.Assumptions) {
	b.Helper()
	ctx := context.Background()
	m, err := lineup.DefaultModel()
	if err != nil {
		b.Fatal(err)
	}
	st, err := plan.DefaultAssumptions()
	if err != nil {
		b.Fatal(err)
	}
	cs := lineup.Case{
		Shop:   circuit.Conditions{AmbientC: 20},
		Events: []lineup.Event{{Check: "level-cold", Word: "full"}},
	}
	l, err := lineup.New(ctx, m, cs, lineup.DrawOptions{Seed: 1, Candidates: 20000, KeepStill: true})
	if err != nil {
		b.Fatal(err)
	}
	if err := l.Warm(ctx); err != nil {
		b.Fatal(err)
	}
	return l, st
}

// BenchmarkFirstStepAfterAFinding takes in a finding, samples the lineup, makes the
// problem of it and ranks the next steps.
func BenchmarkFirstStepAfterAFinding(b *testing.B) {
	l, st := warm(b)
	ctx := context.Background()
	for b.Loop() {
		after, err := l.Extend(ctx, lineup.Event{Check: "fan-run", Word: "still"})
		if err != nil {
			b.Fatal(err)
		}
		car, err := plan.ForLineup(ctx, after, st, plan.Workshop{})
		if err != nil {
			b.Fatal(err)
		}
		if _, err := car.Search(0).Rank(ctx, 0); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkTwoMoreLevels goes on from there for two more rounds.
func BenchmarkTwoMoreLevels(b *testing.B) {
	l, st := warm(b)
	ctx := context.Background()
	car, err := plan.ForLineup(ctx, l, st, plan.Workshop{})
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := car.Search(2).Rank(ctx, 0); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkTree draws the plan three steps deep.
func BenchmarkTree(b *testing.B) {
	l, st := warm(b)
	ctx := context.Background()
	car, err := plan.ForLineup(ctx, l, st, plan.Workshop{})
	if err != nil {
		b.Fatal(err)
	}
	search := car.Search(0)
	list, err := search.Rank(ctx, 0)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := search.Tree(ctx, list, 0, 3, 0.03); err != nil {
			b.Fatal(err)
		}
	}
}
