package circuit

import "math"

// Tolerance chooses between speed and accuracy.
type Tolerance uint8

// The tolerances. Against a reference at tight tolerance the temperatures of
// a run are within about 0.5 K (Coarse) and 0.1 K (Fine); see docs/model.md.
const (
	Coarse Tolerance = iota
	Fine
)

// Solver integrates circuits. One per goroutine; Run allocates nothing.
type Solver struct {
	p             plant
	tol           float64 // K, of the embedded error estimate
	longest       float64 // s, longest step
	start, end    terms
	f, k1, k2, y1 vector
	boilC         float64
	setFill       float64 // fill and gas rate for which p.setLevel stands
	setGas        float64
	reading       Snapshot
	watch         *watch
	steps         int
	heatIn        float64 // J since begin, by the step's own quadrature
	heatOut       float64
	rejected      int
}

// NewSolver gives a solver of the tolerance.
func NewSolver(tolerance Tolerance) *Solver {
	if tolerance == Fine {
		return &Solver{tol: numerics.FineError.Value, longest: numerics.FineLongest.Value}
	}
	return &Solver{tol: numerics.CoarseError.Value, longest: numerics.CoarseLongest.Value}
}

// The parameter of the method. gamma = 1-1/sqrt(2) makes it L-stable.
const gamma = 1 - 1/math.Sqrt2

// Run takes st through the stages. sample, if not nil, is called at the start
// and then every so many seconds of the whole run, with a reading that is
// valid during the call.
//
// The method is ROS2 (Verwer, Spee, Blom, Hundsdorfer, SIAM J. Sci. Comput.
// 20(4), 1999; from memory, its order tested in package ode): two stages, second order for any approximate
// Jacobian, L-stable for the exact one,
//
//	(I - gamma h J) k1 = f(y)
//	(I - gamma h J) k2 = f(y + h k1) - 2 k1
//	y' = y + 3/2 h k1 + 1/2 h k2
//
// with h(k1+k2)/2, the difference to the first-order solution, as the error
// estimate. Switching of the fan is located; stages end on a step.
func (s *Solver) Run(c *Circuit, cond Conditions, st *State, stages []Stage, every float64, sample func(t float64, r *Snapshot)) {
	s.begin(c, cond)
	now, next := 0.0, 0.0
	for i := range stages {
		s.stage(st, &stages[i], cond, &now, &next, every, sample)
	}
}

// Follow takes st through the many short stages of a logged run and calls after
// at the end of each. What does not change from stage to stage is worked out
// once.
func (s *Solver) Follow(c *Circuit, cond Conditions, st *State, stages []Stage, after func(i int)) {
	s.begin(c, cond)
	now, next := 0.0, 0.0
	for i := range stages {
		s.stage(st, &stages[i], cond, &now, &next, 0, nil)
		after(i)
	}
}

// SensorSwingK is by how much, K, the reading of the run just followed swings to
// either side at st: a sensor fallen dry feels gas and splashes of coolant by turns. A
// gauge that swings with the level low is common knowledge of the trade.
func (s *Solver) SensorSwingK(st *State) float64 {
	tc := st.y[iCoolant]
	return numerics.SwingShare.Value * s.p.sensorMisses(tc) * max(0, tc-s.p.ambient)
}

func (s *Solver) begin(c *Circuit, cond Conditions) {
	s.p.setRun(c, cond)
	s.steps, s.rejected, s.heatIn, s.heatOut = 0, 0, 0, 0
}

