package circuit

import "math"

// Snapshot is what could be read in a circuit at a moment of a run.
// Temperatures in degC, flows in kg/s.
type Snapshot struct {
	CoolantC   float64 // leaving the engine
	SensorC    float64 // what the engine computer reads
	GaugeC     float64 // what the dash gauge shows
	MetalC     float64 // head and liners
	BlockC     float64 // the slow rest
	WaxC       float64 // thermostat element
	AirIntoC   float64 // air ahead of the radiator's core
	BayC       float64 // air around hoses
	UpperHoseC float64 // coolant in the hose from engine to radiator
	LowerHoseC float64 // coolant in the hose from radiator to pump

	UpperHoseSurfaceC     float64 // as an infrared gun on dark rubber shows it
	LowerHoseSurfaceC     float64
	HeaterInHoseSurfaceC  float64
	HeaterOutHoseSurfaceC float64
	VentAirC              float64    // cabin air from the heater at full blower
	Face                  [3]float64 // thirds of the radiator's face along the flow
	ThermostatDropK       float64    // engine side minus radiator side

	Lift            float64 // of the valve, 0..1
	FanShare        float64 // fan commanded or engaged, 0..1
	AirKgS          float64 // through the core; negative when it goes backwards
	FanAirKgS       float64 // the same, 0 while the fan is not commanded
	RadiatorFlowKgS float64
	HeaterFlowKgS   float64
	BypassFlowKgS   float64
	HeatW           float64 // from the fuel to metal and coolant
	LostW           float64 // leaving the circuit
	PressurePa      float64 // gauge
	Fill            float64 // share of the coolant volume present
	AirShare        float64 // share of the volume that is gas beyond the cushion
	GasMolS         float64 // combustion gas entering
	Boiling         bool
}

// read fills in s.reading for the temperatures y.
func (s *Solver) read(st *State, y *vector) {
	var t terms
	var rate vector
	s.p.rates(y, st.stood, s.boiling(y), &t, &rate)
	s.p.fill(&s.reading, st, y, &t)
}

func (s *Solver) boiling(y *vector) float64 {
	if y[iCoolant] < numerics.WorthBoiling.Value {
		return numerics.NeverBoils.Value
	}
	return s.p.boilingC(s.p.limitPa(y[iCoolant]))
}

// fill works out a reading.
func (p *plant) fill(r *Snapshot, st *State, y *vector, t *terms) {
	c := p.c
	bay := p.bayC(y[iCoolant], t)
	ratio := 1 / (1 + hoseR*p.hoseH())
	*r = Snapshot{
		CoolantC: y[iCoolant], SensorC: c.Reads(y[iSensor]), MetalC: y[iMetal], BlockC: y[iBlock],
		WaxC: y[iWax], AirIntoC: t.airC, BayC: bay,
		UpperHoseC: st.hoses[upperInside], LowerHoseC: st.hoses[lowerInside],
		UpperHoseSurfaceC: shown(st.hoses[upperSurface], bay), LowerHoseSurfaceC: shown(st.hoses[lowerSurface], bay),
		Lift: t.lift, AirKgS: p.airFlow,
		RadiatorFlowKgS: t.radiator / p.heatCapacity, HeaterFlowKgS: t.heater / p.heatCapacity,
		BypassFlowKgS: t.bypass / p.heatCapacity,
		HeatW:         t.heat, LostW: t.heatOut,
		PressurePa: st.pressure - p.airPa, Fill: st.fill, AirShare: min(1, max(0, 1-st.fill)+c.TrappedAir+max(0, p.gas-max(0, 1-st.fill-tankShare)-c.TrappedAir)),
		GasMolS: st.gasRate, Boiling: t.boiling,
	}
	r.GaugeC = r.SensorC + c.GaugeOffset
	if c.GaugeDead {
		r.GaugeC = p.ambient
	}
	switch {
	case c.FanKind == FanViscous:
		r.FanShare = c.engaged(p.clutchShare(y[iClutch]))
		r.FanAirKgS = p.airFlow
	case p.fanStep > 0:
		r.FanShare, r.FanAirKgS = 1, p.airFlow
	}
	hot := y[iCoolant] - p.heaterDry*sensorDryRise*(y[iCoolant]-p.ambient)
	g := p.heaterAtFullBlower(t.heater)
	r.VentAirC = p.ambient + g*(hot-p.ambient)/(cabinAir*airHeatCapacity)
	heaterOut := y[iCoolant]
	if t.heater > 1 {
		heaterOut -= t.heaterG * (y[iCoolant] - p.ambient) / t.heater
	}
	stream := t.heater / (t.heater + hoseUA(p.hoseH()))
	in := bay + stream*(hot-bay)
	r.HeaterInHoseSurfaceC = shown(bay+ratio*(in-bay), bay)
	r.HeaterOutHoseSurfaceC = shown(bay+ratio*stream*(heaterOut-bay), bay)
	dead := min(1, deadThird*c.TubesBlocked+max(0, p.gas-tankShare))
	r.Face = [3]float64{y[iCell1], y[iCell2], y[iCell3]}
	r.Face[2] += dead * (t.airC - y[iCell3])
	if c.ThermostatOnInlet {
		r.ThermostatDropK = y[iCoolant] - r.LowerHoseC
	} else {
		r.ThermostatDropK = y[iCoolant] - r.UpperHoseC
	}
}

// deadThird is how much of the coldest third of the face is dead per share of
// dead tubes, which lie together more often than not. Judgement.
const deadThird = 1.5

// shown is what an infrared gun set to 0.95 shows of dark rubber.
func shown(surfaceC, bayC float64) float64 { return bayC + rubberShows*(surfaceC-bayC) }

// heaterAtFullBlower is heaterConductance with the blower full, whatever it
// is now.
func (p *plant) heaterAtFullBlower(w float64) float64 {
	blower := p.blower
	p.blower = 1
	g := p.heaterConductance(w)
	p.blower = blower
	return g
}

var nan = float32(math.NaN())
