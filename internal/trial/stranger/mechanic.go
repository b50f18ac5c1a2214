package stranger

import "math"

// mechanic is one person with his instruments: their errors belong to all that
// he measures on this car.
type mechanic struct {
	gunBias, emissivity, spot float64
	probe, gauge, air         float64
	refract                   float64
	skips, slips              float64
	wall                      float64 // m2K/W of this car's hoses
	numbers                   bool    // writes figures, not words, where there are both
	rounds                    float64 // to so many kelvin
	d                         draws
}

func drawMechanic(d draws) *mechanic {
	m := &mechanic{
		gunBias: d.of("gun-bias"), emissivity: d.of("rubber-emissivity"), spot: d.of("spot-off"),
		probe: d.of("probe-error"), gauge: d.of("gauge-error"), air: d.of("air-error"), refract: d.of("refractometer-error"),
		skips: d.of("skips"), slips: d.of("slips"), wall: d.of("wall-resistance"), numbers: d.may("writes-numbers"), d: d,
	}
	m.rounds = [...]float64{0.5, 1, 1, 2, 5}[d.rng.IntN(5)]
	return m
}

// gunSet is the emissivity that the gun is set to, and cannot be changed on most.
const gunSet = 0.95

// gun is what an infrared gun reads of a hose with coolant at t: the wall's
// outside, seen with the rubber's emissivity, in surroundings that shine too, and
// with a part of the spot beside it (Stefan-Boltzmann; wall conduction, textbook).
func (m *mechanic) gun(t, bayC, wash float64) float64 {
	h := 9 + 16*wash // W/m2K: still bay to the fan's wash; judgement
	wall := bayC + (t-bayC)/(1+h*m.wall)
	behind := bayC + 0.25*(t-bayC) // what else is in the spot; judgement
	p := func(c float64) float64 { return math.Pow(c+kelvin, 4) }
	seen := (1-m.spot)*(m.emissivity*p(wall)+(1-m.emissivity)*p(bayC)) + m.spot*p(behind)
	read := math.Pow((seen-(1-gunSet)*p(25))/gunSet, 0.25) - kelvin
	return m.round(read + m.gunBias + 0.8*m.d.rng.NormFloat64())
}

func (m *mechanic) round(x float64) float64 { return m.rounds * math.Round(x/m.rounds) }

// visit is the car on the lift.
type visit struct {
	c    *Car
	m    *mechanic
	d    draws
	day  day
	s    state // hot
	idle record
	fast record
	cool record // with the air conditioning
	cold float64
	log  []row
	out  []Finding
}

func nan() float64 { return math.NaN() }

// add writes a finding down, unless the mechanic skips it.
func (v *visit) add(f Finding) {
	if v.d.chance(v.m.skips) {
		return
	}
	v.out = append(v.out, f)
}

func (v *visit) say(check string, word string) { v.add(Finding{Check: check, Word: word, AirC: nan()}) }

// table makes the tabulated checks.
func (v *visit) table(checks ...string) {
	for _, k := range checks {
		v.say(k, v.c.word(k, v.d))
	}
}

// wrong is true when he makes a slip.
func (v *visit) wrong() bool { return v.d.chance(v.m.slips) }

// cold checks, before the engine is started.
func (v *visit) before() {
	c, d := v.c, v.d
	v.table("level-cold", "coolant-look", "oil-look", "leak-look", "cap-look", "return-line-look")
	glycol := c.Glycol
	if c.is.glycol >= 0 {
		glycol = c.is.glycol
	}
	v.read("freeze-point", "glycol", math.Max(0, math.Min(1, math.Round(100*(glycol+v.m.refract))/100)))
	v.table("pressure-hold")
	held := c.CapHold * c.is.cap * v.m.gauge
	if v.wrong() {
		held = 1
	}
	v.read("cap-pressure", "held", math.Min(1, math.Round(20*held)/20))
	v.table("shroud-look", "airflow-look", "front-look", "belt-look")
	if c.FanKind != Viscous {
		v.table("fan-command", "fan-fuse")
	}
	diff := v.cold - v.day.shopC
	word := "agrees"
	switch {
	case diff > d.fact("soak-apart"):
		word = "reads-high"
	case diff < -d.fact("soak-apart"):
		word = "reads-low"
	}
	if v.wrong() {
		word = "agrees"
	}
	v.either("cold-soak", "difference", within(math.Round(diff+0.7*d.rng.NormFloat64()), -59, 59), word)
}

