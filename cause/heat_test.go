package cause_test

import (
	"testing"

	"weephole/circuit"
)

// A brake that drags and an exhaust that is blocked heat the engine of a car that is
// driven. At idle a brake takes nothing and hardly any gas flows, so a quick warm-up
// does not speak for them (common practice, no source; the bounds are judgement).
func TestABrakeAndAnExhaustHeatOnlyADrivenCar(t *testing.T) {
	k := builtin(t).Cause("excess-heat")
	table, err := circuit.DefaultTable()
	if err != nil {
		t.Fatal(err)
	}
	heat := func(c circuit.Circuit, s circuit.Stage) (watts float64) {
		cond := circuit.Conditions{AmbientC: 25}
		state := circuit.StateAt(&c, cond, 90, 1)
		s.Seconds = 0.01
		circuit.NewSolver(circuit.Fine).Run(&c, cond, &state, []circuit.Stage{s}, 1, func(_ float64, r *circuit.Snapshot) { watts = r.HeatW })
		return watts
	}
	idle, climb := circuit.Stage{}, circuit.Stage{RoadSpeedMS: 22, EngineRevPerSec: 50, Grade: 0.06}
	for _, test := range []struct {
		state       string
		least, most float64 // times the heat of a sound idle
	}{{"brake", 1, 1}, {"exhaust", 1, 1.05}, {"late-timing", 1.4, 1.9}, {"lean", 1.4, 1.9}} {
		_, state, ok := k.FindState(test.state)
		if !ok {
			t.Fatalf("no state %s", test.state)
		}
		sound := table.Typical(circuit.Vehicle{})
		bad := sound
		k.Apply(1, []int{state, 0}, &bad)
		if ratio := heat(bad, idle) / heat(sound, idle); ratio < test.least-1e-9 || ratio > test.most+1e-9 {
			t.Errorf("%s: %.3f times the heat at idle, want %g to %g", test.state, ratio, test.least, test.most)
		}
		if ratio := heat(bad, climb) / heat(sound, climb); ratio < 1.3 || ratio > 2.5 {
			t.Errorf("%s: %.2f times the heat on a climb, want 1.3 to 2.5", test.state, ratio)
		}
	}
}
