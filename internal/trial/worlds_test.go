package trial_test

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"

	"weephole/internal/trial"
)

func TestWorldsStandSideBySideWithTheMissesFirst(t *testing.T) {
	good := []trial.Forecast{{Car: "a", Truths: []string{"x"}, Odds: map[string]float64{"x": 0.9}}}
	bad := []trial.Forecast{{Car: "b", Truths: []string{"x"}, Odds: map[string]float64{"y": 0.9}}}
	report := trial.StrangerReport{Cars: 1, Seed: 3, Stages: []trial.StageReport{{Told: "all tests and log", Groups: []trial.Scored{
		{Of: "one fault", Score: trial.ScoreOf(good)}, {Of: "nothing wrong", Score: trial.ScoreOf(bad)},
	}}}}
	data, err := json.Marshal(report)
	if err != nil {
		t.Fatal(err)
	}
	sides, err := trial.ReadReport(data)
	if err != nil {
		t.Fatal(err)
	}
	var page bytes.Buffer
	if err := trial.WriteWorlds(&page, sides); err != nil {
		t.Fatal(err)
	}
	missed, reached, _ := strings.Cut(page.String(), "## What was reached")
	if !strings.Contains(missed, "called healthy") || strings.Contains(missed, "true cause first |") {
		t.Errorf("missed:\n%s", missed)
	}
	if !strings.Contains(reached, "true cause first") || !strings.Contains(reached, "TUNING seed 3") {
		t.Errorf("reached, and the table:\n%s", reached)
	}
	if _, err := trial.ReadReport([]byte("{}")); err == nil {
		t.Error("an empty object was taken for a report")
	}
}
