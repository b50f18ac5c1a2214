package trace

import (
	"math"

	"weephole/trace/internal/stat"
)

// Segments cuts the trace into stretches of about `every` seconds during which
// what drives the engine is taken as constant, for driving a model along the
// log. A stretch ends early where the engine starts or stops, and at a break
// between drives, which becomes one stretch with the engine off. every below
// the trace's own step is raised to it.
func (t *Trace) Segments(every float64) []Segment {
	if len(t.Time) < 2 {
		return nil
	}
	if !(every > t.Step) {
		every = t.Step
	}
	off := func(i int) bool {
		n := t.Signals[EngineSpeed]
		return n != nil && n[i] < StoppedRevs
	}
	var out []Segment
	lim := &clocks().Drives
	longest, from := math.Max(lim.Break.Value, lim.BreakSteps.Value*t.Step), 0
	for i := 1; i <= len(t.Time); i++ {
		last := i == len(t.Time)
		if last && i-1 == from {
			break
		}
		end := i
		if last {
			end = i - 1
		}
		gap := !last && t.Time[i]-t.Time[i-1] > longest
		if !last && !gap && t.Time[i]-t.Time[from] < every-t.Step/2 && off(i) == off(from) {
			continue
		}
		if gap {
			if i-1 > from {
				out = append(out, t.segment(from, i-1, off(from)))
			}
			s := t.segment(i-1, i, true)
			s.EngineRevPerSec, s.RoadSpeedMS, s.AirFlowKgS, s.FuelRateKgS, s.Load = 0, 0, 0, 0, 0
			out = append(out, s)
		} else {
			out = append(out, t.segment(from, end, off(from)))
		}
		from = end
	}
	return out
}

// segment is the mean over rows from to to, the last not counted but for coolant.
func (t *Trace) segment(from, to int, off bool) Segment {
	avg := func(s Signal) float64 {
		x := t.Signals[s]
		if x == nil {
			return nan
		}
		return stat.Mean(x[from:max(to, from+1)])
	}
	c := nan
	for i := to; i > from && math.IsNaN(c); i-- {
		c = t.Signals[Coolant][i]
	}
	return Segment{
		Seconds: t.Time[to] - t.Time[from], EngineRevPerSec: avg(EngineSpeed), RoadSpeedMS: avg(RoadSpeed), AirFlowKgS: avg(AirFlow),
		FuelRateKgS: avg(FuelRate), Load: avg(Load), AmbientC: avg(Ambient), CoolantC: c, FanShare: avg(FanState), EngineOff: off,
	}
}
