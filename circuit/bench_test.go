package circuit

import "testing"

var tolerances = []struct {
	name string
	of   Tolerance
}{{"fine", Fine}, {"coarse", Coarse}}

// BenchmarkThirtyMinutes is one idle from cold to hot with the fan cycling.
func BenchmarkThirtyMinutes(b *testing.B) {
	c, cond := measuredCar(b), Conditions{AmbientC: 30}
	start, stages := Soaked(&c, cond), []Stage{{Seconds: 1800}}
	for _, tolerance := range tolerances {
		b.Run(tolerance.name, func(b *testing.B) {
			s := NewSolver(tolerance.of)
			b.ReportAllocs()
			for b.Loop() {
				st := start
				s.Run(&c, cond, &st, stages, 0, nil)
			}
			b.ReportMetric(float64(s.steps), "steps")
		})
	}
}

// BenchmarkDrill is all situations: 1 h 50 min of simulated running.
func BenchmarkDrill(b *testing.B) {
	c, cond := measuredCar(b), Conditions{AmbientC: 30}
	for _, tolerance := range tolerances {
		b.Run(tolerance.name, func(b *testing.B) {
			d := NewDrill(tolerance.of)
			var rec Record
			b.ReportAllocs()
			for b.Loop() {
				d.Run(&c, cond, AllSituations(), &rec)
			}
		})
	}
}

// BenchmarkDraw is one draw of all numbers.
func BenchmarkDraw(b *testing.B) {
	table := defaultTable(b)
	z := make([]float64, table.Dim())
	for b.Loop() {
		table.Draw(Vehicle{}, z)
	}
}
