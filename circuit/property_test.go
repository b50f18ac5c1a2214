package circuit

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// drawn gives a random healthy circuit and surroundings.
func drawn(rt *rapid.T, table *Table) (Circuit, Conditions) {
	z := make([]float64, table.Dim())
	for i := range z {
		z[i] = rapid.Float64Range(-3, 3).Draw(rt, "z")
	}
	return table.Draw(Vehicle{}, z), Conditions{AmbientC: rapid.Float64Range(-15, 42).Draw(rt, "ambient")}
}

// settled runs the engine on stage until the temperatures have settled.
func settled(c *Circuit, cond Conditions, stage Stage) float64 {
	s := NewSolver(Coarse)
	st := StateAt(c, cond, 85, 1)
	stage.Seconds = 2400
	s.Run(c, cond, &st, []Stage{stage}, 0, nil)
	stage.Seconds = 600
	sum, n := 0.0, 0.0
	s.Run(c, cond, &st, []Stage{stage}, 5, func(_ float64, r *Snapshot) { sum, n = sum+r.CoolantC, n+1 })
	return sum / n
}

// A fault that can only take cooling away may not cool. The valve may come to
// rest anywhere in its hysteresis, and the fan may be caught at either end of
// a cycle; the slack is for those.
func TestLessCoolingNeverCools(t *testing.T) {
	table := defaultTable(t)
	climb := Stage{RoadSpeedMS: 20, EngineRevPerSec: 55, Grade: 0.05}
	cases := map[string]struct {
		stage  Stage
		change func(c *Circuit, share float64)
	}{
		"more of the face blocked":   {climb, func(c *Circuit, x float64) { c.FaceBlocked = 0.8 * x }},
		"more tubes dead":            {climb, func(c *Circuit, x float64) { c.TubesBlocked = 0.8 * x }},
		"a valve that opens less":    {climb, func(c *Circuit, x float64) { c.MaxLift = 1 - 0.9*x }},
		"more heat":                  {climb, func(c *Circuit, x float64) { c.ExcessHeatFactor = 1 + x }},
		"a weaker fan at idle":       {Stage{AirCon: true}, func(c *Circuit, x float64) { c.FanWorks = 1 - x }},
		"less of a shroud at idle":   {Stage{AirCon: true}, func(c *Circuit, x float64) { c.ShroudShare *= 1 - 0.8*x }},
		"a weaker pump on the climb": {climb, func(c *Circuit, x float64) { c.PumpHead *= 1 - 0.97*x }},
	}
	for name, k := range cases {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(rt *rapid.T) {
				c, cond := drawn(rt, table)
				c.CapPressure = 9e5 // compare without boiling
				a := rapid.Float64Range(0, 1).Draw(rt, "a")
				b := rapid.Float64Range(0, 1).Draw(rt, "b")
				lesser, greater := c, c
				k.change(&lesser, min(a, b))
				k.change(&greater, max(a, b))
				cool, hot := settled(&lesser, cond, k.stage), settled(&greater, cond, k.stage)
				slack := 1 + c.Hysteresis + settleSlack
				if hot < cool-slack {
					rt.Fatalf("settles at %.2f degC with %.3f and at %.2f with %.3f", cool, min(a, b), hot, max(a, b))
				}
			})
		})
	}
}

const settleSlack = 0.5 // K

func TestEverythingStaysFiniteWhateverIsWrong(t *testing.T) {
	table := defaultTable(t)
	d := NewDrill(Coarse)
	rapid.Check(t, func(rt *rapid.T) {
		c, cond := drawn(rt, table)
		cond.HeaterOn = rapid.Bool().Draw(rt, "heater")
		cond.AltitudeM = rapid.Float64Range(0, 3500).Draw(rt, "altitude")
		share := func(name string) float64 { return rapid.Float64Range(0, 1).Draw(rt, name) }
		c.MaxLift, c.MinLift = share("max lift"), 0
		c.TubesBlocked, c.FaceBlocked = share("tubes"), share("face")
		c.FanWorks, c.CapHold = share("fan"), share("cap")
		c.PumpHead *= share("pump")
		c.Fill = 0.3 + 0.7*share("fill")
		c.TrappedAir = 0.2 * share("air")
		c.BeltSlip, c.LowerHoseCollapse, c.JacketScale = share("belt"), share("hose"), share("scale")
		c.LeakArea = 5e-6 * share("leak")
		c.CombustionGas, c.CombustionAtIdle = 5e-3*share("gas"), share("idle gas")
		c.ExcessHeatFactor = 1 + share("heat")
		if rapid.Bool().Draw(rt, "reversed") {
			c.FanDirection = -1
		}
		var rec Record
		d.Run(&c, cond, AllSituations(), &rec)
		for _, s := range Situations() {
			if s == ColdSoak {
				continue
			}
			for _, p := range []Place{Coolant, SensorMean, MetalMean, UpperHose, LowerHose, Pressure, LevelNow, RadiatorFlow} {
				x := rec.At(Observable{s, p})
				if math.IsNaN(x) || math.IsInf(x, 0) {
					rt.Fatalf("%v is %v", Observable{s, p}, x)
				}
			}
			if x := rec.At(Observable{s, Coolant}); x < cond.AmbientC-2 || x > 175 {
				rt.Fatalf("%v coolant is %.1f degC at %.1f ambient", s, x, cond.AmbientC)
			}
			if x := rec.At(Observable{s, LevelNow}); x < 0 || x > 1 {
				rt.Fatalf("%v level is %.3f", s, x)
			}
			if x := rec.At(Observable{s, Pressure}); x < -1 || x > c.CapPressure+1 {
				rt.Fatalf("%v pressure is %.0f Pa under a cap of %.0f", s, x, c.CapPressure)
			}
		}
	})
}

func TestEveryNumberIsMonotoneInItsOwnDeviateAndStaysInItsRange(t *testing.T) {
	table := defaultTable(t)
	rapid.Check(t, func(rt *rapid.T) {
		z := make([]float64, table.Dim())
		for i := range z {
			z[i] = rapid.Float64Range(-4, 4).Draw(rt, "z")
		}
		i := rapid.IntRange(0, table.Dim()-1).Draw(rt, "which")
		v := Vehicle{DisplacementM3: 1.6e-3, PowerW: 80e3}
		low := table.Draw(v, z)
		z[i] += rapid.Float64Range(0.01, 2).Draw(rt, "more")
		high := table.Draw(v, z)
		drawnRows := 0
		for _, row := range table.Rows() {
			x := low.Number(row.Name)
			if x == nil {
				if row.Spread != Fixed {
					drawnRows++
				}
				continue
			}
			y := high.Number(row.Name)
			if row.Spread == Fixed {
				continue
			}
			if drawnRows == i && *y < *x {
				rt.Fatalf("%s falls from %g to %g as its deviate rises", row.Name, *x, *y)
			}
			if row.From == "" && row.Unit != "L" && (*x < row.Low-1e-9*math.Abs(row.Low) || *x > row.High+1e-9*math.Abs(row.High)) {
				rt.Fatalf("%s is %g, outside %g to %g", row.Name, *x, row.Low, row.High)
			}
			drawnRows++
		}
	})
}
