package margin

import (
	"math"

	"weephole/circuit"
)

// round looks for the highest air of a duty that comes round again and again. It starts
// near where the mean of the legs would be at rest. It drives a few rounds, and moves the
// air by what the hottest moment is over the limit. As long as valve and fan have nothing
// to regulate, every kelvin of air is one of coolant. From two points on it goes on by
// the secant.
func (h *Holder) round(c *circuit.Circuit, d *Duty, altitudeM float64) Margin {
	r := h.prepare(c, d, altitudeM)
	m := Margin{BoilingC: r.boilingC}
	h.stages = d.stages(h.stages[:0], &r.circ, Manner{})
	air, block, seconds := 0.0, 0.0, 0.0
	var rest circuit.Rest
	for i := range h.stages {
		st := &h.stages[i]
		h.steady.Set(&r.circ, altitudeM, st)
		at := h.steady.Air(m.BoilingC)
		air, block, seconds = air+at.AirC*st.Seconds, block+at.BlockC*st.Seconds, seconds+st.Seconds
		if st.RoadSpeedMS > 0 {
			rest = at
		}
	}
	air, rest.BlockC = air/seconds, block/seconds
	m.Lift, m.FanShare = rest.Lift, rest.FanShare
	air = max(air, h.k.LowestAir.Value-h.k.SearchBeyond.Value)
	st := circuit.Settled(&r.circ, circuit.Conditions{AmbientC: air, AltitudeM: altitudeM}, rest)
	r.state = &st
	var lastAir, lastOver float64
	slope := 1.0
	for try := range int(h.k.SearchesMost.Value) {
		now := h.rounds(&r, air)
		over := now.OverK()
		m.ByMetal = now.ByMetal()
		if try > 0 && math.Abs(air-lastAir) > h.k.SlopeFrom.Value {
			slope = min(max((over-lastOver)/(air-lastAir), h.k.SlopeLeast.Value), h.k.SlopeMost.Value)
		}
		limitC := m.BoilingC
		if m.ByMetal {
			limitC = h.k.MetalLimit.Value
		}
		next := air - over/slope
		if math.Abs(over) <= h.k.SearchWithin.Value || h.shiftsWhole(&r.circ, &now) || try == int(h.k.SearchesMost.Value)-1 || next < h.k.LowestAir.Value-h.k.SearchBeyond.Value {
			m.set(limitC, next-d.GrilleAir, h.k)
			return m
		}
		lastAir, lastOver, air = air, over, next
		r.state.Shift(-over / slope)
	}
	return m
}

// shiftsWhole tells whether nothing regulates in a run, nor would at the limit: then air
// and coolant differ by the same in any air. A sensor sees what the coolant is to some
// kelvin, and an electric fan that reads below its threshold may yet stop.
func (h *Holder) shiftsWhole(c *circuit.Circuit, now *Held) bool {
	if now.Lift < 1 || now.FanShare < 1 || c.FanKind == circuit.FanViscous {
		return false
	}
	lowest := min(now.LowestC, now.LowestC-now.OverK()) - h.k.SensorErrs.Value
	if lowest < c.OpeningC+c.OpeningSpan {
		return false
	}
	return c.FanKind != circuit.FanTwoSpeed || lowest > c.FanHighC
}

// rounds drives round after round in the air given at the grille until one is like the
// one before. What is still to come of a slow change is added by Aitken's rule: it
// falls by the same share in every round.
func (h *Holder) rounds(r *held, grilleC float64) Held {
	cond := circuit.Conditions{AmbientC: grilleC, AltitudeM: r.altitude}
	last, change := math.Inf(1), math.Inf(1)
	for n := range int(h.k.RoundsMost.Value) {
		h.fillStages(r, 0)
		peak := math.Inf(-1)
		h.solver.Follow(&r.circ, cond, r.state, h.stages, func(int) { peak = max(peak, r.state.CoolantC()) })
		was := change
		change, last = peak-last, peak
		if math.Abs(change) < h.k.RoundWithin.Value {
			break
		}
		if every := int(h.k.AddEvery.Value); n%every == every-1 {
			if q := change / was; q > 0 && q < h.k.AddBelow.Value {
				r.state.Shift(change * q / (1 - q))
				last, change = math.Inf(1), math.Inf(1)
			}
		}
	}
	return h.drive(r, grilleC, 0, r.duty.period())
}
