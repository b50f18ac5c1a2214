package plan_test

import (
	"testing"

	"weephole/lineup"
	"weephole/plan"
)

// TestWhatPaysAtTheSameTimeIsNamed: what is named along with a repair must be cheap
// and worth more than it costs; part of the repair it is not.
func TestWhatPaysAtTheSameTimeIsNamed(t *testing.T) {
	car := carWith(t,
		lineup.Event{Check: "face-sweep", Word: "patchy"}, lineup.Event{Check: "pot-test", Word: "shut"},
		lineup.Event{Check: "backflush", Word: "poor"}, lineup.Event{Check: "coolant-look", Word: "rusty"},
		lineup.Event{Check: "hose-by-hand", Word: "stays-cold"})
	search, named := car.Search(0), 0
	for r := range car.Repairs {
		for _, x := range car.Together(search, r) {
			named++
			other := car.Repairs[x.Repair]
			if other.Big {
				t.Errorf("%s along with %s", other.ID, car.Repairs[r].ID)
			}
			if x.Odds*x.Later <= x.Now || x.Now > x.Later {
				t.Errorf("%s along with %s: odds %.2f, %.0f now, %.0f later: not worth it", other.ID, car.Repairs[r].ID, x.Odds, x.Now, x.Later)
			}
			if other.ID == "bleed-and-refill" && car.Repairs[r].Drained() {
				t.Errorf("bleeding is part of %s", car.Repairs[r].ID)
			}
		}
	}
	if named == 0 {
		t.Error("with a thermostat that stays shut and a radiator that looks clogged, nothing pays at the same time")
	}
}

// TestAPumpBehindTheTimingBeltIsAnotherRepair: it costs more than one on the outer belt, and
// what is not told lies between.
func TestAPumpBehindTheTimingBeltIsAnotherRepair(t *testing.T) {
	m, st := defaults(t)
	r := m.Causes.Repair("replace-pump")
	bill := func(pump string) float64 { return st.Bill(r, plan.Workshop{Pump: pump}) }
	if out, unknown, behind := bill("belt"), bill(""), bill("timing-belt"); !(out < unknown && unknown < behind) {
		t.Errorf("a pump on the outer belt %.0f, not told %.0f, behind the timing belt %.0f", out, unknown, behind)
	}
	if on := r.On("timing-belt"); on.ID != r.ID || on.Name == r.Name {
		t.Errorf("behind the timing belt it is %q, %q", on.ID, on.Name)
	}
	if bill("electric") != bill("") {
		t.Error("a drive that makes no difference makes one")
	}
}
