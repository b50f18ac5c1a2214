package plan_test

import (
	"context"
	"math"
	"slices"
	"testing"

	"weephole/check"
	"weephole/circuit"
	"weephole/lineup"
	"weephole/plan"
	"weephole/plan/solve"
)

func coldCar(t *testing.T, events ...lineup.Event) *plan.CarProblem {
	t.Helper()
	m, st := defaults(t)
	said := check.Complaint{Signs: make([]check.Heard, len(m.Checks.Signs)), Conditions: make([]check.Heard, len(m.Checks.Conditions))}
	said.Signs[m.Checks.SignIndex("overheats")] = check.Said
	l, err := lineup.New(context.Background(), m, lineup.Case{Shop: circuit.Conditions{AmbientC: 25}, Complaint: said, Events: events},
		lineup.DrawOptions{Candidates: 1500, Seed: 1, KeepStill: true})
	if err != nil {
		t.Fatal(err)
	}
	car, err := plan.ForLineup(context.Background(), l, st, plan.Workshop{})
	if err != nil {
		t.Fatal(err)
	}
	return car
}

func place(car *plan.CarProblem, id string) int {
	for i, k := range car.Checks {
		if k.ID == id {
			return i
		}
	}
	return -1
}

// TestChecksOfOneWarmUpShareIt: what is asked in a warm-up that runs already costs less
// than in one of its own, and its log is over when the engine is hot.
func TestChecksOfOneWarmUpShareIt(t *testing.T) {
	car := coldCar(t, lineup.Event{Check: "level-cold", Word: "full"})
	p := car.Problem
	first, log, fan := place(car, "hose-by-hand"), place(car, "warm-up-log"), place(car, "fan-run")
	then := p.Checks[first].Then[plan.Cold]
	if plan.EngineState(then) != plan.Warming {
		t.Fatalf("after a hand on the hose the engine is in state %d; want warming up", then)
	}
	if in, own := p.Checks[log].Cost[then], p.Checks[log].Cost[plan.Cold]; in >= own {
		t.Errorf("a log of the warm-up costs %.1f within it and %.1f in one of its own", in, own)
	}
	if in, own := p.Checks[fan].Cost[then], p.Checks[fan].Cost[plan.Cold]; in >= own {
		t.Errorf("the fan costs %.1f in a warm-up that has begun and %.1f in one of its own", in, own)
	}
	// What opens the neck wants a cold engine again.
	if neck := place(car, "neck-bubbles"); p.Checks[neck].Minutes[then] < car.Settings.CoolDown.Value {
		t.Errorf("the neck of an engine that warms up is opened after %.0f min", p.Checks[neck].Minutes[then])
	}
}

// TestAVisitAsksWhatNeedsNoFurtherWait: what is asked in one visit comes without a
// second wait, and no question twice.
func TestAVisitAsksWhatNeedsNoFurtherWait(t *testing.T) {
	for name, events := range map[string][]lineup.Event{
		"nothing known":        nil,
		"after the look round": {{Check: "level-cold", Word: "full"}, {Check: "leak-look", Word: "dry"}, {Check: "belt-look", Word: "firm"}},
	} {
		car := coldCar(t, events...)
		s := car.Search(0)
		list, err := s.Rank(context.Background(), int(plan.Cold))
		if err != nil {
			t.Fatal(err)
		}
		round := car.Round(s, list, int(plan.Cold))
		if len(round) < 2 {
			t.Fatalf("%s: the first step stands alone: %+v", name, list[0].Index)
		}
		state, waits := plan.Cold, 0
		var asked []int
		for _, a := range round {
			if car.Wait(car.Checks[a.Index], state) > 0 {
				waits++
			}
			if slices.Contains(asked, a.Index) {
				t.Errorf("%s: %s twice", name, car.Checks[a.Index].ID)
			}
			if math.Abs(a.Cost-car.Problem.Checks[a.Index].Cost[state]) > 1e-9 {
				t.Errorf("%s: %s is charged %.1f; the engine stands so that it costs %.1f", name, car.Checks[a.Index].ID, a.Cost, car.Problem.Checks[a.Index].Cost[state])
			}
			asked = append(asked, a.Index)
			state = plan.EngineState(car.Problem.Checks[a.Index].Then[state])
		}
		if waits > 1 {
			t.Errorf("%s: %d waits in one visit", name, waits)
		}
	}
}

// TestTheFirstVisitComesFirstAmongEquals: of ways that cost nearly the same, what is
// at hand goes first.
func TestTheFirstVisitComesFirstAmongEquals(t *testing.T) {
	car := coldCar(t)
	list, err := car.Search(0).Rank(context.Background(), int(plan.Cold))
	if err != nil {
		t.Fatal(err)
	}
	if list[0].Kind != solve.DoCheck || car.Checks[list[0].Index].State != "cold" && car.Checks[list[0].Index].State != "any" {
		t.Fatalf("the first step on a cold engine of which nothing is known is %+v", list[0])
	}
}
