package stranger

import "math"

// cells of the radiator along the flow.
const cells = 5

// fanState is what the fan does and what it feels.
type fanState struct {
	step   float64 // 0..1 of full speed asked for, of an electric fan
	since  float64 // s since it last changed
	bimetC float64 // degC, of a clutch
	speed  float64 // 0..1 really turning
	behind float64 // degC of the air behind the core
}

// leastRun is how long a fan stays as it is, s; judgement.
const leastRun = 8

// turnFan decides the fan's speed; share is by how much a bimetal closes on the
// air behind the core.
func (c *Car) turnFan(f *fanState, reading, rpm, dt, share float64, airCon, keyOff bool) {
	if c.FanKind == Viscous {
		f.bimetC += (f.behind - f.bimetC) * share
		grips := c.is.grip / (1 + math.Exp(-(f.bimetC-c.ClutchOnC)/c.ClutchWidth))
		limit := c.ClutchLo + grips*(c.ClutchMax-c.ClutchLo)
		in := 1.1 * rpm * (1 - c.is.slip)
		f.speed = 0
		if in > 0 {
			f.speed = in / math.Cbrt(1+math.Pow(in/limit, 3)) / c.ClutchMax
		}
		return
	}
	f.since += dt
	want := f.step
	switch c.FanKind {
	case Pulsed:
		want = 0
		if reading > c.FanOnC-3 {
			want = math.Min(1, 0.3+0.7*(reading-(c.FanOnC-3))/8)
		}
	default:
		low := 1.0
		if c.FanKind == TwoSpeed {
			low = c.LowStep
			if reading >= c.FanOnC+c.SecondStep {
				want = 1
			} else if want == 1 && reading < c.FanOnC+c.SecondStep-c.FanBand {
				want = low
			}
		}
		if reading >= c.FanOnC {
			want = math.Max(want, low)
		}
		if reading <= c.FanOnC-c.FanBand {
			want = 0
		}
	}
	if airCon && c.AirCon {
		want = math.Max(want, 0.6)
		if c.FanKind == Electric {
			want = 1
		}
	}
	if c.is.fanStuck > 0 {
		want = 1
	} else if c.is.sensorOpen > 0 {
		want = 1 // the computer runs the fan when it has no reading
	}
	if keyOff && !c.Tank && c.is.fanStuck == 0 {
		want = 0
	}
	if want != f.step && (f.since > leastRun || c.FanKind == Pulsed) {
		f.step, f.since = want, 0
	}
	f.speed = f.step
	if c.is.fanLost > 0 || c.is.lowLost > 0 && f.step < 1 {
		f.speed = 0
	}
}

// draught is the air through the core: face speed, m/s, below 0 when it blows
// forward. Pressures add: ram, fan with a straight curve, losses as the square.
func (c *Car) draught(f *fanState, v, coreC, airC float64) float64 {
	half := 0.5 * airDensity
	ram := c.Ram * c.is.ram * half * v * v
	drag := c.AirDrag * half
	p, top := c.FanPressure*c.is.shroud, c.FanAir
	if c.FanKind == Viscous { // a larger fan, at its limit speed; judgement
		p, top = 2.2*p, 1.6*top
	}
	s := f.speed
	u := 0.0
	switch {
	case s <= 0:
		u = math.Sqrt(ram / (1.12 * drag)) // still blades stand in the way; judgement
	case c.is.reversed > 0:
		q := ram - 0.2*p*s*s // backward blades move less than half the air; judgement
		u = math.Copysign(math.Sqrt(math.Abs(q)/drag), q)
	default:
		b := p * s / top
		u = (-b + math.Sqrt(b*b+4*drag*(ram+p*s*s))) / (2 * drag)
	}
	rise := c.StillAir * math.Sqrt(math.Max(0, coreC-airC)/60)
	if u >= 0 {
		return math.Max(u, rise)
	}
	return u
}

// core is how the radiator stands at one moment.
type core struct {
	conduct float64 // W/K of one cell: heat over the difference to the air coming in
	airC    float64 // degC of the air coming in
	air     float64 // W/K of the air stream
}

// stillBay is how much of the air at the core is bay air when nothing moves it:
// judgement, from intake air near 60 degC in logs of a car idling on a 30 degC day
// with its fan off (carOBD, open logs; Silva Neto et al. 2019).
const stillBay = 0.40

// cool gives the radiator's conductance per cell: films on both sides in
// series, each cell with its own share of the air, eps = 1 - exp(-NTU) for a
// mixed stream against a well-mixed cell (Incropera et al., ch. 11).
func (c *Car) cool(f *fanState, u, flow, v, airC, condenser float64) (k core) {
	w := math.Max(0.02, math.Abs(u))
	open := c.Face * (1 - c.is.screened)
	k.air = airDensity * w * open * airHeat
	alive := 1 - c.is.deadTubes
	air := c.AirFilm * open * alive * math.Pow(w/3, 0.58)
	per := flow / alive
	water := c.WaterFilm * c.Face * alive * math.Max(0.2, math.Pow(per/1e-3, 0.8))
	ua := 1 / (1/air + 1/water)
	k.conduct = k.air / cells * (1 - math.Exp(-ua/k.air))
	again := c.Recirculation + c.is.drawsBack
	if f.speed <= 0 {
		again += stillBay
	}
	again *= math.Max(0, 1-v/8)
	k.airC = airC + again*math.Max(0, f.behind-airC)
	if u < 0 { // bay air, warmed by the engine
		k.airC = airC + 0.55*math.Max(0, f.behind-airC)
	}
	if condenser > 0 {
		k.airC += math.Min(28, condenser/math.Max(60, k.air))
	}
	return k
}
