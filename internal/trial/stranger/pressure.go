package stranger

import "math"

// pressure is the gas over the coolant, and what the cap lets go.
type pressure struct {
	abs    float64 // Pa
	most   float64 // Pa over the air, the highest of the run
	moles  float64 // of gas that does not condense
	liquid float64 // m3 at 20 degC
	bottle float64 // m3 pushed over into the bottle of a car without a pressurised tank
	gone   float64 // m3 lost for good in this run
	bubble float64 // share of gas on its way through the circuit
	full   float64 // m3 that the whole system holds
	circ   float64 // m3 of it in the circuit
	free   float64 // m3 of gas that does not get into the circuit
}

const (
	smallGap  = 0.03e-3 // m3 of gas under the cap of a radiator filled to the neck; judgement
	vacuum    = 5e3     // Pa at which the cap's other valve opens; common practice, no source
	capFlow   = 0.25e-3 // m3/s that an open cap passes; judgement
	gasStay   = 14.0    // s that a bubble stays in the circuit; judgement
	tankShare = 0.55    // of the tank that is gas when filled cold to the mark; judgement
)

func (p *pressure) fill(s *state) {
	c := s.c
	for _, v := range s.volume {
		p.circ += v
	}
	gas := smallGap
	p.free = 0.06e-3
	p.full = p.circ + smallGap
	if c.Tank {
		p.full = p.circ + c.VTank
		gas = tankShare * c.VTank
		p.free = 0.92 * c.VTank
	}
	p.liquid = p.full - gas - 1e-3*(c.is.missing+c.is.trapped)
	p.abs = s.outer.pressure
	space := p.full - p.liquid*(1+swells(s.meanC()))
	p.moles = math.Max(1e-6, (s.outer.pressure-s.mix.vapour(s.t[blockIn]))*math.Max(space, 1e-5)/(gasConstant*(kelvin+s.t[blockIn])))
	s.boil = s.mix.boils(p.abs)
	p.gas(s)
}

// meanC is the mean temperature of the coolant.
func (s *state) meanC() float64 {
	sum, v := 0.0, 0.0
	for i := range s.t {
		sum += s.t[i] * s.volume[i]
		v += s.volume[i]
	}
	return sum / v
}

// gas brings the share of gas in the circuit up to date.
func (p *pressure) gas(s *state) {
	space := math.Max(0, p.full-p.liquid*(1+swells(s.meanC())))
	trapped := 1e-3 * s.c.is.trapped
	in := math.Max(0, space-trapped-p.free) + math.Min(trapped, space)
	s.void = math.Min(0.9, in/p.circ+p.bubble)
}

func (p *pressure) step(s *state, dt float64) {
	c := s.c
	air := s.outer.pressure
	space := math.Max(1e-5, p.full-p.liquid*(1+swells(s.meanC())))
	tankC := 0.35*s.outer.airC + 0.65*s.t[headOut] // the tank lags and loses heat; judgement
	absK := kelvin + tankC
	// Combustion gas: mL/s of free gas at idle, more under load.
	flow := 1e-6 * (c.is.gas*(1+2*s.b.load) + c.is.gasLoad*math.Max(0, s.b.load-0.15) + c.is.gasHot*math.Max(0, math.Min(1, (s.head-95)/25))*(0.5+s.b.load))
	if s.b.rpm == 0 {
		flow = 0
	}
	p.moles += dt * flow * standardAir / (gasConstant * 300)
	p.bubble += dt * (flow*standardAir/p.abs*1.3/p.circ - p.bubble/gasStay)
	partial := s.mix.vapour(math.Min(tankC, s.t[headOut]))
	p.abs = p.under((p.moles+s.steam/waterMolar)*gasConstant*absK, space, math.Min(partial, 3e5), air)
	open := air + c.CapPa*c.CapHold*c.is.cap
	switch {
	case p.abs > open:
		p.relieve(s, open, partial, space, dt)
	case p.abs < air-vacuum:
		p.drawIn(air-vacuum, partial, absK, space, dt)
	}
	if over := p.abs - air; over > 0 && c.is.leak > 0 {
		q := 0.6 * c.is.leak * 1e-6 * math.Sqrt(2*over/s.mix.density) * dt
		p.liquid -= q
		p.gone += q
	}
	p.most = math.Max(p.most, p.abs-air)
	s.boil = s.mix.boils(p.abs)
	before := s.stored()
	p.gas(s)
	s.books.lost += before - s.stored()
}

// hoseGive is by how much hoses and tank swell, m3/Pa: judgement, 0.12 L a bar; a
// hose can be felt to swell.
const hoseGive = 0.12e-3 / 1e5

// under is the pressure of gas, energy n R T, in a space that grows with the
// pressure over the air, with vapour beside it.
func (p *pressure) under(energy, space, partial, air float64) float64 {
	b := space + hoseGive*(partial-air)
	return partial + (-b+math.Sqrt(b*b+4*hoseGive*energy))/(2*hoseGive)
}

// relieve lets out what brings the pressure back to the cap's: gas from a tank
// with gas on top, coolant from a radiator that is full; froth when it boils.
func (p *pressure) relieve(s *state, open, partial, space, dt float64) {
	c := s.c
	room := open - partial
	grow := capFlow * dt
	if room > 1000 {
		// Swollen hoses shrink back by what leaves.
		need := (space+hoseGive*(p.abs-s.outer.pressure))*(p.abs-partial)/room - space - hoseGive*(open-s.outer.pressure)
		grow = math.Min(grow, math.Max(0, need))
	}
	wet := 1.0
	if c.Tank {
		wet = math.Min(0.6, s.steam/0.4e-3) // froth; judgement
	}
	out := wet * grow
	p.liquid -= out
	if !c.Tank && c.is.cap > 0.3 && s.steam < 1e-4 && p.bottle < 0.7e-3 {
		p.bottle += out
	} else {
		p.gone += out
	}
	// The gas's part leaves as gas and steam, in proportion.
	share := math.Min(0.9, (1-wet)*grow/(space+grow))
	p.moles *= 1 - share
	s.books.lost += s.steam * share * waterHeat
	s.steam *= 1 - share
	p.abs = math.Max(open, math.Min(p.abs, open+2e4))
}

// drawIn fills a vacuum with what stands in the bottle, else with air.
func (p *pressure) drawIn(at, partial, absK, space, dt float64) {
	want := math.Min(capFlow*dt, math.Max(0, space-p.moles*gasConstant*absK/math.Max(1000, at-partial)))
	if p.bottle > 0 {
		q := math.Min(want, p.bottle)
		p.bottle -= q
		p.liquid += q
		return
	}
	p.moles += want * at / (gasConstant * absK)
}

// boilOff turns what is over the boiling point into steam, and lets steam
// condense where it is cooler: at the radiator's inlet when coolant gets there,
// else in the block.
func (s *state) boilOff() {
	boil := s.boil
	for i := blockIn; i <= headOut; i++ {
		if s.t[i] > boil {
			s.steam += s.heatOf(i) * (s.t[i] - boil) / waterHeat
			s.t[i] = boil
		}
	}
	if s.steam <= 0 {
		return
	}
	at := blockIn
	if s.f.radiator > 2e-5 {
		at = upperEnd
	}
	room := s.heatOf(at) * math.Max(0, boil-s.t[at]) / waterHeat
	m := math.Min(s.steam*0.12, 0.5*room)
	s.steam -= m
	s.t[at] += m * waterHeat / s.heatOf(at)
}
