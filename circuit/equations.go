package circuit

import "math"

// flows is the answer of the algebraic network for one lift of the valve.
type flows struct {
	radiator, heater, bypass float64 // W/K: mass flow times heat capacity
	core                     float64 // W/K of one cell to the air
	jacket                   float64 // W/K metal to coolant
}

// terms holds what one evaluation of the equations found, for the Jacobian
// and for readings.
type terms struct {
	flows
	lift                 float64
	airC                 float64 // air as it meets the core
	heaterG              float64 // W/K taken by the cabin
	heat, heatBlock      float64 // W
	boil                 float64 // W
	returnShare, coreWay float64 // what the wax sees: coolant and core-outlet weights
	heatOut              float64 // W leaving the circuit
	boiling              bool
	wall                 float64 // W/K that boiling at the walls adds to the jacket, over the boiling point
}

// liftAt is the valve's lift at a wax temperature, given where it stood: the
// closing line lies Hysteresis below the opening line, and between the two
// the valve stays where it is (a play operator). Equation (13) of docs/model.md.
func (p *plant) liftAt(waxC, stood float64) float64 {
	opening := (waxC - p.c.OpeningC) / p.c.OpeningSpan
	closing := opening + p.c.Hysteresis/p.c.OpeningSpan
	return min(1, max(0, min(max(stood, opening), closing)))
}

// network solves the flow network. The pump's head n^2 H0 falls over the
// engine (K_e) and over the parallel branches (K): Q = sqrt(H0/(1/K^2+1/K_e^2)),
// equation (10) of docs/model.md; the jacket's coefficient is (12).
// The radiator branch is valve and radiator in series. The valve passes as
// lift^1.5, for near its seat the plate still stands in the way; with a
// straight line the model hunts more than cars do. Judgement.
func (p *plant) network(travel float64, f *flows) (lift float64) {
	c := p.c
	lift = min(max(travel, c.MinLift), c.MaxLift)
	kv := c.ThermostatConductance * (c.LeakLift + (1-c.LeakLift)*lift*math.Sqrt(lift))
	ks := kv * p.radiatorK / math.Sqrt(kv*kv+p.radiatorK*p.radiatorK)
	kh := c.HeaterConductance
	kb := c.BypassConductance * (1 - c.BypassClosing*lift)
	k := kb + kh + ks
	ke := c.EngineConductance
	perK := p.rootHead * ke / math.Sqrt(k*k+ke*ke) // m3/s per conductance
	w := perK * p.rhoCp
	f.radiator = w*ks + p.siphon*lift
	f.heater = w * kh * (1 - p.heaterDry)
	f.bypass = w * kb
	f.jacket = p.metalUA * max(jacketFloor, power8(perK*k/jacketFlowRef))
	return lift
}

// flowsAt is network with the core's conductance added. While nothing moves
// it gives the last answer again.
func (p *plant) flowsAt(travel float64, f *flows) (lift float64) {
	if travel == p.lastTravel && p.lastFresh {
		*f = p.lastFlows
		return p.lastLift
	}
	lift = p.network(travel, f)
	f.core = p.coreAt(f.radiator)
	p.lastTravel, p.lastLift, p.lastFlows, p.lastFresh = travel, lift, *f, true
	return lift
}

// power8 is x^0.8, 0 for 0.
func power8(x float64) float64 {
	if x <= 0 {
		return 0
	}
	return exp(0.8 * logOf(x))
}

// airInto is the air as it meets the core.
func (p *plant) airInto(airC, coolantC float64) float64 {
	rise := coolantC - airC
	into := airC + p.airRise
	if p.standing > 0 {
		if p.airFlow < 0 {
			return into + hotBayBack*rise*p.standing
		}
		grille := p.grille
		if p.fanStep == 0 && p.c.FanKind != FanViscous {
			grille *= grilleFanOff
		}
		into += grille * min(max(rise, 0), grilleMost*grilleFullRise) * p.standing
	}
	return into
}

