package lineup_test

import (
	"context"
	"math"
	"math/rand/v2"
	"os"
	"testing"

	"weephole/circuit"
	"weephole/lineup"
	"weephole/lineup/lineuptest"
	"weephole/trace"
)

// simulatedLog is a run of forty minutes of a healthy engine as a logger would
// have it: town, road and idle from cold, read to a degree.
func simulatedLog(t testing.TB, m *lineup.Model, seed uint64) *lineup.Log {
	t.Helper()
	const step, ambient = 20.0, 12.0
	rng := rand.New(rand.NewPCG(seed, 3))
	z := make([]float64, m.Table.Dim())
	for i := range z {
		z[i] = 0.6 * rng.NormFloat64()
	}
	circ := m.Table.Draw(circuit.Vehicle{}, z)
	log := &lineup.Log{StartC: ambient, Soaked: 1}
	var stages []circuit.Stage
	for i := range 120 {
		speed, revs := 12.0, 28.0 // m/s, 1/s
		switch {
		case i%6 == 5 || i > 100:
			speed, revs = 0, 13
		case i > 50:
			speed, revs = 26, 40
		}
		stages = append(stages, circuit.Stage{Seconds: step, EngineRevPerSec: revs, RoadSpeedMS: speed, AmbientC: ambient, AmbientKnown: true})
		log.Segments = append(log.Segments, trace.Segment{
			Seconds: step, EngineRevPerSec: revs, RoadSpeedMS: speed, AmbientC: ambient,
			AirFlowKgS: math.NaN(), FuelRateKgS: math.NaN(), Load: math.NaN(), FanShare: math.NaN(),
		})
	}
	st := circuit.Soaked(&circ, circuit.Conditions{AmbientC: ambient})
	circuit.NewSolver(circuit.Coarse).Follow(&circ, circuit.Conditions{AmbientC: ambient}, &st, stages, func(i int) {
		log.Segments[i].CoolantC = math.Round(st.SensorC() + circ.SensorOffset + 0.5*rng.NormFloat64())
	})
	return log
}

// A reading that jumps from row to row comes from a contact or from the logger.
// The valve must not be blamed for it: forty jumps in forty minutes. One car always, three
// with WEEPHOLE_ALL=1; package internal/work asks the same of four logs of a real car.
func TestAReadingThatJumpsSpeaksForTheSensorsContact(t *testing.T) {
	m, err := lineuptest.Coarse()
	if err != nil {
		t.Fatal(err)
	}
	cars := uint64(1)
	if os.Getenv("WEEPHOLE_ALL") != "" {
		cars = 3
	}
	for seed := range cars {
		log := simulatedLog(t, m, seed)
		log.Jumps = 40
		cs := complaint(t, m, "lamp")
		cs.Events = append(cs.Events, lineup.Event{Check: "drive-log", Log: log})
		l, err := lineup.New(context.Background(), m, cs, lineup.DrawOptions{Candidates: 2500, Seed: 1})
		if err != nil {
			t.Fatal(err)
		}
		p, bad := l.Probabilities(), map[string]float64{}
		for _, c := range l.Odds().Causes {
			bad[c.Cause] = c.Present
		}
		at := func(id string) float64 { return p[m.Causes.Index(id)] }
		if sensor := bad["sensor-low"] + bad["sensor-high"]; sensor < 0.9 {
			t.Errorf("seed %d: sensor or its wiring bad %.2f, want 0.90", seed, sensor)
		}
		if at("thermostat-open") > 0.05 || at("thermostat-shut") > 0.05 {
			t.Errorf("seed %d: the valve is blamed: open %.2f, shut %.2f", seed, at("thermostat-open"), at("thermostat-shut"))
		}
	}
}

// A log in the wrong unit or of another engine is said to be strange before
// anything is made of it; a log of a car like this one is not.
func TestALogThatNoEngineMakesIsCalledStrange(t *testing.T) {
	m, err := lineuptest.Coarse()
	if err != nil {
		t.Fatal(err)
	}
	for _, test := range []struct {
		name    string
		spoil   func(i int, c float64) float64
		strange bool
	}{
		{"as it was", func(_ int, c float64) float64 { return c }, false},
		{"of another engine: hot and cold by turns of ten minutes", func(i int, c float64) float64 {
			if i/30%2 == 1 {
				return c - 45
			}
			return c
		}, true},
		{"fahrenheit read as celsius from the middle on", func(i int, c float64) float64 {
			if i > 60 {
				return 1.8*c + 32
			}
			return c
		}, true},
	} {
		t.Run(test.name, func(t *testing.T) {
			log := simulatedLog(t, m, 4)
			for i := range log.Segments {
				log.Segments[i].CoolantC = test.spoil(i, log.Segments[i].CoolantC)
			}
			l, err := lineup.New(context.Background(), m, lineup.Case{
				Shop: circuit.Conditions{AmbientC: 12}, OnTheRoad: circuit.Conditions{AmbientC: 12},
				Events: []lineup.Event{{Check: "warm-up-log", Log: log}},
			}, lineup.DrawOptions{Candidates: 1500, Seed: 1})
			if err != nil {
				t.Fatal(err)
			}
			if got := l.Odds().Fit.Logs; (len(got) > 0) != test.strange {
				t.Errorf("strange logs: %+v, want one: %v", got, test.strange)
			}
		})
	}
}
