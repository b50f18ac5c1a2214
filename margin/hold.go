package margin

import (
	"math"

	"weephole/circuit"
	"weephole/coolant"
)

// BoilingC is the temperature at which the circuit's coolant boils at an altitude:
// its own mix under the pressure that its cap holds. A leak that opens below that
// temperature lets the pressure go, and the coolant boils as soon as it is open.
func BoilingC(c *circuit.Circuit, altitudeM float64) float64 {
	mix := c.Mix()
	air := coolant.PressureAtAltitudePa(altitudeM)
	tight := mix.BoilingC(c.HeldPa(air, math.Inf(-1)))
	if c.LeakArea <= 0 || c.LeakOpensC >= tight {
		return tight
	}
	return max(c.LeakOpensC, mix.BoilingC(c.HeldPa(air, math.Inf(1))))
}

// boiling is what BoilingC depends on, and what it gave.
type boiling struct {
	glycol, cap, hold, area, opensC, altitude float64
	propylene                                 bool
	atC                                       float64
}

// boilingC is BoilingC, remembered from one duty to the next.
func (h *Holder) boilingC(c *circuit.Circuit, altitudeM float64) float64 {
	now := boiling{c.GlycolVolumeFraction, c.CapPressure, c.CapHold, c.LeakArea, c.LeakOpensC, altitudeM, c.Propylene, h.boils.atC}
	if now != h.boils {
		now.atC = BoilingC(c, altitudeM)
		h.boils = now
	}
	return now.atC
}

// Held is an engine driven in one way until it no longer changes.
type Held struct {
	AirC      float64 // the weather's
	CoolantC  float64 // leaving the engine, the highest of the last minutes
	LowestC   float64 // the same, the lowest of the last minutes
	MetalC    float64 // head, the highest of the last minutes
	BoilingC  float64 // of its coolant
	MetalMaxC float64 // the metal's limit
	Lift      float64 // of the thermostat, the least of them, 0..1
	FanShare  float64 // of the fan, likewise
	HeatW     float64 // from the fuel to metal and coolant, at the end
	LostW     float64 // leaving the circuit, at the end
}

// OverK is how far the engine is beyond its limit, K; below 0 it is short of it.
func (h *Held) OverK() float64 { return max(h.CoolantC-h.BoilingC, h.MetalC-h.MetalMaxC) }

// ByMetal tells whether the metal is nearer to its limit than the coolant.
func (h *Held) ByMetal() bool { return h.MetalC-h.MetalMaxC > h.CoolantC-h.BoilingC }

// LimitingAmbientC is the limiting ambient temperature in the sense of SAE J1393,
// from a run in air of airC: the limit less the coolant plus the air, one kelvin for
// one. Our limit is the boiling point of this coolant under this cap.
func LimitingAmbientC(limitC, coolantC, airC float64) float64 { return limitC - coolantC + airC }

// AirToBoilC is the air-to-boil temperature in the sense of SAE J1393: the same
// with the boiling point of water at sea level, without pressure, as the limit.
func AirToBoilC(coolantC, airC float64) float64 { return waterBoilsC - coolantC + airC }

const waterBoilsC = 100.0 // of the standard's formula

// Holder drives engines. It is for one goroutine.
type Holder struct {
	k      *Criteria
	solver *circuit.Solver
	steady circuit.Steady
	stages []circuit.Stage
	boils  boiling
}

// NewHolder makes one.
func NewHolder(k *Criteria) *Holder {
	return &Holder{k: k, solver: circuit.NewSolver(circuit.Coarse)}
}

// Hold drives the circuit in a duty until it no longer changes, in air of airC. The
// level stays what it is at the start, and nothing boils: how far beyond its limit
// the engine would be stays to be seen.
func (h *Holder) Hold(c *circuit.Circuit, d *Duty, altitudeM, airC float64) Held {
	r := h.prepare(c, d, altitudeM)
	return h.hold(&r, airC)
}

