//go:build unix

package margin_test

import (
	"runtime"
	"syscall"
	"testing"

	"weephole/circuit"
	"weephole/lineup"
	"weephole/margin"
)

// All 20,000 engines of a large lineup in five duties, as they are and with nothing
// wrong, on a lineup that is there. cpu-s/op is processor time, which other work on
// the machine does not lengthen.
func BenchmarkTwentyThousandEngines(b *testing.B) {
	m, err := lineup.DefaultModel()
	if err != nil {
		b.Fatal(err)
	}
	kind := circuit.FanElectric
	cs := lineup.Case{Vehicle: circuit.Vehicle{FanKind: &kind}, Shop: circuit.Conditions{AmbientC: 25}, Brought: true}
	l, err := lineup.New(b.Context(), m, cs, lineup.DrawOptions{Candidates: 20000, Seed: 1})
	if err != nil {
		b.Fatal(err)
	}
	k := criteria(b)
	k.Engines.Value = 20000
	runtime.GC()
	before := cpuSeconds(b)
	for b.Loop() {
		r, err := margin.Of(b.Context(), l, margin.Request{Criteria: k, DayC: 38, Seed: 1})
		if err != nil || r.Engines != 20000 {
			b.Fatal(r, err)
		}
	}
	b.ReportMetric((cpuSeconds(b)-before)/float64(b.N), "cpu-s/op")
}

func cpuSeconds(b *testing.B) float64 {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		b.Fatal(err)
	}
	return float64(u.Utime.Sec+u.Stime.Sec) + float64(u.Utime.Usec+u.Stime.Usec)/1e6
}
