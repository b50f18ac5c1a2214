package circuit

import "math"

// Steady answers a question without integrating: a circuit is run in one way until
// nothing changes any more; in which air does its coolant then leave the engine at
// so many degrees? One per goroutine.
//
// The rates of all equations are set to zero (equations (1) to (7) of docs/model.md).
// At a known coolant temperature the rest is linear in the air but for the fan
// clutch, the wax of an inlet thermostat and the cold factor.
//
// The engine is thought to come from below: valve and fan stand on their rising
// lines. Where they would switch to and fro at that temperature, so that no state is
// steady, the answer is the air of the rising line.
type Steady struct {
	p       plant
	net     float64 // W that the coolant still gains
	rest    Rest
	flows   flows
	lastGas float64
}

// Rest is a circuit that no longer changes.
type Rest struct {
	AirC     float64 // the weather's; Coldest where no air is cold enough
	CoolantC float64 // leaving the engine
	MetalC   float64 // head
	BlockC   float64 // the slow rest
	Lift     float64 // of the valve
	FanShare float64 // of full speed
	HeatW    float64 // from the fuel to metal and coolant
	CellsC   [tubeCells]float64
}

// Coldest is the coldest air that is looked at, degC: there is none below.
const Coldest = -kelvin

// Set prepares for a circuit that is run as the stage says. The level stays as it
// is, and nothing boils, not even at the walls: metal of an engine without flow is
// then put too hot, which is the safe side.
func (s *Steady) Set(c *Circuit, altitudeM float64, stage *Stage) {
	s.p.setRun(c, Conditions{AltitudeM: altitudeM})
	s.p.setStage(stage, 0)
	s.setGas(0)
}

func (s *Steady) setGas(rate float64) {
	s.lastGas = rate
	s.p.setLevel(s.p.c.Fill, rate)
}

// Air finds the air in which the coolant comes to rest at coolantC.
func (s *Steady) Air(coolantC float64) Rest {
	p, c := &s.p, s.p.c
	if s.lastGas != 0 {
		s.setGas(0)
	}
	s.fan(coolantC)
	s.solve(coolantC)
	if gas := c.CombustionGas * (c.CombustionAtIdle + (1-c.CombustionAtIdle)*p.load); gas > 0 && p.running && s.rest.MetalC > c.CombustionOpensC {
		s.setGas(gas)
		s.fan(coolantC)
		s.solve(coolantC)
	}
	return s.rest
}

// fan puts an electric fan on the step that it has come to from below.
func (s *Steady) fan(coolantC float64) {
	p := &s.p
	seen := coolantC - p.sensorMisses(coolantC)*(coolantC-p.ambient)
	step := p.fanNext(0, seen)
	p.setFan(step)
	switch {
	case p.c.FanKind == FanViscous:
	case step == 1:
		s.rest.FanShare = p.c.FanLowShare
	case step == 2:
		s.rest.FanShare = 1
	default:
		s.rest.FanShare = 0
	}
}

// solve looks for the air.
func (s *Steady) solve(coolantC float64) {
	low, high := Coldest, coolantC
	fLow, fHigh := s.at(low, coolantC), s.at(high, coolantC)
	if fLow >= 0 { // too hot in any air
		s.at(low, coolantC)
		return
	}
	if fHigh <= 0 {
		return // no heat at all: only air as hot as the coolant keeps it so
	}
	falsePosition(low, high, fLow, fHigh, func(air float64) (float64, bool) {
		f := s.at(air, coolantC)
		return f, math.Abs(f) < numerics.BalanceWithin.Value*(1+s.rest.HeatW)
	})
}

// at gives the heat, W, that the coolant gains in the air given, and writes the rest
// of the state.
func (s *Steady) at(airC, coolantC float64) float64 {
	p := &s.p
	p.ambient = airC
	if p.c.FanKind != FanViscous {
		return s.balance(airC, coolantC)
	}
	// The air behind the core moves the clutch, and the clutch the air: what it feels
	// falls as it grips, so there is one answer.
	low, high := airC, coolantC+condenserMostK
	for range int(numerics.ClutchHalves.Value) {
		felt := 0.5 * (low + high)
		p.setClutchAir(felt)
		f := s.balance(airC, coolantC)
		if high-low < numerics.ClutchWithin.Value {
			s.rest.FanShare = p.c.engaged(p.clutchShare(felt))
			return f
		}
		if s.behind(airC, coolantC) > felt {
			low = felt
		} else {
			high = felt
		}
	}
	return s.net
}

// behind is the air behind the core.
func (s *Steady) behind(airC, coolantC float64) float64 {
	p := &s.p
	into := p.airInto(airC, coolantC)
	x := passed(&s.flows)
	return into + s.flows.core*(coolantC-into)*(x+x*x+x*x*x)/p.airCapacity
}

