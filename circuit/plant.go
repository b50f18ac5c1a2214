package circuit

import (
	"math"

	"weephole/coolant"
)

// vector is the state that the integrator steps: temperatures in degC.
type vector [numStates]float64

const (
	iMetal = iota
	iBlock
	iCoolant
	iCell1
	iCell2
	iCell3
	iWax
	iSensor
	iClutch // air behind the core as the fan clutch feels it
	numStates
)

// plant holds what stays the same while conditions, stage, fan step and
// coolant level do: everything that need not be computed at each step.
type plant struct {
	c *Circuit

	// For the run.
	ambient, airPa        float64
	density, heatCapacity float64 // kg/m3, J/kgK of the liquid at 90 degC
	rhoCp                 float64
	expansion             [2]float64 // share of volume gained from 20 degC: linear and quadratic
	boilA, boilB          float64    // 1/T_boil[K] = boilA - boilB ln p
	grille                float64    // K per K of coolant rise
	hoodOpen, heaterOn    bool

	// For the stage.
	running           bool
	revs, speed       float64
	standing          float64 // 1 standing .. 0 moving, for bay air
	airCon            bool
	blower            float64
	heatCold, heatHot float64 // W: heat = heatCold*coldFactor + heatHot
	blockShare        float64 // of the heat
	blockUA           float64 // W/K metal to block
	lossUA            float64 // W/K coolant to ambient, and the same for the block
	lossBlock         float64
	load              float64 // 0..1 for combustion leaks
	ram               float64 // kg/s
	pumpHead          float64 // Pa at no flow, gas not counted
	radiatorK         float64 // conductance with blockage and collapse

	// For the level.
	locked               float64 // 0 none .. 1 a pocket that fills the way
	siphon               float64 // W/K by warm coolant rising through an open valve
	gas                  float64 // share of gas in the pump's way
	rootHead             float64 // sqrt(pump head with gas)
	metalCap, blockCap   float64
	coolantCap, cellCap  float64
	metalUA              float64
	sensorDry, heaterDry float64 // 0 wet .. 1 dry

	// For the fan.
	fanStep     int // 0 off, 1 low, 2 full
	fanAir      float64
	airSide     float64 // m2-free resistance of the air side, K/W
	airFlow     float64 // signed kg/s, not for viscous fans
	airCapacity float64 // W/K
	airRise     float64 // K by the condenser
	faceShare   float64
	tubeShare   float64
	coolantSide float64 // K/W at 1 W/K^0.8 of flow

	// Answers kept.
	core       [coreSlots]coreTable
	coreNext   int
	lastFresh  bool
	lastTravel float64
	lastLift   float64
	lastFlows  flows
}

// Mix is the circuit's coolant.
func (c *Circuit) Mix() coolant.Mix {
	kind := coolant.Ethylene
	if c.Propylene {
		kind = coolant.Propylene
	}
	mix, err := coolant.NewMix(kind, min(max(c.GlycolVolumeFraction, 0), 1))
	if err != nil { // cannot be: the fraction is within 0..1
		panic(err)
	}
	return mix
}

// setRun prepares for a circuit in given surroundings.
func (p *plant) setRun(c *Circuit, cond Conditions) {
	*p = plant{c: c, ambient: cond.AmbientC, hoodOpen: cond.HoodOpen, heaterOn: cond.HeaterOn}
	p.airPa = coolant.PressureAtAltitudePa(cond.AltitudeM)
	mix := c.Mix()
	p.density, p.heatCapacity = mix.DensityKgM3(90), mix.HeatCapacityJKgK(90)
	p.rhoCp = p.density * p.heatCapacity
	cold, middle := mix.DensityKgM3(20), mix.DensityKgM3(55)
	e1, e2 := cold/middle-1, cold/p.density-1
	p.expansion[1] = (e2/70 - e1/35) / 35
	p.expansion[0] = e1/35 - p.expansion[1]*35
	// Clausius-Clapeyron through two exact points: within 0.2 K between them.
	p1, p2 := p.airPa, p.airPa+120e3
	t1, t2 := 1/(mix.BoilingC(p1)+kelvin), 1/(mix.BoilingC(p2)+kelvin)
	p.boilB = (t1 - t2) / math.Log(p2/p1)
	p.boilA = t1 + p.boilB*math.Log(p1)
	p.tubeShare = max(1-c.TubesBlocked, leastOpen)
	p.faceShare = max(1-c.FaceBlocked, leastOpen)
	p.coolantSide = (1 - c.AirSideShare) / c.RadiatorUA / (p.tubeShare * p.faceShare) *
		math.Pow(c.RadiatorCoolantRef*p.heatCapacity*p.tubeShare, -coolantPower)
	p.cellCap = c.RadiatorHeatCapacity / tubeCells
	p.metalCap, p.blockCap = c.MetalHeatCapacity, c.BlockHeatCapacity
	p.grille = c.GrilleRiseC / grilleFullRise
	if cond.HoodOpen {
		p.grille *= hoodOpenShare
	}
}

