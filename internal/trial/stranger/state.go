package stranger

import "math"

// The cells of coolant in the order of the flow.
const (
	blockIn = iota
	blockOut
	headIn
	headOut
	upperHose
	upperEnd
	radiatorIn // and on, cells of them
	lowerHose  = radiatorIn + cells
	lowerEnd   = lowerHose + 1
	feed       = lowerEnd + 1 // to the heater
	matrix     = feed + 1
	returns    = matrix + 1
	places     = returns + 1
)

// state is a running car.
type state struct {
	c       *Car
	mix     coolant
	pipes   plumbing
	outer   outdoors
	volume  [places]float64 // m3
	t       [places]float64 // degC
	head    float64         // degC of the metals and the oil
	block   float64
	oil     float64
	w       wax
	lift    float64
	fan     fanState
	f       flows
	b       burning
	core    core
	u       float64 // m/s of air through the core
	vent    float64 // degC of the air at the vents
	matrixG float64 // W/K of the heater

	p     pressure
	void  float64 // share of gas in the circuit
	steam float64 // kg held in the circuit
	sense sensing
	books audit
	clock float64 // s
	rest  float64 // s since the pressure was brought up to date
	boil  float64 // degC at that pressure
	decay decays
}

// pressureEvery is how long the pressure may stand still, s: it follows the mean
// temperature, which takes tens of seconds.
const pressureEvery = 1.9

// decays are the shares by which first-order lags close in one step.
type decays struct{ dt, wax, bimetal, vent, bulb, needle float64 }

func (s *state) lags(dt float64) {
	if s.decay.dt == dt {
		return
	}
	of := func(tau float64) float64 { return 1 - math.Exp(-dt/tau) }
	s.decay = decays{dt, of(s.c.WaxLag * s.c.is.waxSlower), of(25), of(20), of(s.c.SensorLag), of(6)} // bimetal, vents, needle: judgement
}

// outdoors is the weather.
type outdoors struct {
	airC     float64
	pressure float64 // Pa
}

// audit keeps the heat balance, J.
type audit struct{ in, out, lost float64 }

// start is a car that has stood long at a temperature; hot is degC of the whole
// engine, for a car that comes in from the road.
func (c *Car) start(airC, altitude, hot float64) *state {
	s := &state{c: c, outer: outdoors{airC, airAt(altitude)}}
	glycol := c.Glycol
	if c.is.glycol >= 0 {
		glycol = c.is.glycol
	}
	s.mix = mixed(glycol)
	s.pipes = c.plumb()
	s.volume[blockIn], s.volume[blockOut] = c.VBlock/2, c.VBlock/2
	s.volume[headIn], s.volume[headOut] = c.VHead/2, c.VHead/2
	s.volume[upperHose], s.volume[upperEnd] = c.VUpper/2, c.VUpper/2
	for i := range cells {
		s.volume[radiatorIn+i] = c.VRadiator / cells
	}
	s.volume[lowerHose], s.volume[lowerEnd] = c.VLower/2, c.VLower/2
	s.volume[feed], s.volume[matrix], s.volume[returns] = 0.3*c.VHeater, 0.4*c.VHeater, 0.3*c.VHeater
	for i := range s.t {
		s.t[i] = hot
		if i >= upperHose && i <= lowerEnd {
			s.t[i] = airC + 0.6*(hot-airC)
		}
	}
	s.head, s.block, s.oil = hot, hot, hot
	s.w.t = hot
	s.fan.bimetC, s.fan.behind = airC, airC
	s.vent = airC
	s.p.fill(s)
	s.sense.start(s)
	s.lift = c.move(&s.w, hot, 0)
	return s
}

// heatOf is the heat capacity of a cell, J/K.
func (s *state) heatOf(i int) float64 {
	return s.mix.density * s.mix.heat * s.volume[i] * (1 - math.Min(0.6, s.void))
}

// stored is the heat in the car over 0 degC, J.
func (s *state) stored() float64 {
	q := s.c.HeadC*s.head + s.c.BlockC*s.block + s.c.OilC*s.oil + s.steam*waterHeat
	for i := range s.t {
		q += s.heatOf(i) * s.t[i]
	}
	return q
}

