package plan_test

import (
	"context"
	"math"
	"slices"
	"testing"

	"weephole/check"
	"weephole/lineup"
	"weephole/plan"
	"weephole/plan/solve"
)

// asked plans all engines with questions to the owner, after a complaint of nothing but heat.
func asked(t *testing.T, events []lineup.Event, notKnown ...string) (*plan.CarProblem, []string) {
	t.Helper()
	m, st := defaults(t)
	said := check.Complaint{Signs: make([]check.Heard, len(m.Checks.Signs)), Conditions: make([]check.Heard, len(m.Checks.Conditions))}
	said.Signs[m.Checks.SignIndex("overheats")] = check.Said
	cs := lineup.Case{Complaint: said, Events: events}
	car, err := plan.NewCar(m, st, plan.Workshop{}, allEngines(t), cs)
	if err != nil {
		t.Fatal(err)
	}
	if err := car.AddQuestions(cs, notKnown); err != nil {
		t.Fatal(err)
	}
	var signs []string
	for _, k := range car.Checks {
		if s := plan.Asks(k.ID); s != "" {
			signs = append(signs, s)
		}
	}
	return car, signs
}

// What the owner has told, denied or could not tell is not asked again; the next one is asked in its place.
func TestNothingIsAskedTwice(t *testing.T) {
	_, first := asked(t, nil)
	if len(first) == 0 {
		t.Fatal("nothing is asked about a car that runs hot and no more")
	}
	if slices.Contains(first, "overheats") {
		t.Error("asks what the complaint says")
	}
	for name, now := range map[string]func(sign string) []string{
		"told":      func(sign string) []string { _, s := asked(t, []lineup.Event{{Sign: sign}}); return s },
		"denied":    func(sign string) []string { _, s := asked(t, []lineup.Event{{Sign: sign, Denied: true}}); return s },
		"not known": func(sign string) []string { _, s := asked(t, nil, sign); return s },
	} {
		if after := now(first[0]); slices.Contains(after, first[0]) || len(after) == 0 {
			t.Errorf("%s was %s; then %v are asked", first[0], name, after)
		}
	}
}

// Every detail that may be asked is a sign of the catalogue, and what takes a hand or a thermometer is not asked.
func TestOnlyWhatAnOwnerCanTellIsAsked(t *testing.T) {
	m, _ := defaults(t)
	details, err := plan.CanTell()
	if err != nil {
		t.Fatal(err)
	}
	for id := range details {
		if i := m.Checks.SignIndex(id); i < 0 || !m.Checks.Signs[i].Detail {
			t.Errorf("asks.yaml: %s is no detail of check/details.yaml", id)
		}
	}
	for _, id := range []string{"one-heater-hose-cool", "thermometer-hot", "cap-worn"} {
		if details[id] {
			t.Errorf("asks.yaml: %s takes more than the owner's seat", id)
		}
	}
}

// A question takes the minutes of a call, waits for nothing and leaves the engine as it is; that he cannot tell
// is as probable whatever is wrong.
func TestAQuestionWaitsForNothing(t *testing.T) {
	car, _ := asked(t, nil)
	for i, k := range car.Checks {
		if plan.Asks(k.ID) == "" {
			continue
		}
		a := car.Problem.Checks[i]
		for state, then := range a.Then {
			if then != state || a.Minutes[state] != car.Settings.Asking.Value || car.Wait(k, plan.EngineState(state)) != 0 {
				t.Errorf("%s in state %d: then %d, %v min", k.ID, state, then, a.Minutes[state])
			}
		}
		for h := range a.P[0] {
			if sum := a.P[0][h] + a.P[1][h] + a.P[2][h]; math.Abs(sum-1) > 1e-9 || a.P[2][h] != car.Settings.AskedUnsure.Value {
				t.Fatalf("%s, hypothesis %d: %v, %v, %v", k.ID, h, a.P[0][h], a.P[1][h], a.P[2][h])
			}
		}
	}
}

// Questions are asked in one call: the second costs its minute only.
func TestQuestionsShareACall(t *testing.T) {
	car, _ := asked(t, nil)
	search := car.Search(0)
	list, err := search.Rank(context.Background(), int(plan.Cold))
	if err != nil {
		t.Fatal(err)
	}
	var calls []solve.Action
	for _, a := range list {
		if a.Kind == solve.DoCheck && plan.Asks(car.Checks[a.Index].ID) != "" {
			calls = append(calls, a)
		}
	}
	round := car.Round(search, calls, int(plan.Cold))
	if len(round) < 2 {
		t.Fatalf("%d questions in a call of %d", len(round), len(calls))
	}
	for i, a := range round[1:] {
		if got := car.RoundMinutes(i+1, a, plan.Cold); got != car.Settings.AskingMore.Value || a.Cost >= round[0].Cost {
			t.Errorf("question %d: %v min, %.2f; the first is %.2f", i+2, got, a.Cost, round[0].Cost)
		}
	}
}
