package demo_test

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"
)

// How the table of docs/performance.md is made again; some minutes:
//
//	go test ./internal/demo -run Agreement -v -timeout 60m -args -seeds 5
var seeds = flag.Int("seeds", fewSeeds, "answers of each job, each from a seed of its own")

// fewSeeds are those of a run that takes little time: the demonstration's jobs alone, and
// no plans.
const fewSeeds = 2

// apart is how far two seeds may differ in a probability, and by how much a leader must be
// ahead to be the same with every seed, and the next step with it.
const apart = 0.04

// Twenty jobs, the demonstration's five and fifteen real cars: the answer is the
// same whatever the seed, in what explains the complaint and in what is bad. So are the
// leader and the next step where the leader is ahead.
func TestAgreementOfTheOddsFromSeedToSeed(t *testing.T) {
	if testing.Short() {
		t.Skip("several answers of several jobs")
	}
	names, err := filepath.Glob("jobs/*.yaml")
	if err != nil {
		t.Fatal(err)
	}
	whole := *seeds > fewSeeds
	if whole {
		cases, err := filepath.Glob("../../cases/case[0-8][1-2].yaml")
		if err != nil {
			t.Fatal(err)
		}
		names = append(names, cases[:min(15, len(cases))]...)
	}
	for _, name := range names {
		low, high := map[string]float64{}, map[string]float64{}
		leaders, steps := map[string]int{}, map[string]int{}
		worst, ahead, took := 0.0, 1.0, time.Duration(0)
		for seed := range uint64(*seeds) {
			begin := time.Now()
			got := answerOf(t, name, seed+1)
			o := got.odds
			took += time.Since(begin)
			worst, ahead = max(worst, o.Error), min(ahead, o.Causes[0].Probability-o.Causes[1].Probability)
			leaders[o.Causes[0].Cause]++
			steps[got.next]++
			for _, c := range o.Causes {
				for id, p := range map[string]float64{c.Cause: c.Probability, c.Cause + " bad": c.Present} {
					if seed == 0 {
						low[id], high[id] = p, p
					}
					low[id], high[id] = min(low[id], p), max(high[id], p)
				}
			}
		}
		spread, of := 0.0, ""
		for id := range low {
			if d := high[id] - low[id]; d > spread {
				spread, of = d, id
			}
		}
		fmt.Fprintf(os.Stderr, "| %s | %.3f (%s) | %.3f | %.3f | %d | %d | %.1f s |\n", filepath.Base(name), spread, of, worst, ahead, len(leaders), len(steps), took.Seconds()/float64(*seeds))
		if spread > apart {
			t.Errorf("%s: %s differs by %.3f between seeds, want %.2f", name, of, spread, apart)
		}
		if ahead > apart && len(leaders) > 1 {
			t.Errorf("%s: the leader is ahead by %.3f and is not the same with every seed: %v", name, ahead, leaders)
		}
		if ahead > apart && len(steps) > 1 {
			t.Errorf("%s: the leader is ahead by %.3f, and the next step hangs on the seed: %v", name, ahead, steps)
		}
	}
}