// step goes on by dt seconds: engine, metals, flow, coolant, air, pressure,
// sensors, in that order. Coolant cells are solved implicitly along the flow
// (first-order upwind) and round the loop; the rest is explicit.
func (s *state) step(x duty, dt float64) {
	c := s.c
	s.lags(dt)
	s.b = c.burn(x, s.head, s.oil)
	back := s.t[lowerEnd]
	s.lift = c.move(&s.w, c.sees(s.t[headOut], back, s.inlet()), s.decay.wax)
	s.f = c.flow(&s.pipes, s.b.rpm, s.lift, s.void, s.t[headOut]-back)
	s.metals(x, dt)
	s.boilOff()
	s.air(x, dt)
	s.matrixUA(x)
	s.coolant(x, dt)
	if s.rest += dt; s.rest > pressureEvery {
		s.p.step(s, s.rest)
		s.rest = 0
	}
	s.sense.step(s)
	s.clock += dt
}

// inlet is the temperature at the pump's inlet: the branches, mixed.
func (s *state) inlet() float64 {
	if s.f.all <= 0 {
		return s.t[blockIn]
	}
	return (s.f.radiator*s.t[lowerEnd] + s.f.bypass*s.t[headOut] + s.f.heater*s.t[returns]) / s.f.all
}

// boilFilm is the further conductance of a wall that boils, W/K for each kelvin
// that it is over the boiling point, for a litre of engine; judgement, for the
// steep rise of nucleate boiling (Rohsenow 1952).
const boilFilm = 60

func (s *state) metals(x duty, dt float64) {
	c := s.c
	rel := math.Pow(s.f.all/c.RefFlow, c.FilmPower)
	wet := 1 - 0.85*math.Min(1, 1.5*s.void+s.steam/0.6e-3/1000) // steam blankets the head
	film := c.is.film * math.Max(0.08, rel) * wet
	boil := s.boil
	// The head's cells share the head's film, the block's the block's.
	toCoolant := func(metal float64, ua float64, from, to int) float64 {
		sum := 0.0
		for i := from; i <= to; i++ {
			k := ua * film / 2
			if over := metal - boil - 4; over > 0 {
				k += boilFilm * c.Litres * over / 2 * wet
			}
			// No more than brings metal and cell together in this step.
			k = math.Min(k, 0.5*s.heatOf(i)/dt)
			q := k * (metal - s.t[i])
			s.t[i] += q * dt / s.heatOf(i)
			sum += q
		}
		return sum
	}
	fromHead := toCoolant(s.head, c.HeadUA, headIn, headOut)
	fromBlock := toCoolant(s.block, c.BlockUA, blockIn, blockOut)
	between := c.HeadBlock * (s.head - s.block)
	oil := c.OilBlock * (s.block - s.oil) * (0.3 + 0.7*math.Min(1, s.b.rpm/2000))
	away := c.Surface + c.WindUse*3.6*x.speed
	lossB, lossO := 0.7*away*(s.block-s.outer.airC), 0.3*away*(s.oil-s.outer.airC)
	s.head += dt * (s.b.head - fromHead - between) / c.HeadC
	s.block += dt * (s.b.block - fromBlock + between - oil - lossB) / c.BlockC
	s.oil += dt * (s.b.oil + oil - lossO) / c.OilC
	s.books.in += dt * (s.b.head + s.b.block + s.b.oil)
	s.books.out += dt * (lossB + lossO)
}

func (s *state) air(x duty, dt float64) {
	c := s.c
	c.turnFan(&s.fan, s.sense.scan(), s.b.rpm, dt, s.decay.bimetal, x.airCon, x.off)
	coreC := (s.t[radiatorIn] + s.t[radiatorIn+cells-1]) / 2
	s.u = c.draught(&s.fan, x.speed, coreC, s.outer.airC)
	condenser := 0.0
	if x.airCon && c.AirCon && !x.off {
		condenser = c.AirConLoad * c.AirConLift
	}
	s.core = c.cool(&s.fan, s.u, s.f.radiator, x.speed, s.outer.airC, condenser)
}

