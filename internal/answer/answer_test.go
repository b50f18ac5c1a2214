package answer_test

import (
	"strings"
	"testing"

	"weephole/internal/answer"
	"weephole/lineup"
	"weephole/quantity"
)

func odds(effective float64) lineup.Odds {
	return lineup.Odds{
		Candidates: 20000, Effective: effective,
		Causes: []lineup.CauseOdds{
			{Cause: "thermostat-shut", Name: "thermostat that does not open", Probability: 0.935, For: []lineup.Reason{
				{Finding: 1, What: "hose temperatures", Decibans: 10, Expected: []lineup.Expectation{
					{Reading: "lower-hose", Kind: "temperature", Read: 40, With: [2]float64{30, 50}, Without: [2]float64{70, 85}}}},
			}},
			{Cause: "pump-weak", Name: "pump that hardly moves the coolant", Probability: 0.065, Against: []lineup.Reason{
				{Finding: 2, What: "cabin heat", Decibans: -6, With: 0.2, Without: 0.8}}},
		},
		Pairs: []lineup.PairOdds{}, Fit: lineup.Fit{Verdict: "fits"},
	}
}

func TestCountsAreOutOfARoundNumberThatTheEffectiveSizeBears(t *testing.T) {
	for _, c := range []struct {
		effective float64
		of, count int
	}{{5000, 200, 187}, {150, 100, 94}, {60, 50, 47}, {25, 20, 19}, {4, 10, 9}} {
		a := answer.ForOdds(odds(c.effective), nil, quantity.Metric(), nil)
		if a.Of != c.of || a.Causes[0].Count != c.count {
			t.Errorf("effective size %v: %d of %d, want %d of %d", c.effective, a.Causes[0].Count, a.Of, c.count, c.of)
		}
	}
}

func TestFewEnginesAreSaidToBeRough(t *testing.T) {
	a := answer.ForOdds(odds(12), nil, quantity.Metric(), nil)
	if text := strings.Join(a.Says, " "); !strings.Contains(text, "rough") {
		t.Errorf("an answer from 12 engines does not say that it is rough: %s", text)
	}
}

func TestReasonsAreToldInTheShopsUnits(t *testing.T) {
	a := answer.ForOdds(odds(5000), nil, quantity.US(), nil)
	want := "lower hose read 104 °F; expected 86 °F to 122 °F with it, 158 °F to 185 °F without"
	if got := a.Causes[0].For[0].Says; got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
	want = "20 of 100 with it show what was found, 80 of 100 without"
	if got := a.Causes[1].Against[0].Says; got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
}

func TestBarsTellByLengthAndNumber(t *testing.T) {
	var b strings.Builder
	p := answer.Page{W: &b, Width: 80}
	a := answer.ForOdds(odds(5000), nil, quantity.Metric(), nil)
	p.Odds(&a)
	if p.Err() != nil {
		t.Fatal(p.Err())
	}
	if text := b.String(); !strings.Contains(text, "187 of 200 █") || strings.Contains(text, "\x1b") {
		t.Errorf("no bar, or colour where none was asked for:\n%s", text)
	}
}
