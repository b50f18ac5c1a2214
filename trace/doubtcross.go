package trace

import (
	"fmt"
	"math"

	"weephole/trace/internal/stat"
)

// doubtTogether holds the signals against each other. It only doubts: a person
// sees at once what is right.
func (g *gatherer) doubtTogether(t *Trace) {
	doubt := func(what, why string, args ...any) {
		g.say(Assumption{What: what, Why: fmt.Sprintf(why, args...), Doubt: true})
	}
	lim := &doubts().Together
	n, v, air := t.Signals[EngineSpeed], t.Signals[RoadSpeed], t.Signals[AirFlow]
	if n != nil && v != nil {
		rolling, still := 0, 0
		for i := range v {
			if v[i] > lim.DriveWithout.Value {
				rolling++
				if n[i] < StoppedRevs {
					still++
				}
			}
		}
		if rolling > int(lim.DriveRows.Value) && still*int(lim.StillOneIn.Value) > rolling {
			doubt("engine-speed may be another column", "it reads below 180 rpm for %d of %d s on the road; a hybrid does that, another car does not", still, rolling)
		}
	}
	if n != nil && air != nil {
		var per []float64
		for i := range air {
			if n[i] > lim.AirRevs.Value {
				per = append(per, air[i]/n[i])
			}
		}
		least, most := lim.AirATurnLeast.Value, lim.AirATurnMost.Value
		if m := stat.Median(per); len(per) > int(lim.RowsLeast.Value) && (m < least || m > most) {
			doubt("air-flow may be in another unit", "it makes %.3g g for each turn of the engine; engines take %.2g to %.2g", m*1000, least*1000, most*1000)
		}
	}
	if p, b := t.Signals[ManifoldPressure], t.Signals[Barometer]; p != nil && b != nil {
		manifold := &doubts().Pressure
		if rest := stat.Quantile(stat.Known(p), manifold.RestShare.Value); rest > manifold.AboveAir.Value*stat.Median(b) {
			doubt("manifold-pressure may be in another unit", "it never falls below %.0f kPa, and the air outside has %.0f", rest/1000, stat.Median(b)/1000)
		}
	}
	g.doubtRunTime(t, doubt)
	g.doubtStart(t, doubt)
}

// doubtRunTime compares the run time with the clock.
func (g *gatherer) doubtRunTime(t *Trace, doubt func(what, why string, args ...any)) {
	run := t.Signals[RunTime]
	if run == nil || len(t.Drives) > 1 {
		return
	}
	lim := &doubts().Together
	if r := ratioOf(t.Time, run); r < lim.RunTimeLeast.Value || r > lim.RunTimeMost.Value {
		doubt("the clock and the run time do not agree", "the run time moves on by %.3g s for each second of the clock", r)
	}
}

// doubtStart compares the first coolant with the other temperatures and tells
// of a reading that means an open circuit.
func (g *gatherer) doubtStart(t *Trace, doubt func(what, why string, args ...any)) {
	c, lim := t.Signals[Coolant], &doubts().Coolant
	if k := stat.Known(c); stat.Quantile(k, lim.OpenShare.Value) <= lim.OpenCircuit.Value {
		doubt("coolant reads -40 °C throughout", "that is what an open sensor circuit reads, or a logger that gets no answer")
	}
	first := nan
	for _, x := range c {
		if !math.IsNaN(x) {
			first = x
			break
		}
	}
	for _, s := range []Signal{IntakeAir, Ambient} {
		k := stat.Known(t.Signals[s])
		if air := stat.Quantile(k, 0.5); first < lim.ColdStart.Value && air > first+lim.IntakeColder.Value {
			doubt(fmt.Sprintf("coolant or %s may be in another unit", s), "coolant starts at %.0f °C, and %s is mostly near %.0f °C", first, s, air)
		}
	}
}
