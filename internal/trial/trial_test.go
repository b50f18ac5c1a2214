package trial_test

import (
	"context"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"weephole/internal/trial"
	"weephole/lineup"
)

// small is a trial that takes a few seconds: its figures mean little, its
// workings are those of a large one.
func small(t *testing.T, workers int) []trial.JobResult {
	t.Helper()
	jobs, err := trial.Run(context.Background(), trial.RunOptions{
		Jobs: 4, Seed: 7, Workers: workers, Banks: 2, Candidates: 600, Sample: 200, Compare: 2,
	})
	if err != nil {
		t.Fatal(err)
	}
	return jobs
}

func TestATrialIsTheSameOnOneWorkerAndOnTwo(t *testing.T) {
	one, two := small(t, 1), small(t, 2)
	if diff := cmp.Diff(one, two); diff != "" {
		t.Errorf("two workers differ from one (-one +two):\n%s", diff)
	}
	everyWay(t, one)
}

// everyWay: cars are worked in every way, from the complaint to the end.
func everyWay(t *testing.T, jobs []trial.JobResult) {
	t.Helper()
	for _, j := range jobs {
		for _, name := range trial.Ways() {
			w := j.Ways[name]
			if name == trial.Information && j.Car >= 2 {
				if w != nil {
					t.Errorf("car %d: worked by %s, beyond the share asked for", j.Car, name)
				}
				continue
			}
			switch {
			case w == nil:
				t.Errorf("car %d: not worked by %s", j.Car, name)
			case w.Cost <= 0 || len(w.Steps) == 0:
				t.Errorf("car %d: %s: cost %v in %d steps", j.Car, name, w.Cost, len(w.Steps))
			case w.Proven == strings.HasPrefix(w.Steps[len(w.Steps)-1], "hand on"):
				t.Errorf("car %d: %s: proven is %v after %q", j.Car, name, w.Proven, w.Steps)
			case w.Repairs != len(w.Named):
				t.Errorf("car %d: %s: %d repairs, %d causes named", j.Car, name, w.Repairs, len(w.Named))
			}
		}
		if first, last := j.Beliefs[0].At, j.Beliefs[len(j.Beliefs)-1].At; first != "complaint" || last != "end" {
			t.Errorf("car %d: beliefs from %q to %q", j.Car, first, last)
		}
		for _, b := range j.Beliefs {
			for i, p := range b.Odds {
				if p < 0 || p > 1+1e-9 || math.IsNaN(p) {
					t.Errorf("car %d, %s: cause %d has probability %v", j.Car, b.At, i, p)
				}
			}
		}
	}
}

// Wilson 1927: for 8 of 10 the 95 % interval is 0.490 to 0.943 (the formula
// worked by hand: (0.8 + 1.9208/10 ± 1.96*sqrt(0.16/10 + 0.9604/100)) / 1.38416).
func TestAShareHasWilsonsInterval(t *testing.T) {
	s := trial.ShareOf(8, 10)
	if math.Abs(s.Low-0.4902) > 5e-4 || math.Abs(s.High-0.9433) > 5e-4 {
		t.Errorf("8 of 10: %.4f to %.4f, want 0.4902 to 0.9433", s.Low, s.High)
	}
}

// A job of known content gives the figures counted by hand.
func TestWhatIsMeasuredIsWhatWasCounted(t *testing.T) {
	m, err := lineup.DefaultModel()
	if err != nil {
		t.Fatal(err)
	}
	cat := m.Causes
	belief := func(at, id string, p float64) trial.Belief {
		b := trial.Belief{At: at, Odds: make([]float64, len(cat.Causes))}
		b.Odds[cat.Index(id)] = p
		b.Odds[cat.NoFault()] += 1 - p
		return b
	}
	job := func(fault, held string, p, cost float64) trial.JobResult {
		ways := make(map[string]*trial.Worked)
		for _, name := range trial.Ways() {
			ways[name] = &trial.Worked{Cost: 100, Repairs: 1, Named: []string{fault}, Proven: true}
		}
		ways[trial.Ours] = &trial.Worked{Cost: cost, Repairs: 1, Named: []string{held}, Proven: held == fault}
		return trial.JobResult{Faults: []string{fault}, Ways: ways, Beliefs: []trial.Belief{belief("complaint", held, p), belief("naming", held, p), belief("end", held, p)}}
	}
	got := trial.Measure(cat, 1, []trial.JobResult{
		job("fan-dead", "fan-dead", 0.95, 50), job("fan-dead", "fan-dead", 0.95, 50), job("pump-weak", "fan-dead", 0.95, 200),
	})
	if g := got.Groups[0]; g.Cars != 3 || math.Abs(g.Named.Value-2.0/3) > 1e-12 || math.Abs(g.Proven.Value-2.0/3) > 1e-12 {
		t.Errorf("one cause: %+v; want 3 cars, two thirds named and proven", g)
	}
	if math.Abs(got.ECE.Value-(0.95-2.0/3)) > 1e-12 {
		t.Errorf("calibration error %v, want 0.95 - 2/3", got.ECE.Value)
	}
	want := []trial.Mistaken{{True: "pump-weak", Taken: "fan-dead", Cars: 1}}
	if diff := cmp.Diff(want, got.Confusion); diff != "" {
		t.Errorf("confusion (-want +got):\n%s", diff)
	}
	for _, w := range got.Ways {
		if w.Way == trial.Book && math.Abs(w.Against.Value-1) > 1e-12 {
			t.Errorf("cost against the textbook %v, want 300/300", w.Against.Value)
		}
	}
}
