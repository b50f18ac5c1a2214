package circuit

import "math"

// The drill's timing and driving, s and m/s. The lengths are the definition
// of the situations; the drives are judgement.
const (
	warmUpSeconds   = 25 * 60.0
	earlySeconds    = 2 * 60.0
	hotIdleSeconds  = 5 * 60.0
	idleACSeconds   = 8 * 60.0
	fastSeconds     = 5 * 60.0
	citySeconds     = 10 * 60.0
	motorSeconds    = 10 * 60.0
	climbSeconds    = 8 * 60.0
	soakSeconds     = 10 * 60.0
	restartSeconds  = 2 * 60.0
	window          = 2 * 60.0 // the means are over the last so much
	fastRevs        = 2500.0 / 60
	motorSpeed      = 100 / 3.6
	climbGrade      = 0.075 // with 100 km/h about 38 kW to the coolant of a 1.6 L car (fault-effects 2.2)
	climbRevs       = 1.3   // engine speed over MotorwaySpeed: a gear lower
	citySpeed       = 45 / 3.6
	cityDrive       = 80.0 // s moving of each cycle
	cityStand       = 40.0 // s standing: mean 30 km/h
	cityRevs        = 25.0
	cityGrade       = 0.003 // stands for the work of getting under way; with it the 1.5 L car burns the 15 kW of circuit-numbers 1.3
	warmAboveK      = 4.0   // a warm start is no hotter than so much over OpeningC
	never           = 60.0  // minutes, for "never"
	openingSeenLift = 0.04  // of the valve, from which its opening is seen
	leastFill       = 1e-6  // share of the coolant, so that nothing is divided by zero
)

// LimitC is the sensor reading, degC, at which a running engine is shut off where
// the maker's limit is not known: MinutesToLimit counts to it. Judgement.
const LimitC = 112.0

// Drill runs circuits through the situations. One per goroutine; Run
// allocates nothing.
type Drill struct {
	solver Solver
	watch  watch
}

// NewDrill gives a drill of the tolerance.
func NewDrill(tolerance Tolerance) *Drill { return &Drill{solver: *NewSolver(tolerance)} }

// Run takes c through the situations wanted and those they build on, and
// writes what they show into rec; what was not run is NaN.
func (d *Drill) Run(c *Circuit, cond Conditions, want Set, rec *Record) {
	for s := range rec {
		for p := range rec[s] {
			rec[s][p] = nan
		}
	}
	d.solver.watch = &d.watch
	d.solver.begin(c, cond)
	st := Soaked(c, cond)
	if want.Has(ColdSoak) {
		d.coldSoak(c, cond, &st, rec)
	}
	const fromWarm = 1<<WarmUp | 1<<HotIdle | 1<<HotIdleAC | 1<<FastIdle | 1<<City | 1<<Motorway | 1<<Climb | 1<<HeatSoak | 1<<Restart
	if want&(fromWarm|1<<EarlyIdle) == 0 {
		return
	}
	d.watch.reset(c, &st)
	d.run(EarlyIdle, c, cond, &st, rec, &Stage{Seconds: earlySeconds}, 0)
	if want&fromWarm == 0 {
		return
	}
	rest := warmUpSeconds - hotIdleSeconds - earlySeconds
	d.watch.restart(st.fill, false)
	d.run(WarmUp, c, cond, &st, rec, &Stage{Seconds: rest}, 0)
	d.watch.restart(st.fill, false)
	d.run(HotIdle, c, cond, &st, rec, &Stage{Seconds: hotIdleSeconds}, hotIdleSeconds/2)
	d.watch.finish(WarmUp, rec)
	d.driven(c, &st)
	warm := st
	d.warm(c, &warm)

	standing := func(s Situation, from *State, stage Stage) State {
		st := *from
		if want.Has(s) || s == HeatSoak && want.Has(Restart) {
			d.watch.reset(c, &st)
			d.solver.p.forget()
			d.run(s, c, cond, &st, rec, &stage, stage.Seconds/2)
		}
		return st
	}
	standing(HotIdleAC, &st, Stage{Seconds: idleACSeconds, AirCon: true})
	standing(FastIdle, &warm, Stage{Seconds: fastSeconds, EngineRevPerSec: fastRevs})
	if want.Has(City) {
		d.city(c, cond, warm, rec)
	}
	road := Stage{Seconds: motorSeconds, EngineRevPerSec: c.MotorwaySpeed, RoadSpeedMS: motorSpeed}
	standing(Motorway, &warm, road)
	road.Seconds, road.Grade, road.EngineRevPerSec = climbSeconds, climbGrade, climbRevs*c.MotorwaySpeed
	standing(Climb, &warm, road)
	soaked := standing(HeatSoak, &st, Stage{Seconds: soakSeconds, EngineOff: true})
	standing(Restart, &soaked, Stage{Seconds: restartSeconds})
}

// driven warms an engine that the idle could not warm, as a drive would: the
// situations after it are those of a warm car. An engine that cannot stay warm
// falls back within their first minutes.
func (d *Drill) driven(c *Circuit, st *State) {
	for _, i := range [...]int{iCoolant, iMetal, iBlock, iWax, iSensor} {
		st.y[i] = max(st.y[i], c.OpeningC)
	}
}

