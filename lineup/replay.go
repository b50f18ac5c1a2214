package lineup

import (
	"math"

	"weephole/circuit"
	"weephole/trace"
)

// Heating values and air demand of fuels, for turning a log's air or fuel flow
// into fuel power.
const (
	petrolLowerHeatingValue = 42.7e6  // J/kg; 42.67 MJ/kg, fuel constants of published dynamometer logs (Argonne D3)
	petrolAirFuelRatio      = 14.6    // kg/kg, stoichiometric; Heywood 1988 table D.4, from memory
	gravity                 = 9.80665 // m/s2, standard gravity (ISO 80000-3)
	maxGrade                = 0.12    // judgement: steeper equivalent grades are noise of the speed reading
)

// replay drives a candidate through a logged run and weighs the difference
// between its sensor and the log's.
type replay struct {
	segments []trace.Segment
	startC   float64
	soaked   float64
	step     float64
	model    ErrorModel
	flat     ErrorModel
	blunder  float64
}

func newReplay(s *Settings, log *Log) *replay {
	r := &replay{segments: log.Segments, startC: log.StartC, soaked: log.Soaked, blunder: s.TraceBlunder.Value}
	total := 0.0
	blindSpeed, blindRoad, blindAir := true, true, true
	for i := range r.segments {
		g := &r.segments[i]
		total += g.Seconds
		blindSpeed = blindSpeed && math.IsNaN(g.EngineRevPerSec)
		blindRoad = blindRoad && math.IsNaN(g.RoadSpeedMS)
		blindAir = blindAir && math.IsNaN(g.AmbientC)
	}
	if len(r.segments) > 0 {
		r.step = total / float64(len(r.segments))
	}
	sd := s.TraceModelSD.Value
	for _, blind := range []bool{blindSpeed, blindRoad, blindAir} {
		if blind {
			sd *= s.TraceBlindFactor.Value
		}
	}
	r.model = ErrorModel{ModelSD: sd, Correlation: s.TraceCorrelation.Value, ReadingSD: s.TraceReadingSD.Value}
	r.flat = ErrorModel{ModelSD: s.TraceFlatSD.Value, Correlation: s.TraceCorrelation.Value, ReadingSD: s.TraceReadingSD.Value}
	return r
}

// stages turns the log's stretches into stages for this circuit. Fuel power
// comes from the log's fuel or air flow where it has one; else from the model,
// with acceleration given as the grade that would ask for the same force.
func (r *replay) stages(circ *circuit.Circuit, petrol bool, into []circuit.Stage) []circuit.Stage {
	into = into[:0]
	last := math.NaN()
	for i := range r.segments {
		g := &r.segments[i]
		st := circuit.Stage{
			Seconds: g.Seconds, EngineRevPerSec: g.EngineRevPerSec, RoadSpeedMS: g.RoadSpeedMS,
			AmbientC: g.AmbientC, EngineOff: g.EngineOff,
		}
		if math.IsNaN(st.RoadSpeedMS) {
			st.RoadSpeedMS = 0
		}
		if math.IsNaN(st.EngineRevPerSec) {
			st.EngineRevPerSec = max(circ.IdleSpeed, circ.MotorwaySpeed*st.RoadSpeedMS/kmh100)
		}
		switch {
		case g.FuelRateKgS > 0:
			st.FuelPowerW = g.FuelRateKgS * petrolLowerHeatingValue
		case g.AirFlowKgS > 0 && petrol:
			st.FuelPowerW = g.AirFlowKgS / petrolAirFuelRatio * petrolLowerHeatingValue
		case !math.IsNaN(g.RoadSpeedMS) && !math.IsNaN(last):
			st.Grade = math.Max(-maxGrade, math.Min(maxGrade, (g.RoadSpeedMS-last)/g.Seconds/gravity))
		}
		last = g.RoadSpeedMS
		into = append(into, st)
	}
	return into
}

// kmh100 is 100 km/h in m/s.
const kmh100 = 100 / 3.6

func (r *replay) logLikelihood(k *kit, circ *circuit.Circuit, cond circuit.Conditions) float64 {
	k.resid = r.residuals(k, circ, cond, k.resid)
	fits := r.model.LogLikelihood(k.resid, r.step)
	flat := r.flat.LogLikelihood(k.resid, r.step)
	return logSumExp([]float64{math.Log1p(-r.blunder) + fits, math.Log(r.blunder) + flat})
}

// residuals is the log's coolant minus the candidate's sensor at the end of
// every stretch, K; NaN where the log has no coolant.
func (r *replay) residuals(k *kit, circ *circuit.Circuit, cond circuit.Conditions, into []float64) []float64 {
	k.stages = r.stages(circ, k.petrol, k.stages)
	st := circuit.StateAt(circ, cond, r.startC, r.soaked)
	into = into[:0]
	for i := range k.stages {
		k.solver.Run(circ, cond, &st, k.stages[i:i+1], 0, nil)
		into = append(into, r.segments[i].CoolantC-st.SensorC())
	}
	return into
}
