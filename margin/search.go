package margin

import "weephole/circuit"

// Margin is how much cooling one engine has left in one duty.
type Margin struct {
	// HighestC is the highest outside air, degC, at which it stays at or below its
	// limit. Where Beyond is not 0 it is the end of what is looked at.
	HighestC float64
	// Beyond is -1 for an engine that passes its limit in any air, +1 for one that
	// does in none, within lowest-air to highest-air.
	Beyond int
	// LimitC is what the coolant, or the metal where ByMetal, must not pass, and
	// RiseK by how much it stands over the weather's air when it is there.
	LimitC, RiseK float64
	BoilingC      float64
	// ByMetal tells that the metal's limit is met before the coolant boils.
	ByMetal bool
	// Lift and FanShare are those of valve and fan at the limit; of a duty with
	// stops, where it drives.
	Lift, FanShare float64
}

// set fills in what follows from the air at which a limit is met.
func (m *Margin) set(limitC, airC float64, k *Criteria) {
	m.LimitC, m.RiseK, m.Beyond = limitC, limitC-airC, 0
	lowest, highest := k.LowestAir.Value, k.HighestAir.Value
	m.HighestC = min(max(airC, lowest), highest)
	switch {
	case airC <= lowest:
		m.Beyond = -1
	case airC >= highest:
		m.Beyond = +1
	}
}

// Highest looks for the highest air in which the circuit can be driven in the duty.
// In a duty of one leg nothing changes at the limit, and the air follows from the heat
// balance there ([circuit.Steady]). A duty with stops is driven.
func (h *Holder) Highest(c *circuit.Circuit, d *Duty, altitudeM float64) Margin {
	if len(d.Legs) > 1 {
		return h.round(c, d, altitudeM)
	}
	m := Margin{BoilingC: h.boilingC(c, altitudeM)}
	circ := d.circuit(c, 1)
	h.stages = d.stages(h.stages[:0], &circ, Manner{})
	h.steady.Set(&circ, altitudeM, &h.stages[0])
	rest := h.steady.Air(m.BoilingC)
	limitC := m.BoilingC
	if most := h.k.MetalLimit.Value; rest.MetalC > most {
		m.ByMetal, limitC = true, most
		rest = h.metalAt(most, rest.CoolantC)
	}
	m.Lift, m.FanShare = rest.Lift, rest.FanShare
	m.set(limitC, rest.AirC-d.GrilleAir, h.k)
	return m
}

// metalAt looks for the rest with the metal at mostC, from a coolant at which it is
// hotter: first down to where the metal is cool enough, then by halving. Where a valve
// that closes keeps the metal hot, no air is cold enough.
func (h *Holder) metalAt(mostC, coolantC float64) circuit.Rest {
	high := coolantC
	coldest := h.k.LowestAir.Value - h.k.SearchBeyond.Value
	for {
		low := high - h.k.MetalStep.Value
		rest := h.steady.Air(low)
		if rest.AirC < coldest || low < coldest {
			rest.AirC = coldest
			return rest
		}
		if rest.MetalC > mostC {
			high = low
			continue
		}
		for high-low > h.k.MetalWithin.Value {
			middle := 0.5 * (low + high)
			if rest = h.steady.Air(middle); rest.MetalC > mostC {
				high = middle
			} else {
				low = middle
			}
		}
		return h.steady.Air(low)
	}
}
