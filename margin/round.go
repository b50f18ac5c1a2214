package margin

import (
	"math"

	"weephole/circuit"
)

const (
	mostRounds   = 60   // numerical choice: a round no longer changes after some ten
	roundWithin  = 0.03 // K from round to round that counts as no change. Numerical choice
	mostSearches = 12   // numerical choice: two or three are enough
)

// round looks for the highest air of a duty that comes round again and again. It
// starts near where the mean of the legs would be at rest, drives a few rounds, and
// moves the air by what the hottest moment is over the limit: as long as valve and fan
// have nothing to regulate, every kelvin of air is one of coolant. From two points on
// it goes on by the secant.
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
	air = max(air, h.k.LowestAir.Value-searchedBeyond)
	st := circuit.Settled(&r.circ, circuit.Conditions{AmbientC: air, AltitudeM: altitudeM}, rest)
	r.state = &st
	var lastAir, lastOver float64
	slope := 1.0
	for try := range mostSearches {
		now := h.rounds(&r, air)
		over := now.OverK()
		m.ByMetal = now.ByMetal()
		if try > 0 && math.Abs(air-lastAir) > 0.05 {
			slope = min(max((over-lastOver)/(air-lastAir), 0.3), 3)
		}
		limitC := m.BoilingC
		if m.ByMetal {
			limitC = h.k.MetalLimit.Value
		}
		next := air - over/slope
		if math.Abs(over) <= h.k.SearchWithin.Value || shiftsWhole(&r.circ, &now) || try == mostSearches-1 || next < h.k.LowestAir.Value-searchedBeyond {
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
func shiftsWhole(c *circuit.Circuit, now *Held) bool {
	if now.Lift < 1 || now.FanShare < 1 || c.FanKind == circuit.FanViscous {
		return false
	}
	lowest := min(now.LowestC, now.LowestC-now.OverK()) - sensorErrs
	if lowest < c.OpeningC+c.OpeningSpan {
		return false
	}
	return c.FanKind != circuit.FanTwoSpeed || lowest > c.FanHighC
}

const sensorErrs = 5.0 // K, judgement: what a healthy sensor, a wax or an inlet's mixing may miss

// searchedBeyond is how far beyond the coldest weather a search goes on, K, so that an
// engine far beyond its limit is still told from one near to it. Numerical choice.
const searchedBeyond = 150.0

// rounds drives round after round in the air given at the grille until one is like the
// one before. What is still to come of a slow change is added by Aitken's rule: it
// falls by the same share in every round.
func (h *Holder) rounds(r *held, grilleC float64) Held {
	cond := circuit.Conditions{AmbientC: grilleC, AltitudeM: r.altitude}
	last, change := math.Inf(1), math.Inf(1)
	for n := range mostRounds {
		h.fillStages(r, 0)
		peak := math.Inf(-1)
		h.solver.Follow(&r.circ, cond, r.state, h.stages, func(int) { peak = max(peak, r.state.CoolantC()) })
		was := change
		change, last = peak-last, peak
		if math.Abs(change) < roundWithin {
			break
		}
		if n%3 == 2 {
			if q := change / was; q > 0 && q < 0.95 {
				r.state.Shift(change * q / (1 - q))
				last, change = math.Inf(1), math.Inf(1)
			}
		}
	}
	return h.drive(r, grilleC, 0, r.duty.period())
}