// CoolantC is the coolant's temperature, at its highest, of a duty held in air of airC.
func (h *Holder) CoolantC(c *circuit.Circuit, d *Duty, altitudeM, airC float64) float64 {
	if len(d.Legs) > 1 {
		r := h.prepare(c, d, altitudeM)
		st := circuit.StateAt(&r.circ, circuit.Conditions{AmbientC: airC + d.GrilleAir, AltitudeM: altitudeM}, max(h.k.HoldStart.Value, airC), 1)
		r.state = &st
		now := h.rounds(&r, airC+d.GrilleAir)
		return now.CoolantC
	}
	circ := d.circuit(c, 1)
	h.stages = d.stages(h.stages[:0], &circ, Manner{})
	h.steady.Set(&circ, altitudeM, &h.stages[0])
	return h.steady.Coolant(airC + d.GrilleAir).CoolantC
}

// held is a duty made ready for one circuit.
type held struct {
	circ     circuit.Circuit
	duty     *Duty
	altitude float64
	boilingC float64
	state    *circuit.State // where the last run ended
}

func (h *Holder) prepare(c *circuit.Circuit, d *Duty, altitudeM float64) held {
	r := held{circ: d.circuit(c, 1), duty: d, altitude: altitudeM, boilingC: h.boilingC(c, altitudeM)}
	r.circ.LeakArea, r.circ.CapPressure, r.circ.CapHold = 0, h.k.NeverBoils.Value, 1
	if len(d.Legs) == 1 {
		// The slow metal takes hours to settle and has no part in where it settles.
		r.circ.BlockHeatCapacity = min(r.circ.BlockHeatCapacity, r.circ.MetalHeatCapacity)
	}
	return r
}

func (h *Holder) hold(r *held, airC float64) Held {
	grilleC := airC + r.duty.GrilleAir
	if r.state == nil {
		st := circuit.StateAt(&r.circ, circuit.Conditions{AmbientC: grilleC, AltitudeM: r.altitude}, max(h.k.HoldStart.Value, airC), 1)
		r.state = &st
	}
	return h.drive(r, grilleC, h.k.Settle.Value, h.k.ReadFor.Value)
}

// drive goes on from r.state in air of grilleC ahead of the car, and reads the last
// seconds.
func (h *Holder) drive(r *held, grilleC, settle, read float64) Held {
	cond := circuit.Conditions{AmbientC: grilleC, AltitudeM: r.altitude}
	if settle > 0 {
		h.fillStages(r, settle)
		h.solver.Run(&r.circ, cond, r.state, h.stages, 0, nil)
	}
	h.fillStages(r, read)
	out := Held{
		AirC: grilleC - r.duty.GrilleAir, BoilingC: r.boilingC, MetalMaxC: h.k.MetalLimit.Value,
		CoolantC: math.Inf(-1), LowestC: math.Inf(1), MetalC: math.Inf(-1), Lift: 1, FanShare: 1,
	}
	h.solver.Run(&r.circ, cond, r.state, h.stages, h.k.ReadEvery.Value, func(_ float64, now *circuit.Snapshot) {
		out.CoolantC, out.MetalC = max(out.CoolantC, now.CoolantC), max(out.MetalC, now.MetalC)
		out.LowestC = min(out.LowestC, now.CoolantC)
		out.Lift, out.FanShare = min(out.Lift, now.Lift), min(out.FanShare, now.FanShare)
		out.HeatW, out.LostW = now.HeatW, now.LostW
	})
	return out
}

// fillStages repeats the duty's legs for at least so many seconds; a single leg is
// driven in one piece.
func (h *Holder) fillStages(r *held, seconds float64) {
	h.stages = r.duty.stages(h.stages[:0], &r.circ, Manner{})
	if once := len(h.stages); once == 1 {
		h.stages[0].Seconds = seconds
	} else {
		for left := seconds - r.duty.period(); left > 0; left -= r.duty.period() {
			h.stages = append(h.stages, h.stages[:once]...)
		}
	}
}
