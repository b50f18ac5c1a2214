package circuit

import "testing"

func defaultTable(t testing.TB) *Table {
	t.Helper()
	table, err := DefaultTable()
	if err != nil {
		t.Fatal(err)
	}
	return table
}

// measuredCar is the 1.5 L car of the open logs that circuit-numbers 1.9
// summarises. Its numbers lie within the table's ranges; a test says so.
func measuredCar(t testing.TB) Circuit {
	t.Helper()
	c := defaultTable(t).Typical(Vehicle{DisplacementM3: 1.5e-3, PowerW: 80e3, ThermostatC: new(86.0), ThermostatSits: OnOutlet})
	c.IdleFuelPower, c.IdleHeatShare, c.ColdFuelFactor = 6200, 0.51, 1.75
	c.BlockHeatShare, c.MetalCoolantUA = 0.55, 1400
	c.StandingLossUA, c.FanOffAir, c.LeakLift = 13, 0.021, 0.002
	c.FanOnC, c.FanOffC, c.SensorLag = 95, 92.5, 3
	c.Hysteresis, c.WaxLag = 2.5, 6
	return c
}

func between(t *testing.T, what string, got, low, high float64) {
	t.Helper()
	if !(got >= low && got <= high) {
		t.Errorf("%s is %.4g, want %.4g to %.4g", what, got, low, high)
	} else {
		t.Logf("%s is %.4g (%.4g to %.4g)", what, got, low, high)
	}
}
