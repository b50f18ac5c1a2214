package demo_test

import (
	"bytes"
	"compress/gzip"
	"context"
	"flag"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"weephole/circuit"
	"weephole/internal/demo"
	"weephole/internal/job"
	"weephole/internal/work"
	"weephole/lineup"
	"weephole/proof"
)

var remake = flag.Bool("remake-logs", false, "simulate the demonstration's logs again")

// simulated is a log of the demonstration that no real car has driven: the
// job's vehicle, drawn from the numbers table with a seed of its own, with its
// fault before the repair and without it afterwards.
type simulated struct {
	log   string
	job   string
	run   string // of package proof
	seed  uint64 // of the car; the same before and after the repair
	cause string // "" after the repair
	sick  float64
	fuel  bool // the computer tells the air (petrol) or the fuel (diesel)
}

var logs = []simulated{
	{log: "hill-before.csv.gz", job: "1-hill.yaml", run: "climb", seed: 11, cause: "radiator-clogged", sick: 0.75, fuel: true},
	{log: "hill-after.csv.gz", job: "1-hill.yaml", run: "climb", seed: 11, fuel: true},
	{log: "cold-before.csv.gz", job: "2-cold.yaml", run: "round", seed: 21, cause: "thermostat-open", sick: 0.12, fuel: true},
	{log: "cold-after.csv.gz", job: "2-cold.yaml", run: "round", seed: 21, fuel: true},
	{log: "gasket-after.csv.gz", job: "4-gasket.yaml", run: "climb", seed: 41, fuel: true},
}

func TestMain(m *testing.M) {
	flag.Parse()
	if *remake {
		for i := range logs {
			if err := logs[i].write(); err != nil {
				fmt.Fprintln(os.Stderr, err)
				os.Exit(1)
			}
		}
	}
	os.Exit(m.Run())
}

// The logs lie in the folder as the program makes them: nobody has touched them up.
func TestTheSimulatedLogsAreThoseThatTheCircuitMakes(t *testing.T) {
	for i := range logs {
		t.Run(logs[i].log, func(t *testing.T) {
			want, err := logs[i].make()
			if err != nil {
				t.Fatal(err)
			}
			r, err := demo.Open(logs[i].log)
			if err != nil {
				t.Fatal(err)
			}
			defer r.Close()
			z, err := gzip.NewReader(r)
			if err != nil {
				t.Fatal(err)
			}
			got, err := io.ReadAll(z)
			if err != nil {
				t.Fatal(err)
			}
			if !bytes.Equal(got, want) {
				t.Error("the log is not what the circuit makes now; go test ./internal/demo -remake-logs writes it again")
			}
		})
	}
}

func (s *simulated) write() error {
	data, err := s.make()
	if err != nil {
		return err
	}
	var b bytes.Buffer
	z, err := gzip.NewWriterLevel(&b, gzip.BestCompression)
	if err != nil {
		return err
	}
	if _, err := z.Write(data); err != nil {
		return err
	}
	if err := z.Close(); err != nil {
		return err
	}
	return os.WriteFile(filepath.Join("jobs", s.log), b.Bytes(), 0o644)
}

// What a log of a simulated car errs by, as in package proof's simulated
// repairs: a wandering error, noise, whole degrees. Judgement.
const (
	every       = 2.0   // s between rows
	wanderSD    = 1.5   // K
	correlation = 120.0 // s
	noiseSD     = 0.3   // K
)

