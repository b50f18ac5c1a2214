package answer

import (
	"slices"
	"strings"
	"testing"

	"weephole/plan"
)

// lines are a made-up plan's, in the order told.
func lines(n *NextFacts) string {
	return strings.Join(Texts(n.writeLines(stepWriter{&plan.CarProblem{}, Style{}})), "\n")
}

func TestARunThatShowsTheCarToBeRightIsCalledNoRepair(t *testing.T) {
	n := &NextFacts{LeastPossible: 47, Steps: []Step{{
		Do: ProveHealthy, Kind: "repair", Name: "run the car", Minutes: 30, Cost: 47, ExpectedCost: 60,
		Outcomes: []OutcomeFacts{{Is: "cured", Probability: 0.96}, {Is: "not-cured", Probability: 0.04, ExpectedCost: 300}},
	}}}
	got := lines(n)
	for _, want := range []string{
		"Next: run the car (30 min, $47).",
		"It shows a healthy engine in 96 % of cases. Otherwise expect about $300 more.",
		"From here until the car is shown to be right: $60 on average.",
	} {
		if !slices.Contains(strings.Split(got, "\n"), want) {
			t.Errorf("%q is not said in\n%s", want, got)
		}
	}
	if strings.Contains(got, "cures") || strings.Contains(got, "repair") {
		t.Errorf("a run is said to repair something:\n%s", got)
	}
}

// A repair's step holds the run after it; its bill and the cost of a known cause are other figures.
func TestEachCostIsNamedForWhatItIs(t *testing.T) {
	n := &NextFacts{LeastPossible: 694, Steps: []Step{{
		Do: "replace-radiator", Kind: "repair", Name: "replace the radiator", Minutes: 165, Cost: 605, ExpectedCost: 810,
		Outcomes: []OutcomeFacts{{Is: "cured", Probability: 0.8}, {Is: "not-cured", Probability: 0.2, ExpectedCost: 900}},
	}}}
	got := strings.Split(lines(n), "\n")
	for _, want := range []string{
		"Next: replace the radiator (2 h 45 min, $605 with the run after it).",
		"This cures the car in 80 % of cases. Otherwise expect about $900 more.",
		"From here to a cured car: $810 on average; with the cause known, $694.",
	} {
		if !slices.Contains(got, want) {
			t.Errorf("%q is not said in\n%s", want, strings.Join(got, "\n"))
		}
	}
	n.LeastPossible = n.Steps[0].ExpectedCost
	if got := lines(n); strings.Contains(got, "with the cause known") {
		t.Errorf("the cost of a known cause is told where it is the same:\n%s", got)
	}
}
