package demo_test

import (
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"testing"

	"weephole/internal/work"
	"weephole/lineup"
)

// How the reference in testdata/truth.json is made again; some minutes, 2 GB:
//
//	go test ./internal/demo -run Truth -timeout 60m -args -brute 400000
var brute = flag.Int("brute", 0, "draw so many engines from the prior alone and write testdata/truth.json")

// truth is what brute force says of one job: the posterior weight of each main
// cause from draws of the prior alone, all with the same model.
type truth struct {
	Engines   int                `json:"engines"`
	Effective float64            `json:"effective"`
	Mass      map[string]float64 `json:"mass"`
}

func openJob(t *testing.T, name string, o lineup.DrawOptions) *work.Work {
	t.Helper()
	m, err := lineup.DefaultModel()
	if err != nil {
		t.Fatal(err)
	}
	f, err := os.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	w, err := work.Open(t.Context(), m, f, name, work.OpenOptions{Lineup: o, Open: func(log string) (io.ReadCloser, error) {
		return os.Open(filepath.Join("jobs", log))
	}})
	if err != nil {
		t.Fatal(err)
	}
	return w
}

func massOf(t *testing.T, w *work.Work) (map[string]float64, *lineup.Lineup) {
	t.Helper()
	l, err := w.Lineup(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	mass := make(map[string]float64)
	for i, p := range l.Standing().Mass {
		mass[w.Model.Causes.Causes[i].ID] = p
	}
	return mass, l
}

// The odds agree with brute force on the same model, whatever the seed: total
// variation 0.05 at the most, the reference's own error included.
func TestTheOddsAgreeWithTheTruthByBruteForce(t *testing.T) {
	if testing.Short() {
		t.Skip("five jobs, two seeds")
	}
	names, err := filepath.Glob("jobs/*.yaml")
	if err != nil || len(names) == 0 {
		t.Fatal(err, names)
	}
	reference := make(map[string]truth)
	if *brute == 0 {
		data, err := os.ReadFile("testdata/truth.json")
		if err == nil {
			err = json.Unmarshal(data, &reference)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	for _, name := range names {
		job := filepath.Base(name)
		if *brute > 0 {
			mass, l := massOf(t, openJob(t, name, lineup.DrawOptions{Seed: 77, Candidates: *brute, KeepStill: true}))
			reference[job] = truth{*brute, math.Round(l.Effective()), mass}
			t.Logf("%s: effective %.0f", job, l.Effective())
			continue
		}
		want, ok := reference[job]
		if !ok {
			t.Errorf("%s: no reference; make it again", job)
			continue
		}
		if want.Effective < leastEffective {
			t.Logf("%s: brute force met too few engines that fit (effective %.0f) to be a reference", job, want.Effective)
			continue
		}
		for _, seed := range []uint64{1, 2} {
			got, _ := massOf(t, openJob(t, name, lineup.DrawOptions{Seed: seed}))
			variation := 0.0
			for id, p := range want.Mass {
				variation += math.Abs(got[id]-p) / 2
			}
			t.Logf("%s, seed %d: total variation %.3f", job, seed, variation)
			if variation > 0.05 {
				t.Errorf("%s, seed %d: total variation %.3f from brute force, want 0.05", job, seed, variation)
			}
		}
	}
	if *brute > 0 {
		data, err := json.MarshalIndent(reference, "", " ")
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile("testdata/truth.json", append(data, '\n'), 0o644); err != nil {
			t.Fatal(fmt.Errorf("write the reference: %w", err))
		}
	}
}

// leastEffective is the effective size from which brute force is a reference: its
// own total variation is then about 0.03 where two or three causes hold the mass.
const leastEffective = 200
