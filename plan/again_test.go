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
	fans := deadFans(t, 0.02) // a run that shows the fan running is doubtful there
	still := lineup.Event{Check: "fan-run", Word: "still"}
	runs := lineup.Event{Check: "fan-run", Word: "runs"}
	futile := lineup.Event{Repair: "replace-fan-fuse", Changed: cause.Nothing}
	better := lineup.Event{Repair: "replace-fan-fuse", Changed: cause.Better}
	for _, x := range []struct {
		name    string
		events  []lineup.Event
		offered bool
		repeats bool
	}{
		{"it was not made", nil, true, false},
		{"it showed what these engines show", []lineup.Event{still}, false, false},
		{"it showed what these engines hardly show", []lineup.Event{runs}, true, true},
		{"it was made twice", []lineup.Event{runs, runs}, false, false},
		{"a repair on it changed nothing", []lineup.Event{still, futile}, true, true},
		{"a repair changed something: another engine", []lineup.Event{still, better}, true, false},
	} {
		car := carOf(t, fans, x.events)
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

func carOf(t *testing.T, sample *lineup.Sample, events []lineup.Event) *plan.CarProblem {
	t.Helper()
	m, st := defaults(t)
	car, err := plan.NewCar(m, st, plan.Workshop{}, sample, lineup.Case{Shop: circuit.Conditions{AmbientC: 20}, Events: events})
	if err != nil {
		t.Fatal(err)
	}
	return car
}

// TestWhatIsExcludedIsCommonAndUnlikely: of engines whose fan is dead, dead fans are not excluded
// and the common leak is; nothing that is left with a chance is among them.
func TestWhatIsExcludedIsCommonAndUnlikely(t *testing.T) {
	car := carOf(t, deadFans(t, 0.02), nil)
	causes := car.Model.Causes
	out := car.Excluded()
	if slices.Contains(out, causes.Index("fan-dead")) || !slices.Contains(out, causes.Index("coolant-low")) {
		t.Errorf("excluded %v with a dead fan on all engines", out)
	}
	for _, s := range car.CausesLeft() {
		if s.Probability >= car.Settings.RuledOut.Value && slices.Contains(out, s.Cause) {
			t.Errorf("%s is called excluded at %.2f", causes.Causes[s.Cause].ID, s.Probability)
		}
	}
}

func TestACarFitsNothingWhereTheUnknownIsLikelier(t *testing.T) {
	for other, want := range map[float64]bool{0.02: false, 0.45: false, 0.55: true} {
		if got := carOf(t, deadFans(t, other), nil).FitsNothing(); got != want {
			t.Errorf("something else at %.2f: fits nothing %v, want %v", other, got, want)
		}
	}
}

// deadFans are engines whose fan is dead and nothing else is wrong, and the probability of
// something else.
func deadFans(t *testing.T, other float64) *lineup.Sample {
	t.Helper()
	all := allEngines(t)
	m, _ := defaults(t)
	dead := m.Causes.Index("fan-dead")
	fans := &lineup.Sample{Other: other}
	for i, faults := range all.Faults {
		if len(faults) != 1 || faults[0].Cause != dead {
			continue
		}
		// A fan with one stage left, or one of two, is often found running.
		if part := m.Causes.Causes[dead].Hidden[0].States[faults[0].Hidden[0]].Is; part != "stage" && part != "one-of-two" {
			fans.Faults, fans.Records = append(fans.Faults, faults), append(fans.Records, all.Records[i])
		}
	}
	return fans
}