const kelvin = 273.15

// setStage prepares for one stage of the run.
func (p *plant) setStage(s *Stage, ambient float64) {
	p.lastFresh = false
	c := p.c
	p.ambient = ambient
	if s.AmbientKnown {
		p.ambient = s.AmbientC
	}
	p.running = !s.EngineOff
	p.revs, p.speed, p.airCon, p.blower = s.EngineRevPerSec, s.RoadSpeedMS, s.AirCon && p.running, s.Blower
	if p.heaterOn && p.running {
		p.blower = max(p.blower, 1)
	}
	if !p.running {
		p.revs = 0
	} else if p.revs == 0 {
		p.revs = c.IdleSpeed
	}
	p.standing = max(0, 1-p.speed/grilleGoneSpeed)
	p.setHeat(s)
	p.setLosses()
	p.setPump()
}

// setHeat works out the heat from fuel of a stage: what shrinks as the engine warms,
// what does not, and the share of full load.
func (p *plant) setHeat(s *Stage) {
	c := p.c
	idle := 0.0 // W of fuel against the engine's own friction at idle
	friction, work := 0.0, 0.0
	if p.running {
		idle = c.IdleFuelPower
		if p.airCon {
			idle *= c.AirCondFuelFactor
		}
		friction = c.IdleFuelPower*p.revs/c.IdleSpeed + idle - c.IdleFuelPower
		density := airDensity * p.airPa / referenceAirPa
		force := c.VehicleMass*Gravity*(c.RollingResistance+s.Grade) + 0.5*density*c.DragArea*p.speed*p.speed
		work = max(0, force*p.speed) / c.IndicatedEfficiency // equation (9) of docs/model.md
	}
	coldTerm := c.IdleHeatShare*idle + c.LoadHeatShare*max(0, friction-idle)
	p.heatCold, p.heatHot = c.ExcessHeatFactor*coldTerm, c.ExcessHeatFactor*c.LoadHeatShare*work
	if s.FuelKnown && p.running {
		// All fuel of a standing car goes into friction and heat, however much the
		// cold engine asks for; of a moving one, what the warm idle needs.
		low := min(s.FuelPowerW, idle)
		low += p.standing * (s.FuelPowerW - low)
		p.heatCold = 0
		p.heatHot = c.ExcessHeatFactor * (c.IdleHeatShare*low + c.LoadHeatShare*(s.FuelPowerW-low))
		work = max(0, s.FuelPowerW-friction)
	}
	p.blockShare = c.BlockHeatShare
	p.load = min(1, work/(loadFull*c.IdleFuelPower))
}

// setLosses works out what joins the slow metal to the near metal, and what the
// engine loses to the air beside the radiator.
func (p *plant) setLosses() {
	c := p.c
	speedRatio := standingBlockUA
	if p.running {
		speedRatio = math.Pow(p.revs/c.IdleSpeed, blockFlowPower)
	}
	p.blockUA = c.MetalBlockUA * speedRatio
	loss := c.StandingLossUA
	if p.speed > 0 {
		loss += c.MovingLossUA * math.Pow(p.speed/movingLossSpeed, movingLossPower)
	}
	p.lossUA, p.lossBlock = coolantLossShare*loss, (1-coolantLossShare)*loss
	if !p.running {
		p.lossUA *= stoppedLoss
	}
}

// setPump works out the pump's head, what is in the way of the flow, and the air
// that the fan and the road move.
func (p *plant) setPump() {
	c := p.c
	slip := min(1, max(0, c.BeltSlip+c.BeltSlipWithSpeed*p.revs/collapseSpeed))
	pumpRevs := p.revs * (1 - slip)
	p.pumpHead = 0
	if pumpRevs > leastPumpSpeed {
		p.pumpHead = c.PumpHead * c.PumpDirection * pumpRevs * pumpRevs
	}
	collapse := min(mostCollapse, max(0, c.LowerHoseCollapse*p.revs/collapseSpeed))
	p.radiatorK = c.RadiatorConductance * p.tubeShare * (1 - collapse)
	p.ram = c.RamAir * p.speed
	beltRevs := 1.0
	if c.FanKind == FanViscous {
		beltRevs = p.revs * (1 - slip) / c.IdleSpeed
	}
	p.fanAir = c.FanAir * c.FanWorks * c.ShroudShare * beltRevs
}

