package circuit

import "math"

// coreConductance is what one of the three cells must give to the air per
// kelvin so that the whole core has the effectiveness of a cross-flow
// exchanger with both streams unmixed,
//
//	eps = 1 - exp((N^0.22/r)(exp(-r N^0.78) - 1)),  N = UA/C_min, r = C_min/C_max
//
// (Kays & London, Compact Heat Exchangers; Incropera et al.; within 0.011 of
// the exact solution). Q = eps C_min (T_in - T_air) = eps_c W (T_in - T_air),
// and cells in series leave (W/(W+G))^3 = 1 - eps_c: equations (14) and (16) of
// docs/model.md.
func (p *plant) coreConductance(w float64) float64 {
	w = max(w, leastCoreFlow)
	coolantSide := p.coolantSide / power8(w)
	ua := 1 / (p.airSide + coolantSide)
	least, most := w, p.airCapacity
	if least > most {
		least, most = most, least
	}
	share := min(effectiveness(ua/least, least/most)*least/w, numerics.CoreMost.Value)
	return w * (1/math.Cbrt(1-share) - 1)
}

// effectiveness is the share of the greatest possible heat that a cross-flow
// exchanger, both streams unmixed, passes on: equation (15) of docs/model.md.
func effectiveness(units, ratio float64) float64 {
	units = min(units, mostUnits)
	if units <= 0 {
		return 0
	}
	if ratio < numerics.CoreStill.Value {
		return 1 - exp(-units)
	}
	n22 := exp(0.22 * logOf(units))
	return 1 - exp(n22/ratio*(exp(-ratio*units/n22)-1))
}

// coreTable remembers coreConductance for one state of the air, as a function
// of coolant flow: the solver asks for it thousands of times between two
// changes of the air. Interpolation is cubic in w^(1/4), in which the function
// is nearly straight; a test holds it to 1 part in 1,000 on the mean and to
// the formula's own error at its kinks.
type coreTable struct {
	air      float64 // plant.airSide that it was made for
	asked    int     // direct answers so far
	ready    bool
	low, per float64 // w^(1/4) of the first knot, knots per unit of it
	most     float64 // W/K up to which it reaches
	knots    [coreKnots + 2]float64
}

const (
	coreKnots = 18
	coreSlots = 3 // fan off, fan on, and one more
)

// coreAt is the conductance of one cell at a coolant flow of w, W/K.
func (p *plant) coreAt(w float64) float64 {
	if p.c.FanKind == FanViscous {
		return p.coreConductance(w)
	}
	for i := range p.core {
		if k := &p.core[i]; k.air == p.airSide {
			return k.at(p, w)
		}
	}
	p.coreNext = (p.coreNext + 1) % coreSlots
	k := &p.core[p.coreNext]
	k.air, k.asked, k.ready = p.airSide, 0, false
	return k.at(p, w)
}

// forget drops what is remembered, so that a situation's answer does not hang
// on which others were run before it.
func (p *plant) forget() {
	p.lastFresh, p.coreNext = false, 0
	for i := range p.core {
		p.core[i] = coreTable{}
	}
}

func (k *coreTable) at(p *plant, w float64) float64 {
	if !k.ready || w > k.most {
		if k.asked++; k.asked <= int(numerics.CoreWaits.Value) {
			return p.coreConductance(w)
		}
		k.fill(p)
		if w > k.most {
			return p.coreConductance(w)
		}
	}
	x := (fourthRoot(max(w, leastCoreFlow)) - k.low) * k.per
	i := min(max(int(x), 0), coreKnots-2)
	x -= float64(i)
	// Catmull-Rom between knots i and i+1; knots are stored one place on.
	a, b, c, d := k.knots[i], k.knots[i+1], k.knots[i+2], k.knots[i+3]
	return b + 0.5*x*(c-a+x*(2*a-5*b+4*c-d+x*(3*(b-c)+d-a)))
}

func (k *coreTable) fill(p *plant) {
	k.ready = true
	f := flows{}
	head := p.rootHead
	p.rootHead = math.Sqrt(p.pumpHead)
	p.network(1, &f)
	p.rootHead = head
	k.most = max(numerics.CoreReach.Value*f.radiator, 2*leastCoreFlow)
	k.low = fourthRoot(leastCoreFlow)
	step := (fourthRoot(k.most) - k.low) / (coreKnots - 1)
	k.per = 1 / step
	for i := 1; i <= coreKnots; i++ {
		w := k.low + float64(i-1)*step
		w *= w
		k.knots[i] = p.coreConductance(w * w)
	}
	// Beyond the ends the parabola through the last three knots goes on.
	k.knots[0] = 3*k.knots[1] - 3*k.knots[2] + k.knots[3]
	const n = coreKnots
	k.knots[n+1] = 3*k.knots[n] - 3*k.knots[n-1] + k.knots[n-2]
}

func fourthRoot(x float64) float64 { return math.Sqrt(math.Sqrt(x)) }