// stage integrates one stage.
func (s *Solver) stage(st *State, stage *Stage, cond Conditions, now, next *float64, every float64, sample func(float64, *Snapshot)) {
	p := &s.p
	p.setStage(stage, cond.AmbientC)
	st.fanStep = p.fanNext(st.fanStep, st.y[iSensor])
	p.setFan(st.fanStep)
	s.setLevel(st, true)
	end, h := *now+stage.Seconds, numerics.FirstStep.Value
	for left := stage.Seconds; left > numerics.TimeSlack.Value; left = end - *now {
		if sample != nil && *now == 0 && *next == 0 {
			s.read(st, &st.y)
			sample(0, &s.reading)
			*next = every
		}
		h = min(h, s.longest)
		if h >= left {
			h = left
		} else if h > numerics.EvenSteps.Value*left { // two even steps rather than a splinter
			h = 0.5 * left
		}
		taken, suggested := s.step(st, h)
		before := st.y
		st.y = s.y1
		st.stood = p.liftAt(st.y[iWax], st.stood)
		s.heatIn += 0.5 * taken * (s.start.heat + s.end.heat)
		s.heatOut += 0.5 * taken * (s.start.heatOut + s.end.heatOut)
		p.moveFluids(st, taken, 0.5*(s.start.boil+s.end.boil))
		p.warmHoses(st, taken, &s.end)
		if s.watch != nil {
			s.watch.step(s, st, &before, taken)
		}
		if sample != nil && every > 0 {
			for *next <= *now+taken+numerics.TimeSlack.Value {
				y := s.between(&before, taken, *next-*now)
				s.read(st, &y)
				sample(*next, &s.reading)
				*next += every
			}
		}
		*now += taken
		s.setLevel(st, false)
		h = suggested
		if step := p.fanNext(st.fanStep, st.y[iSensor]); step != st.fanStep {
			st.fanStep = step
			p.setFan(step)
			h = min(h, numerics.FirstStep.Value)
		}
		s.steps++
	}
}

// setLevel refreshes what depends on the coolant level and gas when they have
// moved.
func (s *Solver) setLevel(st *State, always bool) {
	if always || math.Abs(st.fill-s.setFill) > numerics.LevelMoved.Value || math.Abs(st.gasRate-s.setGas) > numerics.GasMoved.Value*s.setGas {
		s.setFill, s.setGas = st.fill, st.gasRate
		s.p.setLevel(st.fill, st.gasRate)
	}
}

// step tries a step of h seconds and shortens it until the error estimate is
// within tolerance and no fan threshold lies inside it. The new temperatures
// stand in s.y1.
func (s *Solver) step(st *State, h float64) (taken, suggested float64) {
	p := &s.p
	y := &st.y
	s.boilC = numerics.NeverBoils.Value
	if worth := numerics.WorthBoiling.Value; y[iCoolant] > worth || y[iMetal] > worth {
		s.boilC = p.boilingC(p.limitPa(y[iCoolant]))
	}
	p.rates(y, st.stood, s.boilC, &s.start, &s.f)
	var j jacobian
	p.linearise(y, st.stood, &s.start, &j)
	up, down := p.fanThresholds(st.fanStep)
	shortest, slack := numerics.ShortestStep.Value, numerics.FanSlack.Value
	for tries := numerics.EventTries.Value; ; tries-- {
		j.factor(gamma * h)
		j.solve(&s.f, &s.k1)
		for i := range s.y1 {
			s.y1[i] = y[i] + h*s.k1[i]
		}
		p.rates(&s.y1, st.stood, s.boilC, &s.end, &s.k2)
		waxEnds := s.k2[iWax]
		for i := range s.k2 {
			s.k2[i] -= 2 * s.k1[i]
		}
		j.solve(&s.k2, &s.k2)
		worst := 0.0
		for i := range s.y1 {
			worst = max(worst, math.Abs(s.k1[i]+s.k2[i]))
			s.y1[i] = y[i] + h*(1.5*s.k1[i]+0.5*s.k2[i])
		}
		worst *= 0.5 * h
		change := numerics.StepSafety.Value * math.Sqrt(s.tol/max(worst, numerics.ErrorLeast.Value))
		if worst > s.tol && h > shortest {
			h = max(shortest, h*max(numerics.ShrinkMost.Value, change))
			s.rejected++
			continue
		}
		if tries > 0 {
			if part := p.turnOfWax(st, h, s.f[iWax], waxEnds); part < 1 {
				h *= part
				s.rejected++
				continue
			}
		}
		if ts := s.y1[iSensor]; tries > 0 {
			threshold := math.NaN()
			if ts > up+slack {
				threshold = up
			} else if ts < down-slack {
				threshold = down
			}
			if part := (threshold - y[iSensor]) / (ts - y[iSensor]); part > 0 && part < 1 && h*part > shortest {
				h *= part
				s.rejected++
				continue
			}
		}
		return h, h * min(numerics.GrowMost.Value, max(numerics.SlowMost.Value, change))
	}
}

