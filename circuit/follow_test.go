package circuit

import (
	"math"
	"testing"
)

// Following a log must end each stage where separate runs of its stages end it,
// within what the coarse solver errs: the flows start from the last ones found.
func TestFollowingALogAgreesWithRunningItsStagesOneByOne(t *testing.T) {
	c := measuredCar(t)
	cond := Conditions{AmbientC: 15}
	var stages []Stage
	for i := range 90 {
		s := Stage{Seconds: 20, EngineRevPerSec: 30, RoadSpeedMS: 15 + 10*math.Sin(float64(i)/7)}
		if i%9 == 8 {
			s.RoadSpeedMS, s.EngineRevPerSec = 0, 13
		}
		stages = append(stages, s)
	}
	alone, along := Soaked(&c, cond), Soaked(&c, cond)
	one, other := NewSolver(Coarse), NewSolver(Coarse)
	var want []float64
	for i := range stages {
		one.Run(&c, cond, &alone, stages[i:i+1], 0, nil)
		want = append(want, alone.SensorC())
	}
	other.Follow(&c, cond, &along, stages, func(i int) {
		if got := along.SensorC(); math.Abs(got-want[i]) > 0.5 {
			t.Errorf("stage %d: %.2f °C, one by one %.2f °C", i, got, want[i])
		}
	})
}
