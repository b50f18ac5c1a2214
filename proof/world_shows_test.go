package proof_test

import (
	"math"
	"weephole/cause"
	"weephole/check"
	"weephole/circuit"
	"weephole/lineup"
	"weephole/proof"
	"weephole/trace"
)

// log is the run as a reader of the engine computer would have logged it: whole
// degrees, a wandering error, and the fuel flow where the engine pulls a hill.
func (w *world) log(c *car, run *proof.Run) *lineup.Log {
	const every = 10.0
	stages := run.Stages(every)
	st := circuit.Soaked(&c.circ, c.today)
	log := &lineup.Log{StartC: c.today.AmbientC, Soaked: 1}
	if run.Start == "hot" {
		st = circuit.StateAt(&c.circ, c.today, 86, 0.9)
		log.StartC, log.Soaked = 86, 0.85
	}
	rise := c.circ.SensorHotError / 80
	shown := func(t float64) float64 { return t + c.circ.SensorOffset + rise*(t-20) }
	log.StartC = shown(log.StartC)
	solver := circuit.NewSolver(circuit.Fine)
	const sd, correlation = 2.0, 120.0
	phi := math.Exp(-every / correlation)
	b := sd * w.rng.NormFloat64()
	meter, last := 1+0.05*w.rng.NormFloat64(), math.NaN()
	for i := range stages {
		g0 := &stages[i]
		switch v := g0.RoadSpeedMS; {
		case g0.Grade > 0: // a hill: the computer tells the fuel
			force := c.circ.VehicleMass*circuit.Gravity*(c.circ.RollingResistance+g0.Grade) + 0.6*c.circ.DragArea*v*v
			g0.FuelKnown = true
			g0.FuelPowerW = force*v/c.circ.IndicatedEfficiency + c.circ.IdleFuelPower*g0.EngineRevPerSec/c.circ.IdleSpeed
		case !math.IsNaN(last): // getting under way takes fuel too
			g0.Grade = max(-0.12, min(0.12, (v-last)/g0.Seconds/circuit.Gravity))
		}
		last = g0.RoadSpeedMS
		solver.Run(&c.circ, c.today, &st, stages[i:i+1], 0, nil)
		g := trace.Segment{
			Seconds: stages[i].Seconds, EngineRevPerSec: stages[i].EngineRevPerSec, RoadSpeedMS: stages[i].RoadSpeedMS,
			AmbientC: c.today.AmbientC, AirFlowKgS: math.NaN(), FuelRateKgS: math.NaN(), Load: math.NaN(), FanShare: math.NaN(),
			CoolantC: math.Round(shown(st.SensorC()) + b + 0.3*w.rng.NormFloat64()),
		}
		if g.EngineRevPerSec == 0 {
			g.EngineRevPerSec = c.circ.IdleSpeed
		}
		if stages[i].FuelPowerW > 0 {
			g.FuelRateKgS = meter * stages[i].FuelPowerW / circuit.FuelHeat
		}
		log.Segments = append(log.Segments, g)
		b = phi*b + sd*math.Sqrt(1-phi*phi)*w.rng.NormFloat64()
	}
	return log
}

// subject shows the repaired car to a check or a sign.
func (w *world) subject(c *car) *check.Subject {
	if !c.drilled {
		circuit.NewDrill(circuit.Coarse).Run(&c.circ, c.today, circuit.AllSituations(), &c.record)
		c.drilled = true
	}
	s := &check.Subject{Causes: c.faults, Record: &c.record}
	if len(s.Causes) == 0 {
		s.Causes = []cause.Present{{Cause: w.m.Causes.NoFault(), Site: cause.NoSite}}
	}
	return s
}

// answer is what a mechanic would find with a check on the car: what he found before more often
// than not, and a level that the shop has seen to.
func (w *world) answer(c *car, id string) string {
	k := w.m.Checks.Check(id)
	p := make([]float64, len(k.Words))
	k.Shows(w.subject(c), p)
	if id == w.st.Level {
		full, sound := k.WordIndex(w.st.LevelFull), make([]float64, len(p))
		k.Shows(&check.Subject{Causes: []cause.Present{{Cause: w.m.Causes.NoFault(), Site: cause.NoSite}}}, sound)
		reweigh(p, full, min(1, p[full]/sound[full])*(1-w.st.FilledLow.Value))
	}
	if before, again := c.last[id]; again {
		reweigh(p, before, math.Pow(p[before], k.Repeat.Share))
	}
	if c.last == nil {
		c.last = make(map[string]int)
	}
	c.last[id] = pick(p, w.rng.Float64())
	return k.Words[c.last[id]].Is
}

// reweigh gives one outcome a probability; the others keep their shares of the rest.
func reweigh(p []float64, one int, now float64) {
	was := p[one]
	for k := range p {
		if k != one {
			p[k] *= (1 - now) / (1 - was)
		}
	}
	p[one] = now
}

// owner is what the owner says after some days: as people do of a car that is
// cured, unless what was complained of shows again.
func (w *world) owner(c *car) cause.Change {
	gone := 1
	for i := range w.m.Checks.Signs {
		if c.signs[i] == check.Said && w.rng.Float64() < w.m.Checks.Signs[i].So(w.subject(c)) {
			gone = 0
		}
	}
	outcomes := []cause.Change{cause.Nothing, cause.Better, cause.Worse, cause.Cured}
	p := make([]float64, len(outcomes))
	for i, o := range outcomes {
		p[i] = w.m.Causes.Tried.Says(o, cause.Effect{Had: 1, Gone: gone})
	}
	return outcomes[pick(p, w.rng.Float64())]
}
