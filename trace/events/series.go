package events

import (
	"math"

	"weephole/trace"
	"weephole/trace/internal/stat"
)

// SeriesOf makes one drive of a log ready for Of. The heat is the generic
// balance's (see the package comment); run a candidate along the same drive with
// the same heat and its numbers compare with the log's.
func SeriesOf(t *trace.Trace, d trace.Drive) Series {
	part := func(signals ...trace.Signal) []float64 {
		for _, s := range signals {
			if x := t.Signals[s]; x != nil {
				for _, v := range x[d.From:d.To] {
					if !math.IsNaN(v) {
						return x[d.From:d.To]
					}
				}
			}
		}
		return nil
	}
	s := Series{
		Time: t.Time[d.From:d.To], Coolant: part(trace.Coolant), RoadSpeed: part(trace.RoadSpeed),
		EngineSpeed: part(trace.EngineSpeed), Fan: part(trace.FanState, trace.FanCommand), IntakeAir: part(trace.IntakeAir),
	}
	if s.Coolant == nil {
		return s
	}
	s.Heat = heatOf(t, d.From, d.To, inDrive(t, d).Ambient).in
	return s
}

// Thin takes means over steps of about `every` seconds, so that a log compares
// with a run that was simulated in such steps. Coolant is taken at the end of
// each step, as a simulation gives it. Clean the coolant first: a mean over a
// jump is no reading. An engine that stands for most of a step stands.
func (s Series) Thin(every float64) Series {
	if len(s.Time) < 2 || !(every > 0) {
		return s
	}
	var ends []int
	from := 0
	for i := 1; i <= len(s.Time); i++ {
		if i == len(s.Time) || s.Time[i]-s.Time[from] >= every {
			ends = append(ends, i)
			from = i
		}
	}
	column := func(x []float64, last bool) []float64 {
		if x == nil {
			return nil
		}
		out := make([]float64, len(ends))
		a := 0
		for k, b := range ends {
			out[k] = stat.Mean(x[a:b])
			for i := b - 1; last && i >= a; i-- {
				if !math.IsNaN(x[i]) {
					out[k] = x[i]
					break
				}
			}
			a = b
		}
		return out
	}
	time := make([]float64, len(ends))
	for k, b := range ends {
		time[k] = s.Time[b-1]
	}
	return Series{
		Time: time, Coolant: column(s.Coolant, true), RoadSpeed: column(s.RoadSpeed, false), EngineSpeed: column(s.EngineSpeed, false),
		Heat: column(s.Heat, false), Fan: column(s.Fan, false), IntakeAir: column(s.IntakeAir, false),
	}
}

// NumbersOf are the numbers of one drive of a log.
func NumbersOf(t *trace.Trace, d trace.Drive) RunNumbers { return Of(SeriesOf(t, d)) }