// setLevel prepares for the coolant and gas that are there; gas takes the pump's
// head by equation (11) of docs/model.md, and keeps warm coolant from rising.
func (p *plant) setLevel(fill, combustionMol float64) {
	p.lastFresh = false
	c := p.c
	missing := max(0, 1-fill)
	bubbles := combustionMol * gasConstant * bubbleK / bubblePa * gasResidence / c.CoolantVolume
	pocket := max(0, missing-tankShare) + c.TrappedAir
	p.gas = pocket + bubbles
	g := p.gas / c.GasScale
	p.locked = min(1, pocket/(gasFills*c.GasScale))
	lift := p.density * Gravity * gasLift * p.locked
	p.siphon = thermosiphonFlow * p.rhoCp * (1 - p.locked)
	p.rootHead = math.Sqrt(max(0, p.pumpHead*exp(-g*g*g)-lift))
	p.coolantCap = max(leastJacket, 1-p.gas) * c.JacketShare * c.CoolantVolume * p.rhoCp
	wetted := max(leastWetted, 1-dryingWalls*max(0, p.gas-wallsDryFrom))
	p.metalUA = c.MetalCoolantUA * wetted / (1 + scaleResistance*c.JacketScale)
	p.sensorDry = min(1, max(0, (p.gas-sensorDryFrom)/sensorDrySpan))
	p.heaterDry = min(1, max(0, (p.gas-heaterDryFrom)/heaterDrySpan))
}

// sensorMisses is the share of the rise over ambient that a sensor fallen dry does
// not see with the coolant at tC. It hangs in gas and vapour. Vapour condenses on
// whatever is colder, and has its share of the pressure: equation (11b) of
// docs/model.md.
func (p *plant) sensorMisses(tC float64) float64 {
	if p.sensorDry == 0 {
		return 0
	}
	return sensorDryRise * p.sensorDry * max(0, 1-p.vapourPa(tC)/p.limitPa(tC))
}

// convected is what warms the upper hose without flow, W/K, with the coolant at tC
// and the valve at lift: coolant that rises, or steam behind a pocket of gas. An
// outlet valve stands before the hose.
func (p *plant) convected(tC, lift float64) float64 {
	rising, open := hoseConvection*(1-p.locked), 1.0
	if !p.c.ThermostatOnInlet {
		rising, open = 0, lift
	}
	if p.locked == 0 {
		return rising
	}
	return rising + p.locked*open*p.c.HoseVapour*min(1, p.vapourPa(tC)/p.limitPa(tC))
}

// setFan prepares the air side for a step of the fan. Air flows are signed:
// pressures add, so that m|m| = ram^2 + fan^2 with the fan's sign:
// equation (17) of docs/model.md.
func (p *plant) setFan(step int) {
	p.fanStep = step
	if p.c.FanKind == FanViscous {
		return
	}
	share := 0.0
	switch step {
	case 1:
		share = p.c.FanLowShare
	case 2:
		share = 1
	}
	p.setAir(p.fanAir * share)
}

// setAir prepares the air side for the fan's own air, kg/s.
func (p *plant) setAir(fan float64) {
	p.lastFresh = false
	c := p.c
	if c.FanDirection < 0 {
		fan *= -reversedFan
	}
	m2 := p.ram*p.ram + c.FanOffAir*c.FanOffAir*p.standing + fan*math.Abs(fan)
	p.airFlow = math.Copysign(math.Sqrt(math.Abs(m2)), m2) * p.faceShare
	flow := max(math.Abs(p.airFlow), leastAir)
	p.airCapacity = flow * airHeatCapacity
	p.airSide = c.AirSideShare / c.RadiatorUA / p.faceShare *
		exp(airSidePower*logOf(flow/(p.faceShare*c.RadiatorAirRef))) / p.tubeShare
	p.airRise = 0
	if p.airCon && p.airFlow > 0 {
		p.airRise = min(c.CondenserHeat/p.airCapacity, condenserMostK)
	}
}

// coldFactor multiplies the idle fuel of an engine whose slow metal and oil
// are at tC: most of it is friction. Equation (8) of docs/model.md.
func (p *plant) coldFactor(tC float64) float64 {
	if tC >= fuelWarmC {
		return 1
	}
	return min(fuelColdMost, 1+(p.c.ColdFuelFactor-1)*(fuelWarmC-tC)/(fuelWarmC-fuelColdC))
}

// boilingC is the boiling point under an absolute pressure.
func (p *plant) boilingC(pa float64) float64 { return 1/(p.boilA-p.boilB*logOf(pa)) - kelvin }

// vapourPa is the pressure of the liquid's vapour.
func (p *plant) vapourPa(tC float64) float64 {
	return exp((p.boilA - 1/(tC+kelvin)) / p.boilB)
}

// swell is the share of volume gained since 20 degC.
func (p *plant) swell(tC float64) float64 {
	d := tC - 20
	return (p.expansion[0] + p.expansion[1]*d) * d
}
