package circuit

import "math"

// Stage is a part of a run in which nothing outside the engine changes.
type Stage struct {
	Seconds         float64 // s
	EngineRevPerSec float64 // rev/s; 0: the circuit's idle speed, unless EngineOff
	RoadSpeedMS     float64 // m/s
	Grade           float64 // rise over run, 0.07 is 7 %
	FuelPowerW      float64 // W of fuel burned, where FuelKnown; 0 on the overrun
	FuelKnown       bool    // else the fuel follows from speed and grade
	AirCon          bool
	Blower          float64 // 0..1 share of the heater blower; Conditions.HeaterOn makes it 1
	EngineOff       bool
	AmbientC        float64 // degC of the air, where AmbientKnown
	AmbientKnown    bool    // else the air is that of Conditions
}

// State is a circuit at a moment of a run.
type State struct {
	y        vector
	hoses    [4]float64 // degC: coolant in upper and lower hose, then their surfaces
	fill     float64    // share of CoolantVolume
	start    float64    // fill when the run began
	cushion  float64    // mol of gas in the cushion
	gasRate  float64    // mol/s of combustion gas entering
	stood    float64    // travel of the valve, for its hysteresis
	fanStep  int
	pressure float64 // Pa absolute
	boilFor  float64 // s of boiling so far
	leaked   float64 // kg lost in liquid
	steamed  float64 // kg lost as steam
}

// The hoses of State.
const (
	upperInside = iota
	lowerInside
	upperSurface
	lowerSurface
)

// CoolantC is the temperature of the coolant that leaves the engine.
func (s *State) CoolantC() float64 { return s.y[iCoolant] }

// SensorC is what the engine computer reads, without its errors.
func (s *State) SensorC() float64 { return s.y[iSensor] }

// Settled is the state of an engine that rests: metals and coolant as there, the core
// where its flow leaves it.
func Settled(c *Circuit, cond Conditions, rest Rest) State {
	s := StateAt(c, cond, rest.CoolantC, 1)
	s.y[iMetal], s.y[iBlock] = rest.MetalC, rest.BlockC
	for i := range tubeCells {
		s.y[iCell1+i] = rest.CellsC[i]
	}
	return s
}

// Shift makes every temperature of the state warmer by so many kelvin: what stands
// in an air stands so in an air that is as much warmer, once nothing regulates.
func (s *State) Shift(kelvins float64) {
	for i := range s.y {
		s.y[i] += kelvins
	}
	for i := range s.hoses {
		s.hoses[i] += kelvins
	}
}

// Fill is the share of CoolantVolume that is present.
func (s *State) Fill() float64 { return s.fill }

// Soaked is the state of an engine that has stood overnight: all at ambient.
func Soaked(c *Circuit, cond Conditions) State {
	return StateAt(c, cond, cond.AmbientC, 1)
}

// StateAt is the state of an engine whose coolant and head are at coolantC.
// soakedThrough tells how far the slow metal and the radiator have followed:
// 0 is not at all, they are at ambient, 1 is wholly.
func StateAt(c *Circuit, cond Conditions, coolantC, soakedThrough float64) State {
	var s State
	slow := cond.AmbientC + soakedThrough*(coolantC-cond.AmbientC)
	for i := range s.y {
		s.y[i] = slow
	}
	s.y[iMetal], s.y[iCoolant], s.y[iWax], s.y[iSensor] = coolantC, coolantC, coolantC, coolantC
	for i := range s.hoses {
		s.hoses[i] = slow
	}
	s.fill, s.start = c.Fill, c.Fill
	opening := (s.y[iWax] - c.OpeningC) / c.OpeningSpan
	s.stood = min(1, max(0, opening))
	s.fillCushion(c, cond)
	return s
}

// fillCushion sets the gas as a cap closed on the cold engine leaves it.
func (s *State) fillCushion(c *Circuit, cond Conditions) {
	var p plant
	p.setRun(c, cond)
	cold := p.cushionM3(s.fill, cond.AmbientC)
	s.cushion = p.airPa * cold / (gasConstant * (cond.AmbientC + kelvin))
	s.pressure = p.airPa
}

// cushionM3 is the room that gas has above the liquid.
func (p *plant) cushionM3(fill, liquidC float64) float64 {
	share := cushionShare + 1 - fill - fill*p.swell(liquidC)
	return p.c.CoolantVolume * max(share, leastCushion)
}

// HeldPa is the greatest absolute pressure, Pa, that the system can hold in air
// of airPa with coolant at tC: the cap's, less what an open leak lets go.
func (c *Circuit) HeldPa(airPa, tC float64) float64 {
	hold := c.CapPressure * max(0, c.CapHold)
	if c.LeakArea > 0 && tC > c.LeakOpensC {
		r := c.LeakArea / leakHalfArea
		hold /= 1 + r*r
	}
	return airPa + hold
}

func (p *plant) limitPa(tC float64) float64 { return p.c.HeldPa(p.airPa, tC) }

