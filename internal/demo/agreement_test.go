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
var seeds = flag.Int("seeds", 2, "answers of each job, each from a seed of its own")

// Twenty jobs, the demonstration's five and fifteen real cars: the answer is the
// same whatever the seed, in what explains the complaint and in what is bad. The
// short run takes the demonstration's jobs and two seeds.
func TestAgreementOfTheOddsFromSeedToSeed(t *testing.T) {
	if testing.Short() {
		t.Skip("several answers of several jobs")
	}
	names, err := filepath.Glob("jobs/*.yaml")
	if err != nil {
		t.Fatal(err)
	}
	whole := *seeds > 2
	if whole {
		cases, err := filepath.Glob("../../cases/case[0-8][1-2].yaml")
		if err != nil {
			t.Fatal(err)
		}
		names = append(names, cases[:min(15, len(cases))]...)
	}
	for _, name := range names {
		low, high := map[string]float64{}, map[string]float64{}
		leaders := map[string]int{}
		worst, took := 0.0, time.Duration(0)
		for seed := range uint64(*seeds) {
			begin := time.Now()
			o := answerOf(t, name, seed+1).odds
			took += time.Since(begin)
			worst = max(worst, o.Error)
			leaders[o.Causes[0].Cause]++
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
		fmt.Fprintf(os.Stderr, "| %s | %.3f (%s) | %.3f | %d | %.1f s |\n", filepath.Base(name), spread, of, worst, len(leaders), took.Seconds()/float64(*seeds))
		if spread > 0.04 {
			t.Errorf("%s: %s differs by %.3f between seeds, want 0.04", name, of, spread)
		}
	}
}
