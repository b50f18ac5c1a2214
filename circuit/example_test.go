package circuit_test

import (
	"fmt"
	"math"

	"weephole/circuit"
)

// A healthy car idles from cold on a mild day. The drill says after how many minutes
// its sensor passes 40, 60 and 80 °C. Logs of a 1.5 L car took 0.6 to 0.9, 2.7 to 3.6
// and 6.3 to 8.9 minutes at idle (docs/model.md, section 1.9); this is the table's
// typical 1.6 L car.
func ExampleDrill() {
	table, err := circuit.DefaultTable()
	if err != nil {
		fmt.Println(err)
		return
	}
	car := table.Typical(circuit.Vehicle{ThermostatC: new(88.0)})
	var record circuit.Record
	drill := circuit.NewDrill(circuit.Fine)
	drill.Run(&car, circuit.Conditions{AmbientC: 25}, circuit.SetOf(circuit.WarmUp), &record)
	for _, place := range []circuit.Place{circuit.MinutesTo40, circuit.MinutesTo60, circuit.MinutesTo80} {
		at := circuit.Observable{Situation: circuit.WarmUp, Place: place}
		fmt.Printf("%s: %.0f min\n", at, math.Round(record.At(at)))
	}
	// Output:
	// warm-up.minutes-to-40: 1 min
	// warm-up.minutes-to-60: 4 min
	// warm-up.minutes-to-80: 9 min
}

// The solver follows any run. Here the thermostat stays shut for ten minutes of
// idle on a hot day. The trade says about 110 °C of a thermostat without a bleed pin;
// this one has a pin, which lets a little through.
func ExampleSolver_Run() {
	table, err := circuit.DefaultTable()
	if err != nil {
		fmt.Println(err)
		return
	}
	car := table.Typical(circuit.Vehicle{ThermostatC: new(78.0), ThermostatSits: circuit.OnOutlet})
	car.MaxLift = 0
	air := circuit.Conditions{AmbientC: 35}
	state := circuit.StateAt(&car, air, 82, 0.7)
	circuit.NewSolver(circuit.Fine).Run(&car, air, &state, []circuit.Stage{{Seconds: 600}}, 0, nil)
	fmt.Printf("%.0f °C\n", state.CoolantC())
	// Output: 104 °C
}
