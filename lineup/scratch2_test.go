package lineup_test

import (
	"fmt"
	"testing"

	"weephole/circuit"
	"weephole/lineup"
)

func TestScratchRecord(t *testing.T) {
	m, err := lineup.DefaultModel()
	if err != nil {
		t.Fatal(err)
	}
	for _, id := range []string{"no-fault", "thermostat-shut", "thermostat-open", "fan-dead", "radiator-clogged", "pump-weak", "combustion-leak"} {
		c := m.Table.Typical(circuit.Vehicle{DisplacementM3: 0.0016})
		k := m.Causes.Cause(id)
		k.Apply(0.7, []int{0, 0}, &c)
		d := circuit.NewDrill(circuit.Coarse)
		var r circuit.Record
		d.Run(&c, circuit.Conditions{AmbientC: 30}, circuit.AllSituations(), &r)
		fmt.Println(id, c.MaxLift)
		for _, s := range circuit.Situations() {
			fmt.Printf("  %-12s", s)
			for _, p := range []circuit.Place{circuit.Coolant, circuit.SensorMean, circuit.SensorPeak, circuit.GaugePeak, circuit.UpperHose, circuit.LowerHose, circuit.RadiatorDrop, circuit.VentAir, circuit.FanShare, circuit.Pressure, circuit.LevelLost, circuit.BoilMinutes, circuit.MinutesToLimit} {
				fmt.Printf(" %s %.1f", p, r[s][p])
			}
			fmt.Println()
		}
	}
}
