package lineup

import (
	"weephole/cause"
	"weephole/circuit"
)

// Engine is one candidate of a weighed lineup laid open, for what comes after
// the findings: the repair, and the run that is to prove it.
type Engine struct {
	Weight float64         // share of the lineup's weight, 0..1; all engines' sum to 1
	Faults []cause.Present // present now, after the repairs of the case; none when healthy

	draw *drawer
	cand *candidate
}

// Engines lays the weighed lineup open. Engines of no weight are left out; the order is the same for the same seed.
func (l *Lineup) Engines() []Engine {
	p := l.pop
	out := make([]Engine, 0, p.size())
	for i := range p.cands {
		if p.weights[i] <= 0 {
			continue
		}
		f := &p.now[i]
		out = append(out, Engine{
			Weight: p.weights[i], Faults: append([]cause.Present(nil), f.present()...),
			draw: l.draw, cand: &p.cands[i],
		})
	}
	return out
}

// Circuit is the engine's cooling circuit with the given causes acting instead
// of its own; none gives the engine as it would be with nothing wrong.
func (e *Engine) Circuit(with ...cause.Present) circuit.Circuit {
	circ := e.draw.model.Table.Draw(e.draw.vehicle, e.cand.z[:e.draw.dim])
	for i := range with {
		p := &with[i]
		e.draw.model.Causes.Causes[p.Cause].Apply(p.Severity, p.Hidden[:], &circ)
	}
	return circ
}

// Other is the probability of a cause that the catalogue does not name; the
// engines' weights leave it out.
func (l *Lineup) Other() float64 { return l.other }

// Along drives circuits along a logged run. It is not safe for use by several
// goroutines.
type Along struct {
	AirCon bool    // air conditioning is on wherever the engine runs
	Blower float64 // share of the heater's blower, 0..1

	replay *replay
	kit    kit
}

// NewAlong prepares a log. petrol tells whether its air flow is that of a
// stoichiometric mixture.
func NewAlong(s *Settings, log *Log, petrol bool) *Along {
	return &Along{replay: newReplay(s, log), kit: kit{petrol: petrol, solver: circuit.NewSolver(circuit.Coarse)}}
}

// Step is the mean length of the log's stretches, s.
func (a *Along) Step() float64 { return a.replay.step }

// Errors are the error model of a candidate that fits, that of a log which is
// not what it is said to be, and how often logs are such, 0..1.
func (a *Along) Errors() (fits, flat ErrorModel, blunder float64) {
	return a.replay.model, a.replay.flat, a.replay.blunder
}

// Readings is what the circuit's sensor would read at the end of every stretch,
// degC. The sensor's errors are part of the reading, and the log's first row is
// such a reading too.
func (a *Along) Readings(circ *circuit.Circuit, cond circuit.Conditions, into []float64) []float64 {
	a.replay.drive(&a.kit, circ, cond, habits{a.Blower, a.AirCon})
	return append(into[:0], a.kit.reads...)
}