// read is a check that is answered in one figure.
func (v *visit) read(check, place string, x float64) {
	v.add(Finding{Check: check, Read: map[string]float64{place: x}, Order: []string{place}, AirC: nan()})
}

// either is a check that can be answered in a figure or a word.
func (v *visit) either(check, place string, x float64, word string) {
	if v.m.numbers {
		v.read(check, place, x)
		return
	}
	v.say(check, word)
}

// codes are what the computer has stored.
func (v *visit) codes(u driven) {
	c, d := v.c, v.d
	word := "none"
	road := 1e3
	top := -1e3
	for _, x := range u.legs {
		if x.condition == "motorway" {
			road = x.rec.readLow
		}
		top = math.Max(top, x.rec.readTop)
	}
	switch {
	case c.is.sensorOpen > 0 && d.may("code-open"):
		word = "sensor-cold"
	case c.is.sensorSeries > 0 && d.may("code-series"):
		word = "sensor-cold"
	case c.is.sensorParallel > 0 && d.may("code-parallel"):
		word = "sensor-hot"
	case c.has("control-valve") != nil && d.may("code-valve"):
		word = "valve"
	case c.is.fanStuck > 0 && d.may("code-fan-stuck"):
		word = "fan"
	case c.has("fan-dead") != nil && d.chance(map[string]float64{"supply": d.fact("code-fan-supply"), "motor": d.fact("code-fan-motor")}[c.has("fan-dead").Mode]):
		word = "fan"
	case road < c.RatedC-11 && d.may("code-too-cold"):
		word = "thermostat"
	case top > d.fact("code-hot-from") && d.may("code-too-hot"):
		word = "over-temperature"
	case d.may("code-for-nothing"):
		word = "sensor"
	}
	v.say("trouble-codes", word)
}

// logIt starts the car cold with the logger on: it idles until it is warm and
// twenty minutes are over, and is driven where it may be.
func (v *visit) logIt() {
	s := v.c.start(v.day.shopC, v.day.altitude, v.day.shopC)
	v.cold = s.sense.reading
	v.before()
	early := 0.0
	idle := 180.0
	for i := range int(idle / dt) {
		s.step(duty{}, dt)
		early = math.Max(early, s.p.abs-s.outer.pressure)
		if i%perRow == 0 {
			v.log = append(v.log, row{s.clock, s.sense.reading, s.b.rpm, 0, s.outer.airC + 18*math.Min(1, s.clock/500), s.b.air})
		}
	}
	press := math.Round(early*v.m.gauge/2e3) * 2e3
	word := "soft"
	if early > 1e3*v.d.fact("hose-hard") {
		word = "hard"
	}
	if v.wrong() {
		word = "soft"
	}
	v.either("hose-squeeze", "pressure", press, word)
	v.table("neck-bubbles")
	s.drive(leg{name: "idle", seconds: 720}, 1, &v.log)
	v.neck(s)
	if s.sense.reading < 112 {
		s.drive(leg{name: "city", seconds: 420}, 1, &v.log)
	}
	if s.sense.reading < 112 {
		s.drive(leg{name: "motorway", seconds: 360}, 1, &v.log)
	}
	if s.sense.reading < 112 {
		s.drive(leg{name: "climb", seconds: 150, grade: 0.05}, 1, &v.log)
	}
	v.s = *s
}

// neckSeen is the flow that is seen as a stream at the neck, m3/s; judgement.
const neckSeen = 5e-5

// neck looks into the neck at raised speed once the engine is warm. While the
// valve is shut as it should be, most wait or leave it.
func (v *visit) neck(s *state) {
	if s.sense.reading > 104 {
		return // nobody opens that
	}
	fast := *s
	fast.drive(leg{name: "idle", seconds: 60, rpm: 2500}, 1, nil)
	if fast.lift < 0.05 && fast.sense.reading < v.c.RatedC+6 && v.d.may("knows-it-is-shut") {
		return
	}
	word := "stream"
	if (fast.f.radiator < neckSeen) != v.wrong() {
		word = "still"
	}
	v.say("neck-flow", word)
}
