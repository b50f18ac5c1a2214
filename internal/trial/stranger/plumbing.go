package stranger

import "math"

// plumbing holds the conductances of a car's branches, m3/s per root of Pa, and
// the pump's curve: made once from the reference flow.
type plumbing struct {
	valve, core, bypass, heater float64
	engine                      float64 // Pa/(m3/s)^2
	head                        float64 // Pa at 3000 rpm, shut off
	droop                       float64 // Pa/(m3/s) at 3000 rpm
}

// refRPM is the speed of the reference flow.
const refRPM = 3000

// valveDrop is the valve's share of the radiator branch's drop when open;
// judgement.
const valveDrop = 0.35

func (c *Car) plumb() (p plumbing) {
	q := c.RefFlow
	outer := c.PumpHead * (1 - c.Droop)
	p.head = c.PumpHead
	p.droop = c.Droop * c.PumpHead / q
	p.engine = c.EngineDrop * outer / (q * q) / (c.is.passages * c.is.passages)
	all := q / math.Sqrt((1-c.EngineDrop)*outer)
	beside := c.HeaterShare
	if !c.BypassCloses {
		beside += c.BypassShare
	}
	radiator := all / (1 + beside)
	p.bypass, p.heater = c.BypassShare*radiator, c.HeaterShare*radiator*c.is.heater
	p.valve = radiator / math.Sqrt(valveDrop)
	p.core = radiator / math.Sqrt(1-valveDrop) * (1 - c.is.deadTubes)
	return p
}

// flows are the flows at one moment, m3/s.
type flows struct{ all, radiator, bypass, heater float64 }

// flow solves pump against circuit: H n2 - b n Q = Q2 (engine + 1/K2), with the
// branches in parallel (textbook hydraulics; affinity laws of the pump).
func (c *Car) flow(p *plumbing, rpm, lift, void, siphonK float64) (f flows) {
	slip := c.is.slip * (0.6 + 0.4*math.Min(1, rpm/refRPM))
	n := rpm / refRPM * (1 - slip)
	gas := math.Max(0, 1-math.Pow(void/c.VoidStop, 2))
	impeller := c.is.impeller * gas
	valve := p.valve * (c.ShutLeak + (1-c.ShutLeak)*lift)
	core := p.core / (1 + c.is.sucked*math.Pow(rpm/refRPM, 2))
	kr := 1 / math.Sqrt(1/(valve*valve)+1/(core*core))
	kb := p.bypass
	if c.BypassCloses {
		kb *= math.Max(0.03, 1-lift)
	}
	k := kr + kb + p.heater
	s := p.engine + 1/(k*k)
	b := p.droop * n
	f.all = (-b + math.Sqrt(b*b+4*s*p.head*n*n*impeller*impeller)) / (2 * s)
	// Warm water rises: about a litre a minute at 50 K (judgement).
	siphon := 1.7e-5 * math.Sqrt(math.Max(0, siphonK)/50) * gas
	f.all = math.Max(f.all, siphon)
	f.radiator, f.bypass, f.heater = f.all*kr/k, f.all*kb/k, f.all*p.heater/k
	return f
}

// wax is the thermostat's element.
type wax struct {
	t      float64 // degC of the wax
	melted float64 // 0..1
}

// move lets the wax follow what it sees and the valve follow the wax: the
// melted share lies on an S between a melting and a freezing curve, and stays
// where it is between them. share is by how much the wax closes on what it sees.
func (c *Car) move(w *wax, seen, share float64) (lift float64) {
	w.t += (seen - w.t) * share
	start := c.RatedC + c.RatingError + c.is.opensLater
	middle, width := start+c.Span/2, c.Span/6
	rising := 1 / (1 + math.Exp(-(w.t-middle)/width))
	falling := 1 / (1 + math.Exp(-(w.t-middle+c.WaxHysteresis+c.is.closesLater)/width))
	w.melted = math.Min(math.Max(w.melted, rising), falling)
	// The ends of the S are the seat and the stop.
	lift = math.Min(1, math.Max(0, (w.melted-0.05)/0.9))
	return math.Max(c.is.minLift, lift*c.is.maxLift)
}

// sees is the temperature at the wax.
func (c *Car) sees(outlet, back, mixed float64) float64 {
	t := outlet
	if c.OnInlet {
		t = outlet*(1-c.InletBy) + mixed*c.InletBy
	}
	return t + (back-t)*c.is.waxAstray
}
