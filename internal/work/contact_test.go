package work_test

import (
	"context"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"weephole/lineup"
	"weephole/trace"
)

// A contact that opens and closes in the log of a sound car: the sensor or its
// wiring has to be named at 90 of 100 and more, and the thermostat never blamed.
// The open logs of a healthy car are spoilt at random: single rows and bursts
// that read far too cold. Four always; with WEEPHOLE_ALL=1 fifty-two.
func TestALooseContactIsNamedAndNoThermostatBlamed(t *testing.T) {
	m := model(t)
	files := openLogs(t)
	ways := 4
	if os.Getenv("WEEPHOLE_ALL") == "" {
		files, ways = []string{files[0], files[3], files[6], files[9]}, 1
	}
	for i, f := range files {
		for way := range ways {
			tr := openLog(t, f)
			loosen(tr.Signals[trace.Coolant], rand.New(rand.NewPCG(uint64(i), uint64(way))))
			cs := tripOf(m, tr)
			cs.Brought = true
			l, err := lineup.New(context.Background(), m, cs, lineup.DrawOptions{Candidates: 3000, Seed: 1})
			if err != nil {
				t.Fatal(err)
			}
			odds := make(map[string]float64)
			for _, c := range l.Odds().Causes {
				odds[c.Cause] = c.Present
			}
			sensor := odds["sensor-low"] + odds["sensor-high"] + odds["gauge-fault"]
			thermostat := math.Max(odds["thermostat-open"], math.Max(odds["thermostat-shut"], odds["thermostat-late"]))
			t.Logf("%s, %d: sensor %.2f, worst thermostat %.2f", filepath.Base(f), way, sensor, thermostat)
			if sensor < 0.9 {
				t.Errorf("%s, %d: sensor or its wiring %.2f, want 0.90", filepath.Base(f), way, sensor)
			}
			if thermostat > 0.3 {
				t.Errorf("%s, %d: a good thermostat is blamed with %.2f", filepath.Base(f), way, thermostat)
			}
		}
	}
}

// loosen makes the contact of a sensor open at random, for one row or a burst: an
// open circuit reads far too cold.
func loosen(coolant []float64, rng *rand.Rand) {
	chance := 40 / float64(len(coolant))
	for i := 0; i < len(coolant); i++ {
		if rng.Float64() < chance {
			for n := 1 + rng.IntN(4); n > 0 && i < len(coolant); n-- {
				coolant[i] -= 20 + 40*rng.Float64()
				i++
			}
		}
	}
}