// rates evaluates the equations: dy/dt at y, with the valve having stood at
// stood and the liquid boiling at boilC.
func (p *plant) rates(y *vector, stood, boilC float64, t *terms, dy *vector) {
	c := p.c
	tc := y[iCoolant]
	if c.FanKind == FanViscous {
		p.setClutchAir(y[iClutch])
	}
	t.lift = p.flowsAt(p.liftAt(y[iWax], stood), &t.flows)
	rise := tc - p.ambient
	t.airC = p.airInto(p.ambient, tc)
	factor := p.coldFactor(y[iBlock])
	t.heat = p.heatCold*factor + p.heatHot
	t.heatBlock = p.blockShare * t.heat
	t.heaterG = 0
	if p.blower > 0 {
		t.heaterG = p.heaterConductance(t.heater)
	}
	t.boil = 0
	if t.boiling = tc > boilC; t.boiling {
		t.boil = boilUA * (tc - boilC)
	}

	metal, block := y[iMetal], y[iBlock]
	toCoolant := t.jacket * (metal - tc)
	t.wall = 0
	if metal > boilC {
		t.wall = wallBoiling * p.metalUA
		toCoolant += t.wall * (metal - boilC)
	}
	toBlock := p.blockUA * (metal - block)
	// Equations (1) to (7) of docs/model.md.
	dy[iMetal] = (t.heat - t.heatBlock - toCoolant - toBlock) / p.metalCap
	dy[iBlock] = (t.heatBlock + toBlock - p.lossBlock*(block-p.ambient)) / p.blockCap
	out := p.lossUA*rise + t.heaterG*rise + t.boil
	dy[iCoolant] = (toCoolant + t.radiator*(y[iCell3]-tc) - out) / p.coolantCap
	w, g := t.radiator/p.cellCap, t.core/p.cellCap
	dy[iCell1] = w*(tc-y[iCell1]) - g*(y[iCell1]-t.airC)
	dy[iCell2] = w*(y[iCell1]-y[iCell2]) - g*(y[iCell2]-t.airC)
	dy[iCell3] = w*(y[iCell2]-y[iCell3]) - g*(y[iCell3]-t.airC)
	t.heatOut = out + p.lossBlock*(block-p.ambient) +
		t.core*(y[iCell1]+y[iCell2]+y[iCell3]-3*t.airC)

	t.returnShare, t.coreWay = c.WaxCoupling, 0
	if c.ThermostatOnInlet {
		core := inletMix * t.radiator
		rest := t.bypass + t.heater + leastCoreFlow
		t.coreWay = c.WaxCoupling * core / (core + rest)
		t.returnShare = c.WaxCoupling - t.coreWay
	}
	seen := t.returnShare*tc + t.coreWay*y[iCell3] + (1-c.WaxCoupling)*p.ambient
	dy[iWax] = (seen - y[iWax]) / c.WaxLag
	dy[iSensor] = (tc - p.sensorMisses(tc)*rise - y[iSensor]) / c.SensorLag
	air := t.core * (y[iCell1] + y[iCell2] + y[iCell3] - 3*t.airC) / p.airCapacity
	dy[iClutch] = (t.airC + air - y[iClutch]) / clutchLag
}

// inletMix is the weight of the radiator's return against the bypass jet on
// the wax of an inlet thermostat, whose element sits on the bypass side.
// Judgement.
const inletMix = 0.35

// heaterConductance is the heat the cabin takes per kelvin of coolant over
// cabin-inlet air: a stream W against a mean-air resistance 1/UA + 1/(2 C_air),
// equation (18) of docs/model.md.
func (p *plant) heaterConductance(w float64) float64 {
	if w < leastHeater {
		return 0
	}
	resistance := 1/p.c.HeaterUA + 0.5/(cabinAir*p.blower*airHeatCapacity)
	return w * (1 - exp(-1/(w*resistance)))
}

// setClutchAir prepares the air side of a viscous fan for the air temperature
// its bimetal feels.
func (p *plant) setClutchAir(feltC float64) {
	p.setAir(min(p.fanAir*p.clutchShare(feltC), clutchFanMost*p.c.FanAir*p.c.FanWorks*p.c.ShroudShare))
}

// clutchShare is the share of fan speed that the clutch passes on.
func (p *plant) clutchShare(feltC float64) float64 {
	x := min(1, max(0, (feltC-p.c.ClutchOnC)/clutchSpan))
	return p.c.ClutchFree + (p.c.ClutchEngaged-p.c.ClutchFree)*x*x*(3-2*x)
}

// engaged is how far a clutch that passes on so much of the speed has engaged.
func (c *Circuit) engaged(share float64) float64 {
	return (share - c.ClutchFree) / max(c.ClutchEngaged-c.ClutchFree, numerics.ClutchLeast.Value)
}