// passed is the share of the coolant's rise over the air that one cell lets through.
func passed(f *flows) float64 {
	if f.radiator+f.core <= 0 {
		return 0
	}
	return f.radiator / (f.radiator + f.core)
}

// balance is the heat that the coolant gains with the fan's air as it is.
func (s *Steady) balance(airC, coolantC float64) float64 {
	p, f := &s.p, &s.flows
	into := p.airInto(airC, coolantC)
	s.lift(airC, into, coolantC)
	x := passed(f)
	core := f.radiator * (coolantC - into) * (1 - x*x*x)
	jacket := max(f.jacket, numerics.JacketLeast.Value)
	metal, block, heat := coolantC, coolantC, 0.0
	factor := 1.0
	for range int(numerics.ColdTries.Value) {
		heat = p.heatCold*factor + p.heatHot
		slow := p.blockShare * heat
		// block: slow + B (m - b) = L (b - air); metal: heat - slow = J (m - t) + B (m - b)
		b := p.blockUA + p.lossBlock
		metal = (heat - slow + jacket*coolantC + p.blockUA*(slow+p.lossBlock*airC)/b) /
			(jacket + p.blockUA - p.blockUA*p.blockUA/b)
		block = (slow + p.blockUA*metal + p.lossBlock*airC) / b
		next := p.coldFactor(block)
		if math.Abs(next-factor) < numerics.ColdWithin.Value {
			break
		}
		factor = next
	}
	heater := 0.0
	if p.blower > 0 {
		heater = p.heaterConductance(f.heater) * (coolantC - airC)
	}
	s.net = jacket*(metal-coolantC) - core - p.lossUA*(coolantC-airC) - heater
	cell := coolantC
	for i := range s.rest.CellsC {
		cell = into + x*(cell-into)
		s.rest.CellsC[i] = cell
	}
	s.rest.AirC, s.rest.CoolantC, s.rest.MetalC, s.rest.BlockC, s.rest.HeatW = airC, coolantC, metal, block, heat
	return s.net
}

// lift opens the valve as far as its wax says on the rising line, and works out the
// flows. The wax of an inlet thermostat feels the core's return, which grows with the
// lift: there is one answer, found by halving.
func (s *Steady) lift(airC, into, coolantC float64) {
	p, c := &s.p, s.p.c
	sees := func() float64 { // with the flows as they are
		astray := (1 - c.WaxCoupling) * airC
		if !c.ThermostatOnInlet {
			return c.WaxCoupling*coolantC + astray
		}
		x := passed(&s.flows)
		cell := into + (coolantC-into)*x*x*x
		core := inletMix * s.flows.radiator
		way := core / (core + s.flows.bypass + s.flows.heater + leastCoreFlow)
		return c.WaxCoupling*(coolantC+way*(cell-coolantC)) + astray
	}
	open := func(lift float64) float64 {
		s.rest.Lift = p.network(lift, &s.flows)
		s.flows.core = p.coreConductance(s.flows.radiator)
		return p.liftAt(sees(), 0)
	}
	wants := open(1)
	if wants >= 1 {
		return
	}
	if !c.ThermostatOnInlet {
		open(wants)
		return
	}
	low, high := wants, 1.0
	for range int(numerics.InletHalves.Value) {
		middle := 0.5 * (low + high)
		if open(middle) > middle {
			low = middle
		} else {
			high = middle
		}
	}
}

// Coolant finds the temperature at which the coolant comes to rest in air of airC,
// by false position on Air. Where valve or fan switch to and fro it is the temperature
// at which they do.
func (s *Steady) Coolant(airC float64) Rest {
	low, high := airC, numerics.SteadyHottest.Value
	fLow, fHigh := s.Air(low).AirC-airC, s.Air(high).AirC-airC
	if fLow >= 0 || fHigh <= 0 {
		return s.rest
	}
	falsePosition(low, high, fLow, fHigh, func(at float64) (float64, bool) {
		f := s.Air(at).AirC - airC
		return f, math.Abs(f) < numerics.SteadyWithin.Value
	})
	return s.rest
}

// falsePosition looks between low and high, where f is below and above zero, for
// where it is zero: by false position with the Illinois rule (Dowell & Jarratt
// 1971), and by halving once the ends are close. f says when it is near enough.
func falsePosition(low, high, fLow, fHigh float64, f func(x float64) (value float64, done bool)) {
	side := 0
	for range int(numerics.SteadyTries.Value) {
		x := low + (high-low)*fLow/(fLow-fHigh)
		if high-low < numerics.SteadyHalves.Value {
			x = 0.5 * (low + high)
		}
		v, done := f(x)
		switch {
		case done || high-low < numerics.SteadyEnds.Value:
			return
		case v < 0:
			low, fLow = x, v
			if side < 0 {
				fHigh /= 2
			}
			side = -1
		default:
			high, fHigh = x, v
			if side > 0 {
				fLow /= 2
			}
			side = +1
		}
	}
}
