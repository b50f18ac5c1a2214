package circuit_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"weephole/circuit"
)

// The air that Steady gives is the one in which the integrated circuit comes to rest
// at that temperature, wherever valve and fan have nothing left to regulate.
func TestSteadyIsWhereALongRunEnds(t *testing.T) {
	table, err := circuit.DefaultTable()
	if err != nil {
		t.Fatal(err)
	}
	var steady circuit.Steady
	solver := circuit.NewSolver(circuit.Fine)
	rapid.Check(t, func(t *rapid.T) {
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed of the car"), 0))
		z := make([]float64, table.Dim())
		for i := range z {
			z[i] = rng.NormFloat64()
		}
		c := table.Draw(circuit.Vehicle{}, z)
		c.CapPressure, c.CapHold = 6e6, 1
		c.BlockHeatCapacity = c.MetalHeatCapacity // slow metal takes hours, and no part in where it ends
		c.TubesBlocked = rapid.Float64Range(0, 0.8).Draw(t, "tubes")
		c.FaceBlocked = rapid.Float64Range(0, 0.7).Draw(t, "face")
		c.MaxLift = rapid.Float64Range(0.05, 1).Draw(t, "lift")
		c.TrappedAir = rapid.Float64Range(0, 0.05).Draw(t, "gas")
		stage := circuit.Stage{Seconds: 7200, AirCon: rapid.Bool().Draw(t, "air conditioning"), Blower: rapid.SampledFrom([]float64{0, 1}).Draw(t, "blower")}
		if speed := rapid.SampledFrom([]float64{0, 15, 33}).Draw(t, "speed"); speed > 0 {
			stage.RoadSpeedMS, stage.Grade = speed, rapid.Float64Range(0, 0.07).Draw(t, "grade")
			stage.EngineRevPerSec = 50
		}
		const at = 125.0
		steady.Set(&c, 0, &stage)
		rest := steady.Air(at)
		if rest.AirC < -60 || rest.FanShare < 1 {
			t.Skip("no weather is so cold, or the fan still regulates")
		}
		cond := circuit.Conditions{AmbientC: rest.AirC}
		st := circuit.StateAt(&c, cond, at, 1)
		solver.Run(&c, cond, &st, []circuit.Stage{stage}, 0, nil)
		if gap := st.CoolantC() - at; math.Abs(gap) > 0.3 {
			t.Fatalf("in air of %.2f degC the coolant comes to rest at %.2f degC, not %.0f: %+v", rest.AirC, st.CoolantC(), at, rest)
		}
	})
}

func BenchmarkSteady(b *testing.B) {
	table, err := circuit.DefaultTable()
	if err != nil {
		b.Fatal(err)
	}
	c := table.Typical(circuit.Vehicle{})
	stage := circuit.Stage{RoadSpeedMS: 22, EngineRevPerSec: 58, Grade: 0.07, AirCon: true}
	var s circuit.Steady
	for b.Loop() {
		s.Set(&c, 0, &stage)
		s.Air(125)
	}
}
