package plan_test

import (
	"math"
	"slices"
	"testing"

	"weephole/cause"
	"weephole/check"
	"weephole/circuit"
	"weephole/lineup"
	"weephole/plan"
)

// TestADoubtfulCheckIsMadeAgain: a check is offered once, and a second time where a repair done
// on it changed nothing, or where the engines that are left would rather have shown something else.
func TestADoubtfulCheckIsMadeAgain(t *testing.T) {
	all, err := manyEngines()
	if err != nil {
		t.Fatal(err)
	}
	m, err := lineup.DefaultModel()
	if err != nil {
		t.Fatal(err)
	}
	fans := deadFans(m, all) // a run that shows the fan running is doubtful there
	still := lineup.Event{Check: "fan-run", Word: "still"}
	runs := lineup.Event{Check: "fan-run", Word: "runs"}
	futile := lineup.Event{Repair: "replace-fan-fuse", Changed: cause.Nothing}
	better := lineup.Event{Repair: "replace-fan-fuse", Changed: cause.Better}
	for _, x := range []struct {
		name    string
		sample  *lineup.Sample
		events  []lineup.Event
		offered bool
		repeats bool
	}{
		{"it was not made", fans, nil, true, false},
		{"it showed what these engines show", fans, []lineup.Event{still}, false, false},
		{"it showed what these engines hardly show", fans, []lineup.Event{runs}, true, true},
		{"it was made twice", fans, []lineup.Event{runs, runs}, false, false},
		{"a repair on it changed nothing", fans, []lineup.Event{still, futile}, true, true},
		{"a repair changed something: another engine", fans, []lineup.Event{still, better}, true, false},
	} {
		car := carOf(t, m, x.sample, x.events)
		i := slices.IndexFunc(car.Checks, func(k *check.Check) bool { return k.ID == "fan-run" })
		if (i >= 0) != x.offered {
			t.Errorf("%s: offered %v, want %v", x.name, i >= 0, x.offered)
			continue
		}
		if i < 0 {
			continue
		}
		if car.Repeats(i) != x.repeats {
			t.Errorf("%s: a repeat %v, want %v", x.name, car.Repeats(i), x.repeats)
		}
		for h := range car.Problem.Weight {
			sum := 0.0
			for _, row := range car.Problem.Checks[i].P {
				sum += row[h]
			}
			if math.Abs(sum-1) > 1e-9 {
				t.Fatalf("%s: outcomes of engine %d sum to %.6f", x.name, h, sum)
			}
		}
	}
}

func carOf(t *testing.T, m *lineup.Model, sample *lineup.Sample, events []lineup.Event) *plan.CarProblem {
	t.Helper()
	st, err := plan.DefaultAssumptions()
	if err != nil {
		t.Fatal(err)
	}
	car, err := plan.NewCar(m, st, plan.Workshop{}, sample, lineup.Case{Shop: circuit.Conditions{AmbientC: 20}, Events: events})
	if err != nil {
		t.Fatal(err)
	}
	return car
}

// TestWhatIsExcludedIsCommonAndUnlikely: of engines whose fan is dead, dead fans are not excluded
// and the common leak is; nothing that is left with a chance is among them.
func TestWhatIsExcludedIsCommonAndUnlikely(t *testing.T) {
	all, err := manyEngines()
	if err != nil {
		t.Fatal(err)
	}
	m, err := lineup.DefaultModel()
	if err != nil {
		t.Fatal(err)
	}
	car := carOf(t, m, deadFans(m, all), nil)
	out := car.Excluded()
	if slices.Contains(out, m.Causes.Index("fan-dead")) || !slices.Contains(out, m.Causes.Index("coolant-low")) {
		t.Errorf("excluded %v with a dead fan on all engines", out)
	}
	for _, s := range car.CausesLeft() {
		if s.Probability >= car.Settings.RuledOut.Value && slices.Contains(out, s.Cause) {
			t.Errorf("%s is called excluded at %.2f", m.Causes.Causes[s.Cause].ID, s.Probability)
		}
	}
	if car.FitsNothing() {
		t.Error("fits nothing, with 98 of 100 engines that have a dead fan")
	}
}

// deadFans are the engines of a sample whose fan is dead and nothing else is wrong.
func deadFans(m *lineup.Model, all *lineup.Sample) *lineup.Sample {
	dead := m.Causes.Index("fan-dead")
	fans := &lineup.Sample{Other: 0.02}
	for i, faults := range all.Faults {
		if len(faults) == 1 && faults[0].Cause == dead {
			fans.Faults, fans.Records = append(fans.Faults, faults), append(fans.Records, all.Records[i])
		}
	}
	return fans
}
