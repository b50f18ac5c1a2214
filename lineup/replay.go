package lineup

import (
	"math"
	"slices"

	"weephole/circuit"
	"weephole/sheet"
	"weephole/trace"
)

// For turning a log's air flow and speed into fuel power.
const (
	petrolAirFuelRatio = 14.6 // kg/kg, stoichiometric; Heywood 1988 table D.4, from memory
	maxGrade           = 0.12 // judgement: steeper equivalent grades are noise of the speed reading
)

// replay drives a candidate through a logged run and weighs the difference
// between its sensor and the log's.
type replay struct {
	segments []trace.Segment
	startC   float64
	soaked   float64
	step     float64
	jumps    int
	model    ErrorModel // of a middling fit
	grades   []grade    // how well a model fits a real car differs from run to run
	flat     ErrorModel
	blunder  float64
	power    float64 // to which the likelihood is raised
	ambientC float64 // mean outside temperature of the log; NaN if it has none
}

// grade is one of the error models that a run may have, with its log share.
type grade struct {
	logShare float64
	model    ErrorModel
}

func newReplay(s *Settings, log *Log) *replay {
	r := &replay{segments: log.Segments, startC: log.StartC, jumps: log.Jumps, soaked: log.Soaked, blunder: s.TraceBlunder.Value, power: s.TracePower.Value}
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
	r.ambientC = meanAmbient(r.segments)
	sd := s.TraceModelSD.Value
	for _, blind := range []bool{blindSpeed, blindRoad, blindAir} {
		if blind {
			sd *= s.TraceBlindFactor.Value
		}
	}
	r.model = ErrorModel{ModelSD: sd, Correlation: s.TraceCorrelation.Value, ReadingSD: s.TraceReadingSD.Value}
	for _, g := range []struct{ times, share sheet.Sourced }{
		{s.TraceFineTimes, s.TraceFineShare}, {s.TraceMiddleTimes, s.TraceMiddleShare}, {s.TraceRoughTimes, s.TraceRoughShare},
	} {
		m := r.model
		m.ModelSD *= g.times.Value
		r.grades = append(r.grades, grade{math.Log(g.share.Value), m})
	}
	r.flat = ErrorModel{ModelSD: s.TraceFlatSD.Value, Correlation: s.TraceCorrelation.Value, ReadingSD: s.TraceReadingSD.Value}
	return r
}

// meanAmbient is the mean outside temperature that a log tells, NaN if none.
func meanAmbient(segments []trace.Segment) float64 {
	sum, n := 0.0, 0.0
	for i := range segments {
		if a := segments[i].AmbientC; !math.IsNaN(a) {
			sum += a
			n++
		}
	}
	return sum / n
}

// stages turns the log's stretches into stages for this circuit. Fuel power
// comes from the log's fuel or air flow where it has one; else from the model,
// with acceleration given as the grade that would ask for the same force.
func (r *replay) stages(circ *circuit.Circuit, petrol bool, into []circuit.Stage) []circuit.Stage {
	into = into[:0]
	last := math.NaN()
	metered := slices.ContainsFunc(r.segments, func(g trace.Segment) bool { return g.FuelRateKgS > 0 })
	for i := range r.segments {
		g := &r.segments[i]
		st := circuit.Stage{
			Seconds: g.Seconds, EngineRevPerSec: g.EngineRevPerSec, RoadSpeedMS: g.RoadSpeedMS,
			AmbientC: g.AmbientC, AmbientKnown: !math.IsNaN(g.AmbientC), EngineOff: g.EngineOff,
		}
		if math.IsNaN(st.RoadSpeedMS) {
			st.RoadSpeedMS = 0
		}
		if math.IsNaN(st.EngineRevPerSec) {
			st.EngineRevPerSec = max(circ.IdleSpeed, circ.MotorwaySpeed*st.RoadSpeedMS/kmh100)
		}
		switch {
		case metered && g.FuelRateKgS >= 0: // 0 is the fuel cut on the overrun
			st.FuelPowerW, st.FuelKnown = g.FuelRateKgS*circuit.FuelHeat, true
		case g.AirFlowKgS > 0 && petrol:
			st.FuelPowerW, st.FuelKnown = g.AirFlowKgS/petrolAirFuelRatio*circuit.FuelHeat, true
		case !math.IsNaN(g.RoadSpeedMS) && !math.IsNaN(last):
			st.Grade = math.Max(-maxGrade, math.Min(maxGrade, (g.RoadSpeedMS-last)/g.Seconds/circuit.Gravity))
		}
		last = g.RoadSpeedMS
		into = append(into, st)
	}
	return into
}

