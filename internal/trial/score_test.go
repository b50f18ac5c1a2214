package trial_test

import (
	"math"
	"testing"

	"weephole/internal/trial"
)

// Worked by hand: car a is right at 0.8 and wrong at 0.6, car b wrong at 0.9.
func TestScoresOfSeveralSeedsCountCarsNotAnswers(t *testing.T) {
	s := trial.ScoreOf([]trial.Forecast{
		{Car: "a", Truths: []string{"x"}, Odds: map[string]float64{"x": 0.8, "y": 0.2}},
		{Car: "a", Truths: []string{"x"}, Odds: map[string]float64{"x": 0.4, "y": 0.6}},
		{Car: "b", Truths: []string{"x", "z"}, Odds: map[string]float64{"y": 0.9, "v": 0.1, "w": 0.05, "z": 0.02, "u": 0.03}},
	})
	for _, c := range []struct {
		what      string
		got, want float64
	}{
		{"cars", float64(s.Cars), 2},
		{"first", s.First.Value, 0.25},
		{"first three", s.Three.Value, 0.5},
		{"all in three", s.AllThree.Value, 0.5},
		{"on truth", s.OnTruth.Value, (0.6 + 0.02) / 2},
		{"log score", s.LogScore.Value, ((-math.Log(0.8)-math.Log(0.4))/2 - math.Log(0.02)) / 2},
		{"sure cars", float64(s.Sure.Cars), 2},
		{"sure said", s.Sure.Said, 0.85},
		{"sure right", s.Sure.Right.Value, 0.5},
		{"one leader", s.OneLeader.Value, 0.5},
	} {
		if math.Abs(c.got-c.want) > 1e-12 {
			t.Errorf("%s: %g; want %g", c.what, c.got, c.want)
		}
	}
}

func TestAnAnswerThatIsAlsoRightCounts(t *testing.T) {
	f := []trial.Forecast{{Car: "a", Truths: []string{"x"}, Also: []string{"y"}, Odds: map[string]float64{"y": 0.9}}}
	if s := trial.ScoreOf(f); s.First.Value != 1 || s.OnTruth.Value != 0.9 {
		t.Errorf("first %g, on truth %g; want 1 and 0.9", s.First.Value, s.OnTruth.Value)
	}
}