// turnOfWax gives the share of the step at which the wax turns round, so that
// the step can end there: the valve's hysteresis must not lose the turning
// point. 1 where it does not matter.
func (p *plant) turnOfWax(st *State, h, starts, ends float64) float64 {
	part := starts / (starts - ends)
	if !(part > 0 && part < numerics.TurnLate.Value) || math.Abs(starts)*h*part < 2*numerics.TurnMatters.Value {
		return 1
	}
	wax := st.y[iWax]
	turn := wax + 0.5*starts*h*part
	if p.liftAt(turn, st.stood) == st.stood && p.liftAt(wax, st.stood) == st.stood {
		return 1
	}
	return part
}

// fanThresholds gives the sensor temperatures at which the fan leaves its
// present step upwards and downwards.
func (p *plant) fanThresholds(step int) (up, down float64) {
	c := p.c
	up, down = math.Inf(1), math.Inf(-1)
	if c.FanKind == FanViscous || !p.running {
		return up, down
	}
	least, most := 0, 2
	if p.airCon {
		least = 1
		if c.FanKind == FanElectric {
			least = 2
		}
	}
	if step < most {
		up = c.FanOnC
		if step == 1 {
			up = c.FanHighC
		}
	}
	if step > least {
		down = c.FanOffC
		if c.FanKind == FanTwoSpeed && step == 2 {
			down = c.FanHighC - (c.FanOnC - c.FanOffC)
		}
	}
	// The computer judges by what the sensor tells it, errors and all.
	return c.trueOf(up), c.trueOf(down)
}

// fanNext is the step the fan goes to from step at a sensor temperature.
func (p *plant) fanNext(step int, sensorC float64) int {
	c := p.c
	if c.FanKind == FanViscous || !p.running {
		return 0
	}
	slack := numerics.FanSlack.Value
	for range 3 { // there are three steps
		up, down := p.fanThresholds(step)
		switch {
		case p.airCon && step == 0 || sensorC >= up-slack:
			step++
			if c.FanKind == FanElectric {
				step = 2
			}
		case sensorC <= down+slack:
			step--
			if c.FanKind == FanElectric {
				step = 0
			}
		default:
			return step
		}
	}
	return step
}

// Reads is what the computer takes the sensor's temperature for, degC.
func (c *Circuit) Reads(sensorC float64) float64 {
	return sensorC + c.SensorOffset + c.SensorHotError*(sensorC-sensorTrueC)/sensorSpan
}

// trueOf is the sensor temperature that reads as so much.
func (c *Circuit) trueOf(reading float64) float64 {
	return (reading - c.SensorOffset + c.SensorHotError*sensorTrueC/sensorSpan) / (1 + c.SensorHotError/sensorSpan)
}

// between interpolates inside the step just taken, quadratically where that
// is smooth.
func (s *Solver) between(before *vector, h, at float64) vector {
	x := min(1, max(0, at/h))
	var y vector
	for i := range y {
		change := s.y1[i] - before[i]
		slope := h * s.f[i]
		if math.Abs(slope) > numerics.BendMost.Value*math.Abs(change) || slope*change < 0 {
			slope = change
		}
		y[i] = before[i] + x*(slope+x*(change-slope))
	}
	return y
}