// kmh100 is 100 km/h in m/s.
const kmh100 = 100 / 3.6

// habits are what the driver did that most logs do not tell.
type habits struct {
	blower float64 // share of the cabin heater's blower, 0..1
	airCon bool
}

// habits decides from two latents what the driver did at this outside
// temperature: the heater is likelier the colder it is, air conditioning the
// warmer.
func (r *replay) habits(s *Settings, heater, airCon, ambientC float64) habits {
	if !math.IsNaN(r.ambientC) {
		ambientC = r.ambientC
	}
	cold := between(s.HeaterNever.Value, s.HeaterAlways.Value, ambientC)
	warm := between(s.AirConNever.Value, s.AirConAlways.Value, ambientC)
	return habits{
		blower: cold * standardNormalCDF(heater),
		airCon: standardNormalCDF(airCon) < warm,
	}
}

// between is 0 at from, 1 at to, linear between and held beyond.
func between(from, to, x float64) float64 {
	return math.Max(0, math.Min(1, (x-from)/(to-from)))
}

func (r *replay) logLikelihood(k *kit, circ *circuit.Circuit, cond circuit.Conditions, h habits) float64 {
	k.stages = r.stages(circ, k.petrol, k.stages)
	k.resid = r.readings(k.solver, k.stages, circ, cond, h, k.resid)
	for i := range k.resid {
		k.resid[i] = r.segments[i].CoolantC - k.resid[i]
	}
	terms := make([]float64, 0, len(r.grades)+1)
	for _, g := range r.grades {
		terms = append(terms, math.Log1p(-r.blunder)+g.logShare+g.model.LogLikelihood(k.resid, r.step))
	}
	return r.power * logSumExp(append(terms, math.Log(r.blunder)+r.flat.LogLikelihood(k.resid, r.step)))
}

// readings is what the circuit's sensor would read at the end of every stretch,
// degC: its errors are part of the reading, and the log's first row is such a
// reading too.
func (r *replay) readings(solver *circuit.Solver, stages []circuit.Stage, circ *circuit.Circuit, cond circuit.Conditions, h habits, into []float64) []float64 {
	rise := circ.SensorHotError / 80 // K per K above 20 degC, as circuit.Circuit defines it
	startC := (r.startC - circ.SensorOffset + 20*rise) / (1 + rise)
	st := circuit.StateAt(circ, cond, startC, r.soaked)
	into = into[:0]
	for i := range stages {
		s := &stages[i]
		s.AirCon = h.airCon && !s.EngineOff
		s.Blower = math.Max(s.Blower, h.blower)
	}
	solver.Follow(circ, cond, &st, stages, func(int) {
		into = append(into, st.SensorC()+circ.SensorOffset+rise*(st.SensorC()-20))
	})
	return into
}

// misfit appends the residuals of a candidate along the log, for the
// proposals to be fitted to.
func (r *replay) misfit(residuals []float64, into []float32) []float32 {
	for _, v := range residuals {
		into = append(into, float32(v))
	}
	return into
}

// likeliest is the grade of the error model that the residuals speak for most.
func (r *replay) likeliest(residuals []float64) ErrorModel {
	best, top := r.model, math.Inf(-1)
	for _, g := range r.grades {
		if log := g.logShare + g.model.LogLikelihood(residuals, r.step); log > top {
			best, top = g.model, log
		}
	}
	return best
}
