package circuit

import (
	"math"
	"testing"
)

// stored is the heat in the circuit over 0 degC, J.
func (s *Solver) stored(y *vector) float64 {
	p := &s.p
	return p.metalCap*y[iMetal] + p.blockCap*y[iBlock] + p.coolantCap*y[iCoolant] +
		p.cellCap*(y[iCell1]+y[iCell2]+y[iCell3])
}

// Heat in less heat out is heat stored. The ledger is the step's own
// quadrature, so it closes as well as the temperatures are known: a fine run
// to 1e-3 of the heat burned, and, as the tolerance goes down, to 1e-4.
func TestHeatBalanceCloses(t *testing.T) {
	table := defaultTable(t)
	kinds := map[string]func(*Circuit){
		"electric fan":     func(*Circuit) {},
		"viscous fan":      func(c *Circuit) { c.FanKind = FanViscous },
		"inlet thermostat": func(c *Circuit) { c.ThermostatOnInlet = true },
		"fan reversed":     func(c *Circuit) { c.FanDirection = -1 },
	}
	stages := []Stage{{Seconds: 900, Blower: 1}, {Seconds: 600, RoadSpeedMS: 14, EngineRevPerSec: 25},
		{Seconds: 480, RoadSpeedMS: 28, EngineRevPerSec: 46, Grade: 0.05}, {Seconds: 600, AirCon: true}, {Seconds: 600, EngineOff: true}}
	for name, change := range kinds {
		t.Run(name, func(t *testing.T) {
			for _, k := range []struct{ tolerance, want float64 }{{0.2, 1e-3}, {0.002, 1e-4}} {
				c := table.Typical(Vehicle{})
				change(&c)
				cond := Conditions{AmbientC: 25}
				s := &Solver{tol: k.tolerance, longest: 60}
				st := Soaked(&c, cond)
				s.Run(&c, cond, &st, stages[:1], 0, nil) // fills in the heat capacities
				st = Soaked(&c, cond)
				before := s.stored(&st.y)
				s.Run(&c, cond, &st, stages, 0, nil)
				gap := math.Abs(s.heatIn-s.heatOut-(s.stored(&st.y)-before)) / s.heatIn
				t.Logf("tolerance %g K: gap %.1e of the heat", k.tolerance, gap)
				if gap > k.want {
					t.Errorf("tolerance %g K: gap is %.1e of the heat, want at most %.0e", k.tolerance, gap, k.want)
				}
			}
		})
	}
}

func TestLostCoolantIsWhatLeakedAndSteamedAway(t *testing.T) {
	c := defaultTable(t).Typical(Vehicle{})
	c.LeakArea, c.FanWorks = 4e-7, 0
	cond := Conditions{AmbientC: 30}
	s := NewSolver(Fine)
	st := Soaked(&c, cond)
	s.Run(&c, cond, &st, []Stage{{Seconds: 1500}, {Seconds: 1500, AirCon: true}}, 0, nil)
	lost := (st.start - st.fill) * c.CoolantVolume * s.p.density
	if st.leaked <= 0 || st.steamed <= 0 {
		t.Fatalf("leaked %g kg, steamed %g kg: the run should have done both", st.leaked, st.steamed)
	}
	if gap := math.Abs(lost - st.leaked - st.steamed); gap > 1e-4*lost {
		t.Errorf("lost %.6f kg, leaked %.6f and steamed %.6f kg", lost, st.leaked, st.steamed)
	}
}

func TestBoilingHoldsTheTemperatureAtTheCapsBoilingPoint(t *testing.T) {
	c := defaultTable(t).Typical(Vehicle{})
	c.MaxLift, c.LeakLift = 0, 0
	cond := Conditions{AmbientC: 30}
	s := NewSolver(Fine)
	st := StateAt(&c, cond, 85, 0.8)
	highest := 0.0
	s.Run(&c, cond, &st, []Stage{{Seconds: 900, AirCon: true}}, 5, func(_ float64, r *Snapshot) { highest = max(highest, r.CoolantC) })
	boil := s.p.boilingC(s.p.airPa + c.CapPressure*c.CapHold)
	// Source: circuit-numbers 1.9, about 127 degC at 15 psi for half and half.
	between(t, "boiling point, degC", boil, 125, 130)
	between(t, "highest over it, K", highest-boil, 0, 3)
	if st.steamed <= 0 {
		t.Error("nothing steamed away")
	}
}
