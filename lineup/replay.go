package lineup

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"weephole/circuit"
	"weephole/sample"
	"weephole/trace"
)

// For turning a log's air flow and speed into fuel power.
const (
	petrolAirFuelRatio = 14.6 // kg/kg, stoichiometric; Heywood 1988 table D.4, from memory
)

// replay drives a candidate through a logged run and weighs the difference
// between its sensor and the log's.
type replay struct {
	segments []trace.Segment
	coolant  []float64 // degC, as logged; NaN in gaps
	windows  []window
	startC   float64
	soaked   float64
	step     float64
	jumps    int
	model    ErrorModel // of a middling fit, reading by reading
	flat     ErrorModel // of a log that is not what it is said to be, likewise
	grades   []grade    // of the windows
	astray   windowModel
	blunder  float64
	steepest float64 // grade that a change of speed may stand for
	ambientC float64 // mean outside temperature of the log; NaN if it has none
}

func newReplay(s *Settings, log *Log) *replay {
	r := &replay{segments: log.Segments, startC: log.StartC, jumps: log.Jumps, soaked: log.Soaked, steepest: s.TraceSteepest.Value, blunder: s.TraceBlunder.Value}
	total := 0.0
	blindSpeed, blindRoad, blindAir := true, true, true
	for i := range r.segments {
		g := &r.segments[i]
		total += g.Seconds
		r.coolant = append(r.coolant, g.CoolantC)
		blindSpeed = blindSpeed && math.IsNaN(g.EngineRevPerSec)
		blindRoad = blindRoad && math.IsNaN(g.RoadSpeedMS)
		blindAir = blindAir && math.IsNaN(g.AmbientC)
	}
	if len(r.segments) > 0 {
		r.step = total / float64(len(r.segments))
	}
	r.ambientC = meanAmbient(r.segments)
	blind := 1.0
	for _, is := range []bool{blindSpeed, blindRoad, blindAir} {
		if is {
			blind *= s.TraceBlindFactor.Value
		}
	}
	r.model = ErrorModel{ModelSD: s.TraceModelSD.Value * blind, Correlation: s.TraceCorrelation.Value, ReadingSD: s.TraceReadingSD.Value}
	r.flat = ErrorModel{ModelSD: s.TraceFlatSD.Value, Correlation: s.TraceCorrelation.Value, ReadingSD: s.TraceReadingSD.Value}
	r.windows = cut(r.coolant, r.step, s.TraceWindow.Value, s.TraceWindowLeast.Value)
	if hottest(r.windows, r.coolant) > s.TraceTooHot.Value {
		r.blunder = s.TooHotBlunder.Value
	}
	step := total / float64(len(r.windows))
	fits := ErrorModel{ModelSD: s.TraceWanderSD.Value * blind, Correlation: s.TraceWanderTime.Value, ReadingSD: s.TraceWindowSD.Value}
	r.grades = grades(s, windowModel{means: fits, spreadSD: s.TraceSpreadSD.Value, step: step})
	far := ErrorModel{ModelSD: s.TraceAstraySD.Value, Correlation: s.TraceWanderTime.Value, ReadingSD: s.TraceWindowSD.Value}
	r.astray = windowModel{means: far, spreadSD: s.TraceAstraySD.Value, step: step}
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
			st.Grade = math.Max(-r.steepest, math.Min(r.steepest, (g.RoadSpeedMS-last)/g.Seconds/circuit.Gravity))
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
		blower: cold * math.Max(0, 1-(1-distuv.UnitNormal.CDF(heater))/(1-s.HeaterOff.Value)),
		airCon: distuv.UnitNormal.CDF(airCon) < warm,
	}
}

// between is 0 at from, 1 at to, linear between and held beyond.
func between(from, to, x float64) float64 {
	return math.Max(0, math.Min(1, (x-from)/(to-from)))
}

func (r *replay) logLikelihood(k *kit, circ *circuit.Circuit, cond circuit.Conditions, h habits) float64 {
	r.drive(k, circ, cond, h)
	k.misses = misses(r.windows, r.coolant, k.reads, k.swings, k.misses[:0])
	fits, astray := r.either(k.misses)
	return sample.LogSumExp([]float64{fits, astray})
}

// either is the log density of misses and that the log is what it is said to be, in
// any grade of fit, and of misses and that it is not.
func (r *replay) either(misses []float64) (fits, astray float64) {
	terms := make([]float64, 0, len(r.grades))
	for _, g := range r.grades {
		terms = append(terms, g.logShare+g.model.logLikelihood(misses))
	}
	return math.Log1p(-r.blunder) + sample.LogSumExp(terms), math.Log(r.blunder) + r.astray.logLikelihood(misses)
}

// drive leaves in the kit what the circuit's sensor would read at the end of every
// stretch, degC, and how far it would swing: its errors are part of the reading, and
// the log's first row is such a reading too.
func (r *replay) drive(k *kit, circ *circuit.Circuit, cond circuit.Conditions, h habits) {
	rise := circ.SensorHotError / 80 // K per K above 20 degC, as circuit.Circuit defines it
	startC := (r.startC - circ.SensorOffset + 20*rise) / (1 + rise)
	st := circuit.StateAt(circ, cond, startC, r.soaked)
	k.stages = r.stages(circ, k.petrol, k.stages)
	k.reads, k.swings = k.reads[:0], k.swings[:0]
	for i := range k.stages {
		s := &k.stages[i]
		s.AirCon = h.airCon && !s.EngineOff
		s.Blower = math.Max(s.Blower, h.blower)
	}
	k.solver.Follow(circ, cond, &st, k.stages, func(int) {
		k.reads = append(k.reads, st.SensorC()+circ.SensorOffset+rise*(st.SensorC()-20))
		k.swings = append(k.swings, k.solver.SensorSwingK(&st))
	})
}

// residuals is how many of them misfit appends.
func (r *replay) residuals() int { return 2 * len(r.windows) }

// misfit appends what the candidate last driven through the log misses, for the
// proposals to be fitted to.
func (r *replay) misfit(k *kit, into []float32) []float32 {
	for _, v := range k.misses {
		into = append(into, float32(v))
	}
	return into
}

// likeliest is the grade of the error model that the misses speak for most.
func (r *replay) likeliest(misses []float64) windowModel {
	best, top := r.grades[0].model, math.Inf(-1)
	for _, g := range r.grades {
		if log := g.logShare + g.model.logLikelihood(misses); log > top {
			best, top = g.model, log
		}
	}
	return best
}
