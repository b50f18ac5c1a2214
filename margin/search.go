package margin

import (
	"math"

	"weephole/circuit"
)

// Margin is how much cooling one engine has left in one duty.
type Margin struct {
	// HighestC is the highest outside air, degC, at which it stays at or below its
	// limit. Where Beyond is not 0 it is the end of what was looked at.
	HighestC float64
	// Beyond is -1 for an engine that passes its limit in any air, +1 for one that
	// does in none, within lowest-air to highest-air.
	Beyond int
	// Day is the engine held in the air of the day that was asked for, and AtLimit
	// the last run of the search.
	Day, AtLimit Held
	// ByMetal tells that the metal's limit is met before the coolant boils.
	ByMetal bool
	Runs    int // held runs that it took
}

// mostRuns ends a search that does not close in: design choice, three times what
// engines were seen to need.
const mostRuns = 16

// Highest looks for the highest air in which the circuit can be driven in the duty.
// It begins at the day's air and goes one kelvin of air for one of coolant, which
// is right once the thermostat is open. When the limit is bracketed it goes on by
// false position with the Illinois rule.
func (h *Holder) Highest(c *circuit.Circuit, d *Duty, altitudeM, dayC float64) Margin {
	r := h.prepare(c, d, altitudeM)
	lowest, highest := h.k.LowestAir.Value, h.k.HighestAir.Value
	at := min(max(dayC, lowest), highest)
	var m Margin
	var cool, hot struct{ air, over float64 } // last point on each side
	coolKnown, hotKnown, side := false, false, 0
	for {
		now := h.hold(&r, at)
		if r.runs == 1 {
			m.Day = now
		}
		over := now.OverK()
		m.AtLimit, m.ByMetal, m.HighestC, m.Runs = now, now.ByMetal(), at, r.runs
		switch {
		case math.Abs(over) <= h.k.SearchWithin.Value || r.runs >= mostRuns:
			m.HighestC = min(max(at-over, lowest), highest)
			return m
		case over < 0 && at >= highest:
			m.Beyond = +1
			return m
		case over > 0 && at <= lowest:
			m.Beyond = -1
			return m
		case over < 0:
			if side < 0 && hotKnown {
				hot.over /= 2
			}
			cool.air, cool.over, coolKnown, side = at, over, true, -1
		default:
			if side > 0 && coolKnown {
				cool.over /= 2
			}
			hot.air, hot.over, hotKnown, side = at, over, true, +1
		}
		if coolKnown && hotKnown {
			at = cool.air + (hot.air-cool.air)*cool.over/(cool.over-hot.over)
			if hot.air-cool.air < h.k.SearchWithin.Value {
				m.HighestC = cool.air // a jump: the limit is passed between the two
				return m
			}
		} else {
			at = min(max(at-over, lowest), highest)
		}
	}
}
