package paper_test

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"strings"
	"testing"

	"weephole/circuit"
	"weephole/lineup"
)

var remake = flag.Bool("remake-logs", false, "simulate the logs of the test's jobs again")

// The logs of the test's job are simulated: an invented car whose thermostat
// hardly opens, idling from cold before and after the repair.
func TestMain(m *testing.M) {
	flag.Parse()
	if *remake {
		if err := makeLogs(); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
	}
	os.Exit(m.Run())
}

func makeLogs() error {
	m, err := lineup.DefaultModel()
	if err != nil {
		return err
	}
	for _, log := range []struct {
		name     string
		severity float64
	}{{"before", 0.95}, {"after", -1}} {
		electric := circuit.FanElectric
		c := m.Table.Typical(circuit.Vehicle{DisplacementM3: 0.0018, ThermostatC: new(82.0), FanKind: &electric, CoolantVolumeM3: 0.0065})
		if log.severity >= 0 {
			m.Causes.Cause("thermostat-shut").Apply(log.severity, nil, &c)
		}
		cond := circuit.Conditions{AmbientC: 24}
		st := circuit.Soaked(&c, cond)
		rng := rand.New(rand.NewPCG(9, 1))
		var b strings.Builder
		b.WriteString("Time (s),Engine RPM (rpm),Vehicle speed (km/h),Coolant temperature (°C),Ambient air temperature (°C)\n")
		b.WriteString(fmt.Sprintf("0,%.0f,0,%.0f,24\n", 60*c.IdleSpeed, cond.AmbientC))
		at := 0
		circuit.NewSolver(circuit.Fine).Run(&c, cond, &st, []circuit.Stage{{Seconds: 1500}}, 2, func(_ float64, r *circuit.Snapshot) {
			if at += 2; at > 1500 {
				return
			}
			fmt.Fprintf(&b, "%d,%.0f,0,%.0f,24\n", at, 60*c.IdleSpeed+5*rng.NormFloat64(), math.Round(r.SensorC+0.4*rng.NormFloat64()))
		})
		if err := os.WriteFile("testdata/"+log.name+".csv", []byte(b.String()), 0o644); err != nil {
			return err
		}
	}
	return nil
}
