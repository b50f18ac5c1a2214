package lineup_test

import (
	"context"
	"testing"

	"weephole/lineup"
)

// eightFindings is a job as a shop has it after an hour's work.
func eightFindings(b *testing.B, m *lineup.Model) lineup.Case {
	b.Helper()
	cs := complaint(b, m, "overheats")
	for _, f := range [][2]string{
		{"level-cold", "full"}, {"coolant-look", "clean"}, {"airflow-look", "clear"}, {"belt-look", "firm"},
		{"fan-run", "runs"}, {"hose-temps", "both-hot"}, {"heater-output", "hot"}, {"combustion-gas", "stayed"},
	} {
		cs.Events = append(cs.Events, lineup.Event{Check: f[0], Word: f[1]})
	}
	return cs
}

// The whole answer on a lineup of 20,000.
func BenchmarkOddsOfEightFindings(b *testing.B) {
	benchmarkOdds(b, lineup.DrawOptions{Seed: 1})
}

// The first, coarse answer.
func BenchmarkCoarseOddsOfEightFindings(b *testing.B) {
	benchmarkOdds(b, lineup.DrawOptions{Seed: 1, Candidates: 1500, KeepStill: true})
}

func benchmarkOdds(b *testing.B, o lineup.DrawOptions) {
	m := model(b)
	cs := eightFindings(b, m)
	b.ReportAllocs()
	for b.Loop() {
		l, err := lineup.New(context.Background(), m, cs, o)
		if err != nil {
			b.Fatal(err)
		}
		_ = l.Odds()
	}
}

// A ninth finding on a warm lineup of 20,000.
func BenchmarkOneMoreFindingOnAWarmLineup(b *testing.B) {
	m := model(b)
	cs := eightFindings(b, m)
	last := cs.Events[len(cs.Events)-1]
	cs.Events = cs.Events[:len(cs.Events)-1]
	l, err := lineup.New(context.Background(), m, cs, lineup.DrawOptions{Seed: 1, KeepStill: true})
	if err != nil {
		b.Fatal(err)
	}
	if err := l.Warm(context.Background()); err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := l.Extend(context.Background(), last); err != nil {
			b.Fatal(err)
		}
	}
}

// What is said of a lineup that is drawn already: the bench does so after each finding.
func BenchmarkWhatIsSaidOfAWarmLineup(b *testing.B) {
	m := model(b)
	l, err := lineup.New(context.Background(), m, eightFindings(b, m), lineup.DrawOptions{Seed: 1, Candidates: 1500, KeepStill: true})
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		_ = l.Odds()
	}
}