// warm makes the state from which the warm situations start: topped up, and
// no hotter than a driven car.
func (d *Drill) warm(c *Circuit, st *State) {
	most := c.OpeningC + warmAboveK
	for i := range st.y {
		st.y[i] = min(st.y[i], most)
	}
	for i := range st.hoses {
		st.hoses[i] = min(st.hoses[i], most)
	}
	st.fill = c.Fill
	st.start = c.Fill
}

// run runs one situation of one stage: its first part, its last half, and its
// last two minutes, over which the means go.
func (d *Drill) run(s Situation, c *Circuit, cond Conditions, st *State, rec *Record, stage *Stage, half float64) {
	whole := *stage
	last := min(window, whole.Seconds)
	d.watch.averaging, d.watch.lastHalf = false, half == 0
	if half > 0 && whole.Seconds-half > last {
		part := whole
		part.Seconds = whole.Seconds - half
		d.part(cond, st, &part)
		whole.Seconds = half
	}
	d.watch.lastHalf = true
	if whole.Seconds > last {
		part := whole
		part.Seconds = whole.Seconds - last
		d.part(cond, st, &part)
	}
	d.watch.averaging = true
	part := whole
	part.Seconds = last
	d.part(cond, st, &part)
	d.watch.write(s, st, &d.solver, rec)
}

func (d *Drill) part(cond Conditions, st *State, stage *Stage) {
	now, next := 0.0, 0.0
	d.solver.stage(st, stage, cond, &now, &next, 0, nil)
}

// city runs the stop and go: the means go over the whole of the last cycle.
func (d *Drill) city(c *Circuit, cond Conditions, st State, rec *Record) {
	d.watch.reset(c, &st)
	d.solver.p.forget()
	drive := Stage{Seconds: cityDrive, EngineRevPerSec: cityRevs, RoadSpeedMS: citySpeed, Grade: cityGrade}
	stand := Stage{Seconds: cityStand}
	const cycles = int(citySeconds / (cityDrive + cityStand))
	for i := range cycles {
		d.watch.lastHalf = 2*i >= cycles
		d.watch.averaging = i == cycles-1
		d.part(cond, &st, &drive)
		d.part(cond, &st, &stand)
	}
	d.watch.write(City, &st, &d.solver, rec)
}

// coldSoak fills in what can be read on an engine that has not run.
func (d *Drill) coldSoak(c *Circuit, cond Conditions, st *State, rec *Record) {
	row := &rec[ColdSoak]
	sensor := c.Reads(cond.AmbientC)
	for _, p := range []Place{SensorMean, SensorPeak, SensorLow} {
		row[p] = float32(sensor)
	}
	gauge := sensor + c.GaugeOffset
	if c.GaugeDead {
		gauge = cond.AmbientC
	}
	row[GaugePeak], row[GaugeMean] = float32(gauge), float32(gauge)
	for _, p := range []Place{Coolant, MetalMean, UpperHose, LowerHose, HeaterInHose, HeaterOutHose} {
		row[p] = float32(cond.AmbientC)
	}
	for _, p := range []Place{HoseDrop, ThermostatDrop, RadiatorDrop, FaceSpread, Pressure, LevelLost} {
		row[p] = 0
	}
	row[LevelNow] = float32(st.fill)
	row[AirShare] = float32(max(0, 1-st.fill) + c.TrappedAir)
}

// watch gathers what a situation shows while the solver steps.
type watch struct {
	c                   *Circuit
	averaging, lastHalf bool
	time                float64 // s since reset
	first               float64 // fill at the situation's start
	boilStart           float64
	weight              float64
	sum                 [numPlaces]float64
	commanded           float64 // s of the window with the fan commanded
	fanAir              float64 // kg of air in that time
	peak, low           float64 // sensor, as read
	reach               [3]float64
	toLimit             float64
	opened              bool
	wasShut             bool
	openingSeen         float64
	afterPeak, dip      float64
	fanRan              bool
	before, after       Snapshot
}

func (w *watch) reset(c *Circuit, st *State) {
	*w = watch{c: c, boilStart: st.boilFor}
	w.reach = [3]float64{never, never, never}
	w.toLimit = never
	w.openingSeen = math.NaN()
	w.restart(st.fill, true)
}

// restart begins a situation that goes on from the one before.
func (w *watch) restart(fill float64, clear bool) {
	w.weight, w.commanded, w.fanAir = 0, 0, 0
	w.sum = [numPlaces]float64{}
	if clear {
		w.first = fill
	}
	w.peak, w.low = math.Inf(-1), math.Inf(1)
}

var marks = [3]float64{40, 60, 80}

