package stranger

import "math"

// dt is the step, s. The implicit pass is stable at any; an eighth of it moves the
// readings by less than a kelvin in the mean (TestTheStepIsSmallEnough).
const dt = 0.5

// perRow is how many steps are between two rows of a log.
const perRow = 2

// leg is a stretch of a drive.
type leg struct {
	name    string
	seconds float64
	air     bool    // air conditioning on
	blower  float64 // heater blower, 0..1
	tow     float64 // kg
	grade   float64
	rpm     float64 // held at standstill
	off     bool
}

// The legs' speeds: steady fast, up the hill, and the stop-and-go of a town.
const (
	fastKMH = 110.0
	hillKMH = 65.0
	townKMH = 48.0
)

// at is what the leg asks for, s seconds into it.
func (l *leg) at(s float64) duty {
	x := duty{airCon: l.air, blower: l.blower, tow: l.tow, off: l.off, rpm: l.rpm}
	ramp := func(kmh float64) float64 { return math.Min(1, s/25) * kmh / 3.6 }
	switch l.name {
	case "city":
		// 75 s: away 12 s, on 33 s, down 10 s, stand 20 s.
		u := math.Mod(s, 75)
		top := townKMH / 3.6
		switch {
		case u < 12:
			x.speed, x.accel = top*u/12, top/12
		case u < 45:
			x.speed = top
		case u < 55:
			x.speed, x.accel = top*(55-u)/10, -top/10
		}
	case "motorway":
		x.speed = ramp(fastKMH) + 2*math.Sin(s/40)
	case "climb":
		x.speed, x.grade = ramp(hillKMH), l.grade
	}
	x.speed = math.Max(0, x.speed)
	return x
}

// record is what was to be seen on a leg.
type record struct {
	seconds            float64
	needleTop          float64 // degC
	needleLow          float64 // in its last two thirds
	readTop, readLow   float64
	readMean, ventMean float64 // in its last third
	swing              float64 // of the needle in its last two thirds, K
	boiled             float64 // s
	lost               float64 // m3
	fanShare           float64
	stopped            bool // the driver did not go on
	to60, to80         float64
}

// row is one second of a log.
type row struct {
	second, reading, rpm, kmh, intake, air float64
}

// too is the reading at which somebody who looks stops, degC; judgement.
const too = 119.0

// drive takes the car along a leg. watch is where its driver looks: 0 the
// needle, 1 the reading. Rows are appended to a log each second if log is set.
func (s *state) drive(l leg, watch int, log *[]row) (r record) {
	r = record{needleLow: 1e3, readLow: 1e3, to60: math.NaN(), to80: math.NaN()}
	lost := s.p.gone + s.p.bottle
	n := int(l.seconds / dt)
	hot, third := 0.0, 0
	var top, low = -1e3, 1e3
	for i := range n {
		x := l.at(float64(i) * dt)
		s.step(x, dt)
		r.seconds += dt
		needle, read := s.sense.needle, s.sense.reading
		r.needleTop, r.readTop = math.Max(r.needleTop, needle), math.Max(r.readTop, read)
		if 3*i >= n {
			r.needleLow, r.readLow = math.Min(r.needleLow, needle), math.Min(r.readLow, read)
			top, low = math.Max(top, needle), math.Min(low, needle)
		}
		if 3*i >= 2*n {
			r.readMean += read
			r.ventMean += s.vent
			third++
		}
		if s.steam > 0.2e-3 {
			r.boiled += dt
		}
		r.fanShare += s.fan.speed * dt
		if math.IsNaN(r.to60) && read >= 60 {
			r.to60 = s.clock
		}
		if math.IsNaN(r.to80) && read >= 80 {
			r.to80 = s.clock
		}
		if log != nil && i%perRow == 0 {
			intake := s.outer.airC + math.Max(1, 18-x.speed*0.9)*math.Min(1, s.clock/500)
			*log = append(*log, row{s.clock, read, s.b.rpm, 3.6 * x.speed, intake, s.b.air})
		}
		looks := needle
		if watch == 1 {
			looks = read
		}
		if looks > too {
			hot += dt
		}
		if hot > 45 && !l.off {
			r.stopped = true
			break
		}
	}
	s.conclude(&r, third, top, low)
	r.lost = s.p.gone + s.p.bottle - lost
	return r
}

// conclude makes sums into means. Where the run ended before its last two thirds or its
// last third began, what stands at its end stands in for them.
func (s *state) conclude(r *record, third int, top, low float64) {
	if third > 0 {
		r.readMean /= float64(third)
		r.ventMean /= float64(third)
	} else {
		r.readMean, r.ventMean = s.sense.reading, s.vent
	}
	if r.needleLow > 999 {
		r.needleLow, r.readLow = s.sense.needle, s.sense.reading
		top, low = s.sense.needle, s.sense.needle
	}
	r.swing = top - low
	r.fanShare /= math.Max(1, r.seconds)
}