// moveFluids moves coolant, gas and pressure through a step of h seconds that
// took the temperatures to s.y; boiled is the mean boiling power in it, W.
func (p *plant) moveFluids(s *State, h, boiled float64) {
	c := p.c
	tc := s.y[iCoolant]
	liquidC := 0.5*tc + (s.y[iCell1]+s.y[iCell2]+s.y[iCell3])/6
	if boiled > 0 {
		kg := min(boiled*h/latentHeat*boilLostShare, numerics.BoilAway.Value*s.fill*c.CoolantVolume*p.density)
		s.steamed += kg
		s.boilFor += h
		s.fill = max(0, s.fill-kg/(p.density*c.CoolantVolume))
	}
	s.gasRate = 0
	if c.CombustionGas > 0 && p.running && s.y[iMetal] > c.CombustionOpensC {
		s.gasRate = c.CombustionGas * (c.CombustionAtIdle + (1-c.CombustionAtIdle)*p.load)
		s.cushion += s.gasRate * h
	}
	limit := p.limitPa(tc)
	room := p.cushionM3(s.fill, liquidC)
	tankC := p.ambient + tankRise*(liquidC-p.ambient)
	perMol := gasConstant * (tankC + kelvin) / room
	vapour := p.vapourPa(tankC)
	if c.LeakArea > 0 && tc > c.LeakOpensC && s.fill > leakDryFill {
		gas := s.cushion * perMol
		gauge := max(0, min(max(gas+vapour, p.vapourPa(tc)), limit)-p.airPa)
		// Equation (19) of docs/model.md.
		lost := dischargeFactor * c.LeakArea * math.Sqrt(2*(gauge+staticHeadPa)/p.density) * h
		// A step must not empty more than takes a set share of the pressure away; what
		// drips by its own weight is always allowed.
		dripping := dischargeFactor * c.LeakArea * math.Sqrt(2*staticHeadPa/p.density) * h
		lost = min(lost, max(dripping, numerics.LeakMost.Value*gauge/gas*room))
		lost = min(lost, s.fill*c.CoolantVolume)
		s.leaked += lost * p.density
		s.fill = max(0, s.fill-lost/c.CoolantVolume)
		room = p.cushionM3(s.fill, liquidC)
		perMol = gasConstant * (tankC + kelvin) / room
	}
	absolute := s.cushion*perMol + vapour
	switch {
	case absolute > limit: // the cap vents
		s.cushion = max(0, limit-vapour) / perMol
		absolute = limit
	case absolute < p.airPa: // the vacuum valve admits
		s.cushion = max(0, p.airPa-vapour) / perMol
		absolute = p.airPa
	}
	s.pressure = min(max(absolute, p.vapourPa(tc)), limit)
}

// warmHoses moves the hoses through a step of h seconds towards what its end
// gives. Nothing else depends on them. The wall is equation (20) of docs/model.md.
func (p *plant) warmHoses(s *State, h float64, t *terms) {
	y := &s.y
	bay := p.bayC(y[iCoolant], t)
	convected := p.convected(y[iCoolant], t.lift)
	h0 := p.hoseH()
	ratio, ua := 1/(1+hoseR*h0), hoseUA(h0)
	nodes := [2]struct{ w, in float64 }{{t.radiator + convected, y[iCoolant]}, {t.radiator, y[iCell3]}}
	for i, n := range nodes {
		g := n.w + ua
		target := (n.w*n.in + ua*bay) / g
		s.hoses[i] = relax(s.hoses[i], target, h*g/hoseCapacity)
		surface := bay + ratio*(s.hoses[i]-bay)
		s.hoses[i+2] = relax(s.hoses[i+2], surface, h/hoseLag)
	}
}

// hoseUA is what one hose gives to the bay, W/K, through its wall.
func hoseUA(h float64) float64 { return hoseArea / (1/h + hoseR) }

// relax moves x towards its target through so many time constants.
func relax(x, target, constants float64) float64 {
	return target + (x-target)/(1+constants*(1+0.5*constants))
}

// bayC is the air around hoses and block.
func (p *plant) bayC(coolantC float64, t *terms) float64 {
	share := bayRiseMoving
	if p.standing > 0 {
		still := bayRise
		if p.airFlow > blowing*p.c.FanAir {
			still = bayRiseFan
		}
		if p.hoodOpen {
			still *= hoodOpenShare
		}
		share += (still - share) * p.standing
	}
	return p.ambient + share*(coolantC-p.ambient)
}

// blowing is the share of FanAir above which hoses are in the fan's wash.
// Judgement.
const blowing = 0.4

// hoseH is the heat transfer coefficient outside a hose.
func (p *plant) hoseH() float64 {
	switch {
	case p.standing <= 0:
		return hoseMovingH
	case math.Abs(p.airFlow) > blowing*p.c.FanAir:
		return hoseFanH
	}
	return hoseStillH + (hoseMovingH-hoseStillH)*(1-p.standing)
}