// step takes in the step of h seconds that has just been taken.
func (w *watch) step(s *Solver, st *State, before *vector, h float64) {
	c := w.c
	was, is := c.Reads(before[iSensor]), c.Reads(st.y[iSensor])
	w.peak = max(w.peak, was, is)
	if w.lastHalf {
		w.low = min(w.low, was, is)
	}
	for i, mark := range marks {
		if w.reach[i] == never && is >= mark {
			w.reach[i] = (w.time + h*part(was, is, mark)) / 60
		}
	}
	if w.toLimit == never && is >= LimitC {
		w.toLimit = (w.time + h*part(was, is, LimitC)) / 60
	}
	w.time += h
	lift := s.start.lift
	switch {
	case !w.opened && lift < openingSeenLift:
		w.wasShut = true
	case !w.opened && w.wasShut:
		w.opened = true
		w.openingSeen = was
		w.afterPeak, w.dip = was, 0
	}
	w.fanRan = w.fanRan || st.fanStep > 0
	if w.opened && !w.fanRan {
		w.afterPeak = max(w.afterPeak, is)
		w.dip = max(w.dip, w.afterPeak-is)
	}
	if !w.averaging {
		return
	}
	s.p.fill(&w.before, st, before, &s.start)
	s.p.fill(&w.after, st, &st.y, &s.end)
	w.add(&w.before, 0.5*h)
	w.add(&w.after, 0.5*h)
}

// part is the share of the way from a to b at which x lies.
func part(a, b, x float64) float64 {
	if b <= a {
		return 1
	}
	return min(1, max(0, (x-a)/(b-a)))
}

func (w *watch) add(r *Snapshot, h float64) {
	w.weight += h
	s := &w.sum
	s[Coolant] += h * r.CoolantC
	s[SensorMean] += h * r.SensorC
	s[MetalMean] += h * r.MetalC
	s[UpperHose] += h * r.UpperHoseSurfaceC
	s[LowerHose] += h * r.LowerHoseSurfaceC
	s[ThermostatDrop] += h * r.ThermostatDropK
	s[RadiatorDrop] += h * (r.UpperHoseC - r.LowerHoseC)
	s[HeaterInHose] += h * r.HeaterInHoseSurfaceC
	s[HeaterOutHose] += h * r.HeaterOutHoseSurfaceC
	s[VentAir] += h * r.VentAirC
	s[FaceSpread] += h * (max(r.Face[0], r.Face[1], r.Face[2]) - min(r.Face[0], r.Face[1], r.Face[2]))
	s[FanShare] += h * r.FanShare
	s[FanAirflow] += h * r.AirKgS
	s[RadiatorFlow] += h * r.RadiatorFlowKgS
	s[HeaterFlow] += h * r.HeaterFlowKgS
	s[GasRate] += h * r.GasMolS
	if r.FanShare > 0 {
		w.commanded += h
		w.fanAir += h * r.FanAirKgS
	}
}

// write puts what was gathered into the record.
func (w *watch) write(s Situation, st *State, solver *Solver, rec *Record) {
	row := &rec[s]
	for _, p := range [...]Place{Coolant, SensorMean, MetalMean, UpperHose, LowerHose, ThermostatDrop, RadiatorDrop,
		HeaterInHose, HeaterOutHose, VentAir, FaceSpread, FanShare, FanAirflow, RadiatorFlow, HeaterFlow, GasRate} {
		row[p] = float32(w.sum[p] / w.weight)
	}
	row[HoseDrop] = row[UpperHose] - row[LowerHose]
	row[NeckFlow] = row[RadiatorFlow]
	if w.commanded > 0 {
		row[FanAirflow] = float32(w.fanAir / w.commanded)
	}
	switch s {
	case HeatSoak:
		row[FanShare], row[FanAirflow] = nan, nan
		row[VentAir] = nan
	case City, Motorway, Climb:
		row[FanAirflow], row[NeckFlow] = nan, nan
	}
	row[SensorPeak], row[SensorLow] = float32(w.peak), float32(w.low)
	gauge, mean := w.peak+w.c.GaugeOffset+2*w.c.NeedleErratic, float64(row[SensorMean])+w.c.GaugeOffset
	if w.c.GaugeDead {
		gauge, mean = solver.p.ambient, solver.p.ambient
	}
	row[GaugePeak], row[GaugeMean] = float32(gauge), float32(mean)
	row[Pressure] = float32(st.pressure - solver.p.airPa)
	row[LevelNow] = float32(st.fill)
	row[LevelLost] = float32((w.first - st.fill) / max(w.first, leastFill))
	row[AirShare] = float32(w.after.AirShare)
	row[BoilMinutes] = float32((st.boilFor - w.boilStart) / 60)
	row[MinutesToLimit] = float32(w.toLimit)
	w.boilStart = st.boilFor
}

// finish writes what the warm-up as a whole shows.
func (w *watch) finish(s Situation, rec *Record) {
	row := &rec[s]
	row[MinutesTo40], row[MinutesTo60], row[MinutesTo80] = float32(w.reach[0]), float32(w.reach[1]), float32(w.reach[2])
	row[OpeningSeen] = float32(w.openingSeen)
	row[DropAfterOpening] = nan
	if w.opened {
		row[DropAfterOpening] = float32(w.dip)
	}
}