// make simulates the log.
func (s *simulated) make() ([]byte, error) {
	m, err := lineup.DefaultModel()
	if err != nil {
		return nil, err
	}
	st, err := proof.DefaultCriteria()
	if err != nil {
		return nil, err
	}
	text, err := demo.Bytes(s.job)
	if err != nil {
		return nil, err
	}
	j, err := job.Read(bytes.NewReader(text), s.job, work.Vocabulary(m))
	if err != nil {
		return nil, err
	}
	j.Findings = nil // the car and the air are wanted, not its logs
	w, err := work.New(context.Background(), m, j, work.OpenOptions{})
	if err != nil {
		return nil, err
	}
	rng := rand.New(rand.NewPCG(s.seed, 1))
	z := make([]float64, m.Table.Dim())
	for i := range z {
		z[i] = rng.NormFloat64()
	}
	c := m.Table.Draw(w.Case.Vehicle, z)
	if s.cause != "" {
		m.Causes.Cause(s.cause).Apply(s.sick, nil, &c)
	}
	return s.drive(&c, w.Case.Shop, w.Case.Vehicle.Fuel, st.Run(s.run)), nil
}

// drive runs the car and writes what a reader of its computer would have logged.
func (s *simulated) drive(c *circuit.Circuit, air circuit.Conditions, fuel circuit.Fuel, run *proof.Run) []byte {
	state := circuit.Soaked(c, air)
	if run.Start == "hot" {
		const driven, soaked = 86, 0.9 // a car that was driven in; judgement
		state = circuit.StateAt(c, air, driven, soaked)
	}
	rng := rand.New(rand.NewPCG(s.seed, 2))
	phi := math.Exp(-every / correlation)
	wander := wanderSD * rng.NormFloat64()
	// Both lower heating values and the air that petrol wants: common handbook figures.
	const fuelHeat, airPerFuel, density = circuit.FuelHeat, 14.6, 0.78
	column := ""
	if s.fuel {
		column = map[bool]string{true: ",Engine fuel rate (L/h)", false: ",Mass air flow (g/s)"}[fuel == circuit.Diesel]
	}
	var b bytes.Buffer
	fmt.Fprintf(&b, "Time (s),Engine RPM (rpm),Vehicle speed (km/h),Coolant temperature (°C),Ambient air temperature (°C)%s\n", column)
	at, last, solver := 0.0, 0.0, circuit.NewSolver(circuit.Fine)
	row := func(g *circuit.Stage, power float64) {
		t := state.SensorC()
		shown := t + c.SensorOffset + c.SensorHotError*(t-20)/80 + wander + noiseSD*rng.NormFloat64()
		revs := g.EngineRevPerSec
		if revs == 0 {
			revs = c.IdleSpeed
		}
		fmt.Fprintf(&b, "%.0f,%.0f,%.0f,%.0f,%.0f", at, 60*revs, 3.6*g.RoadSpeedMS, shown, air.AmbientC)
		switch {
		case column == "":
		case fuel == circuit.Diesel:
			fmt.Fprintf(&b, ",%.2f", power/fuelHeat/density*3600)
		default:
			fmt.Fprintf(&b, ",%.2f", power/fuelHeat*airPerFuel*1000)
		}
		b.WriteByte('\n')
		wander = phi*wander + wanderSD*math.Sqrt(1-phi*phi)*rng.NormFloat64()
	}
	stages := run.Stages(every)
	row(&stages[0], c.IdleFuelPower)
	for i := range stages {
		g := stages[i]
		v := g.RoadSpeedMS
		if g.Grade == 0 { // getting under way takes fuel too
			g.Grade = max(-0.12, min(0.12, (v-last)/g.Seconds/circuit.Gravity))
		}
		last = v
		force := c.VehicleMass*circuit.Gravity*(c.RollingResistance+g.Grade) + 0.6*c.DragArea*v*v
		idle := c.IdleFuelPower
		if g.EngineRevPerSec > 0 {
			idle *= g.EngineRevPerSec / c.IdleSpeed
		}
		g.FuelKnown = true
		g.FuelPowerW = max(idle, force*v/c.IndicatedEfficiency+idle)
		solver.Run(c, air, &state, []circuit.Stage{g}, 0, nil)
		at += g.Seconds
		row(&g, g.FuelPowerW)
	}
	return b.Bytes()
}
