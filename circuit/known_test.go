package circuit

import (
	"math"
	"testing"
)

// What is known may be zero: freezing air, fuel cut on the overrun, plain water.
// None of these is a missing value.
func TestZeroIsAKnownValueOfAStage(t *testing.T) {
	c, cond := measuredCar(t), Conditions{AmbientC: 25}
	after := func(stage Stage) float64 {
		st := StateAt(&c, cond, 90, 0.8)
		NewSolver(Fine).Run(&c, cond, &st, []Stage{stage}, 0, nil)
		return st.CoolantC()
	}
	standing := Stage{Seconds: 3600, EngineOff: true}
	freezing, shop := standing, standing
	freezing.AmbientKnown = true
	shop.AmbientC, shop.AmbientKnown = 25, true
	if a, b := after(shop), after(standing); a != b {
		t.Errorf("25 degC said of the stage gives %.3f degC, of the run %.3f", a, b)
	}
	if a, b := after(freezing), after(standing); a > b-5 {
		t.Errorf("after an hour in air of 0 degC the coolant is at %.2f degC, in air of 25 at %.2f", a, b)
	}
	road := Stage{Seconds: 300, RoadSpeedMS: 14, EngineRevPerSec: 30}
	overrun := road
	overrun.FuelKnown = true
	if a, b := after(overrun), after(road); a > b-2 {
		t.Errorf("after 300 s without fuel the coolant is at %.2f degC, with fuel at %.2f", a, b)
	}
}

func TestZeroIsAKnownFactOfAVehicle(t *testing.T) {
	table := defaultTable(t)
	usual := table.Typical(Vehicle{})
	for _, test := range []struct {
		fact    string
		vehicle Vehicle
		number  func(*Circuit) float64
		within  float64
	}{
		{"plain water", Vehicle{GlycolVolumeFraction: new(0.0)}, func(c *Circuit) float64 { return c.GlycolVolumeFraction }, knownGlycol},
		{"an open system", Vehicle{CapPressurePa: new(0.0)}, func(c *Circuit) float64 { return c.CapPressure }, 0},
		{"a thermostat stamped 0 degC", Vehicle{ThermostatC: new(0.0)}, func(c *Circuit) float64 { return c.OpeningC }, knownThermostatK},
		{"a fan that comes on at 0 degC", Vehicle{FanOnC: new(0.0)}, func(c *Circuit) float64 { return c.FanOnC }, knownFanK},
	} {
		typical := table.Typical(test.vehicle)
		if got := test.number(&typical); math.Abs(got) > test.within {
			t.Errorf("%s: the circuit has %g, want 0; a car of which nothing is known has %g", test.fact, got, test.number(&usual))
		}
	}
}