// coolant moves the water on. Each cell is solved implicitly in the order of the
// flow, so what comes out of the branches is linear in what goes in; two sweeps
// tell how, and the third has the inlet that closes the loop.
func (s *state) coolant(x duty, dt float64) {
	if s.f.all > 0 {
		none, one := s.sweep(x, 0, dt, false), s.sweep(x, 1, dt, false)
		s.sweep(x, none/(1-(one-none)), dt, true)
		return
	}
	s.sweep(x, s.t[blockIn], dt, true)
}

// sweep is one pass along the flow with in at the pump's inlet; keep makes it the
// new state. It gives the mix of what the branches bring back.
func (s *state) sweep(x duty, in, dt float64, keep bool) float64 {
	t := &s.t
	if !keep {
		was := s.t
		t = &was
	}
	flowHeat := s.mix.density * s.mix.heat * dt
	pass := func(i int, flow, from float64) float64 {
		k, h := flow*flowHeat, s.heatOf(i)
		t[i] = (h*t[i] + k*from) / (h + k)
		return t[i]
	}
	for i := blockIn; i <= headOut; i++ {
		in = pass(i, s.f.all, in)
	}
	out := in
	for i := upperHose; i <= upperEnd; i++ {
		in = pass(i, s.f.radiator, in)
	}
	heat := 0.0
	g := s.core.conduct
	for i := radiatorIn; i < radiatorIn+cells; i++ {
		k, h := s.f.radiator*flowHeat, s.heatOf(i)
		t[i] = (h*t[i] + k*in + g*dt*s.core.airC) / (h + k + g*dt)
		heat += g * (t[i] - s.core.airC)
		in = t[i]
	}
	for i := lowerHose; i <= lowerEnd; i++ {
		in = pass(i, s.f.radiator, in)
	}
	fed := pass(feed, s.f.heater, out)
	warmed := s.cabin(x, t, fed, dt)
	back := pass(returns, s.f.heater, t[matrix])
	if keep {
		s.fan.behind = s.core.airC + heat/math.Max(20, s.core.air)
		s.books.out += dt * (heat + warmed)
		s.blow(x, warmed)
	}
	if s.f.all <= 0 {
		return in
	}
	return (s.f.radiator*in + s.f.bypass*out + s.f.heater*back) / s.f.all
}

// cabin is the heater: a cross-flow exchanger with a film on the water's side
// that falls with the flow, and air drawn from outside. It gives the heat, W.
func (s *state) cabin(x duty, t *[places]float64, in, dt float64) float64 {
	h := s.heatOf(matrix)
	k := s.f.heater * s.mix.density * s.mix.heat * dt
	g := s.matrixG
	t[matrix] = (h*t[matrix] + k*in + g*dt*s.outer.airC) / (h + k + g*dt)
	return g * (t[matrix] - s.outer.airC)
}

// matrixUA brings the heater's conductance up to date. A heater that gas stands
// in gives nothing: it is the highest place.
func (s *state) matrixUA(x duty) {
	c := s.c
	s.matrixG = 0
	if air := x.blower * c.Blower * airHeat; air > 0 {
		dry := math.Min(1, math.Max(0, (s.void-0.03)/0.06))
		ua := c.HeaterUA * math.Min(1.2, math.Sqrt(s.f.heater/1.3e-4)) * math.Sqrt(math.Max(0.05, x.blower)) * (1 - dry)
		s.matrixG = air * (1 - math.Exp(-ua/air))
	}
}

// blow warms the air at the vents.
func (s *state) blow(x duty, heat float64) {
	blown := s.outer.airC
	if air := x.blower * s.c.Blower * airHeat; air > 0 {
		blown += heat / air * (1 - s.c.FlapLeak) * (1 - s.c.is.flap)
	}
	s.vent += (blown - s.vent) * s.decay.vent
}
