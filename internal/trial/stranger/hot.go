package stranger

import "math"

// hot makes the checks at hot idle, from where the drive ended.
func (v *visit) hot() {
	c, m, d := v.c, v.m, v.d
	s := &v.s
	v.idle = s.drive(leg{name: "idle", seconds: 420}, 1, nil)
	bay := v.day.shopC + d.fact("bay-rise") // bonnet open, judgement
	wash := math.Min(1, s.fan.speed)
	upper, lower := m.gun(s.t[upperEnd], bay, wash), m.gun(s.t[lowerHose], bay, wash)
	reading := math.Round(s.sense.reading)
	if v.wrong() { // bright metal
		upper -= d.fact("bright-metal")
	}
	f := Finding{Check: "hose-temps", AirC: nan()}
	if m.numbers {
		f.Read = map[string]float64{"upper-hose": within(upper, -25, 130), "lower-hose": within(lower, -25, 130), "coolant": reading}
		f.Order = []string{"upper-hose", "lower-hose", "coolant"}
		if reading < -30 {
			f.Order = f.Order[:2]
			delete(f.Read, "coolant")
		}
	} else {
		switch {
		case upper < d.fact("hose-cold"):
			f.Word = "cold-beyond"
		case upper-lower > d.fact("drop-large-idle"):
			f.Word = "large-drop"
		default:
			f.Word = "both-hot"
		}
	}
	v.add(f)
	v.face(bay)
	v.thermometer()
	v.heater()
	v.table("combustion-gas", "gauge-look")
	if c.FanKind == Viscous {
		v.table("clutch-spin")
	}

	fast := *s
	v.fast = fast.drive(leg{name: "idle", seconds: 180, rpm: 2500}, 1, nil)
	drop := m.gun(fast.t[upperEnd], bay, 0.5*wash) - m.gun(fast.t[lowerHose], bay, 0.5*wash)
	if fast.lift > 0.05 || d.may("drop-measured-shut") {
		word := "normal"
		if drop > d.fact("drop-large") {
			word = "large"
		}
		v.either("radiator-drop", "drop", within(drop, -19, 79), word)
	}
	v.table("hose-at-speed")
	v.fanRun()
	v.table("weep-look", "fuel-trims", "timing-check", "exhaust-backpressure", "wheel-temps")
}

// face sweeps the core: where tubes are dead it is near the air behind it.
func (v *visit) face(bay float64) {
	s, m, d := &v.s, v.m, v.d
	hot, end := m.gun(s.t[radiatorIn], bay, 0.3), m.gun(s.t[radiatorIn+cells-1], bay, 0.3)
	spread := math.Max(0, hot-end)
	if dead := v.c.is.deadTubes; dead > 0 {
		// A dead tube between live ones is warmed by its neighbours: half the rise.
		cold := bay + 0.45*(s.t[radiatorIn+cells-1]-bay)
		spread = math.Max(spread, hot-cold)
	}
	spread += 2.5 * math.Abs(v.d.rng.NormFloat64())
	word := "even"
	if spread > d.fact("face-patchy") {
		word = "patchy"
	}
	if v.wrong() {
		word = "even"
	}
	v.either("face-sweep", "spread", within(m.round(spread), 0, 85), word)
}

// thermometer holds the reading against a clipped probe.
func (v *visit) thermometer() {
	s, d := &v.s, v.d
	diff := s.sense.reading - (s.t[headOut] + v.m.probe) + 1.2*v.d.rng.NormFloat64()
	word := "agrees"
	switch {
	case diff > d.fact("thermometer-apart"):
		word = "reads-high"
	case diff < -d.fact("thermometer-apart"):
		word = "reads-low"
	}
	v.either("second-thermometer", "difference", within(math.Round(diff), -79, 79), word)
}

// heater turns the heater full on for a while.
func (v *visit) heater() {
	s, d := v.s, v.d
	s.drive(leg{name: "idle", seconds: 300, blower: 1}, 1, nil)
	vent := s.vent
	if v.wrong() { // the flap was not on full
		vent = v.day.shopC + 0.6*(vent-v.day.shopC)
	}
	word := "hot"
	switch {
	case vent < d.fact("vent-cold"):
		word = "cold"
	case vent < d.fact("vent-lukewarm"):
		word = "lukewarm"
	}
	v.either("heater-output", "vent", v.m.round(vent+v.d.rng.NormFloat64()), word)
	// Both heater hoses by hand; what can be held is cool.
	hoses := "both-hot"
	in, out := s.t[feed], s.t[returns]
	switch {
	case in < d.fact("hose-can-be-held"):
		hoses = "both-cool"
	case out < d.fact("hose-can-be-held")-2 || in-out > d.fact("hoses-apart"):
		hoses = "one-cold"
	}
	if v.wrong() {
		hoses = "both-hot"
	}
	v.say("heater-hoses", hoses)
}

// fanRun looks at the fan with the air conditioning on.
func (v *visit) fanRun() {
	c := v.c
	s := v.s
	v.cool = s.drive(leg{name: "idle", seconds: 200, air: true}, 1, nil)
	word := "still"
	switch {
	case c.is.reversed > 0:
		word = "backwards"
		if v.d.may("misses-direction") { // it turns, and he did not hold paper to it
			word = "runs"
		}
	case s.fan.speed > 0.05 && s.u > 0.45*c.FanAir*c.is.shroud*0.5 && s.u > 0.55:
		word = "runs"
	case s.fan.speed > 0.05:
		word = "weak"
	case !c.AirCon && s.sense.reading < c.FanOnC && c.is.fanLost == 0:
		return // nothing asked it to run
	}
	if v.wrong() {
		word = "runs"
	}
	v.say("fan-run", word)
}

// within keeps a figure to what a job file takes: he looks again at what cannot be.
func within(x, low, high float64) float64 { return math.Min(high, math.Max(low, x)) }
