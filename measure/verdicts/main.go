// Command verdicts asks how often package trace judges simulated logs rightly:
// engines drawn from the circuit's table, healthy or with a fault, idled or
// driven at three temperatures, their readings rounded to whole degrees.
//
//	go run ./measure/verdicts
//
// The simulated readings come from our own model, so this measures that the two
// packages agree, not how either does on real cars.
package main

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"strings"

	"weephole/circuit"
	"weephole/trace"
	"weephole/trace/events"
)

const drawn = 12 // engines for each line of the table

func main() {
	if err := run(); err != nil {
		fmt.Fprintln(os.Stderr, "verdicts:", err)
		os.Exit(1)
	}
}

func run() error {
	table, err := circuit.DefaultTable()
	if err != nil {
		return err
	}
	vehicle := circuit.Vehicle{DisplacementM3: 0.0016, PowerW: 80e3, MassKg: 1300, Cylinders: 4, CoolantVolumeM3: 0.0065, GlycolVolumeFraction: new(0.5), ThermostatC: new(88.0)}
	faults := []struct {
		name string
		set  func(*circuit.Circuit)
	}{
		{"healthy", func(*circuit.Circuit) {}},
		{"stuck open", func(c *circuit.Circuit) { c.MinLift = 0.6 }},
		{"half open", func(c *circuit.Circuit) { c.MinLift = 0.25 }},
		{"stuck shut", func(c *circuit.Circuit) { c.MaxLift = 0.02 }},
		{"fan dead", func(c *circuit.Circuit) { c.FanWorks = 0 }},
	}
	var city []circuit.Stage
	for range 14 {
		city = append(city, circuit.Stage{Seconds: 40, RoadSpeedMS: 13}, circuit.Stage{Seconds: 20}, circuit.Stage{Seconds: 30, RoadSpeedMS: 9}, circuit.Stage{Seconds: 30})
	}
	runs := []struct {
		name   string
		stages []circuit.Stage
	}{
		{"idle", []circuit.Stage{{Seconds: 1800}}},
		{"city", city},
		{"motorway", append(append([]circuit.Stage{}, city[:8]...), circuit.Stage{Seconds: 1500, RoadSpeedMS: 30})},
	}
	rng := rand.New(rand.NewPCG(1, 2))
	fmt.Println("| engine | run | outside | verdicts |\n|---|---|---|---|")
	for _, fault := range faults {
		for _, r := range runs {
			for _, outside := range []float64{22, 1, -12} {
				count := map[events.Verdict]int{}
				for range drawn {
					z := make([]float64, table.Dim())
					for i := range z {
						z[i] = rng.NormFloat64()
					}
					c := table.Draw(vehicle, z)
					fault.set(&c)
					log := record(&c, circuit.Conditions{AmbientC: outside, HeaterOn: outside < 10}, r.stages)
					t, err := trace.Read(context.Background(), strings.NewReader(log), "simulated", trace.ReadOptions{})
					if err != nil {
						return err
					}
					count[events.InLog(t).Verdict]++
				}
				var words []string
				for _, v := range []events.Verdict{events.Opened, events.CannotTellYet, events.RunsCold, events.Overheats} {
					if count[v] > 0 {
						words = append(words, fmt.Sprintf("%s %d", v, count[v]))
					}
				}
				fmt.Printf("| %s | %s | %.0f °C | %s |\n", fault.name, r.name, outside, strings.Join(words, ", "))
			}
		}
	}
	return nil
}

// record runs the circuit and writes what a logger would.
func record(c *circuit.Circuit, cond circuit.Conditions, stages []circuit.Stage) string {
	state := circuit.Soaked(c, cond)
	var b strings.Builder
	b.WriteString("Time (s),Coolant (°C),RPM,Speed (km/h)\n")
	circuit.NewSolver(0).Run(c, cond, &state, stages, 1, func(t float64, r *circuit.Snapshot) {
		speed, until := 0.0, 0.0
		for _, s := range stages {
			if until += s.Seconds; t <= until {
				speed = s.RoadSpeedMS
				break
			}
		}
		fmt.Fprintf(&b, "%.0f,%.0f,%.0f,%.0f\n", t, math.Round(r.SensorC), 800+speed*60, speed*3.6)
	})
	return b.String()
}
