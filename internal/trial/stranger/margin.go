package stranger

import "math"

// Held is a way of driving that is held.
type Held struct {
	KMH    float64
	Grade  float64
	AirCon bool
	// Stand is how long the car stands after each Drive, s; both 0: it never does.
	Drive, Stand float64
}

// The search for the highest air, degC and s.
const (
	coldestHeld = -40.0
	hottestHeld = 90.0
	heldFor     = 1500.0
	heldRead    = 240.0 // at the end of it, in which nothing may boil
	heldWithin  = 0.5   // K
	heldStartC  = 95.0
)

// HighestAir is the true margin of a car of this world: the highest outside air,
// degC, in which it can be held so without boiling, by bisection on its own runs.
// What is missing stays missing, and nothing more leaks out.
func (c *Car) HighestAir(h Held, altitudeM float64) float64 {
	car := *c
	car.is.leak = 0
	if car.boilsIn(h, altitudeM, coldestHeld) {
		return coldestHeld
	}
	if !car.boilsIn(h, altitudeM, hottestHeld) {
		return hottestHeld
	}
	low, high := coldestHeld, hottestHeld
	for high-low > heldWithin {
		if middle := 0.5 * (low + high); car.boilsIn(h, altitudeM, middle) {
			high = middle
		} else {
			low = middle
		}
	}
	return 0.5 * (low + high)
}

// boilsIn tells whether the car boils at the end of a held run in air of airC.
func (c *Car) boilsIn(h Held, altitudeM, airC float64) bool {
	s := c.start(airC, altitudeM, math.Max(heldStartC, airC))
	round := h.Drive + h.Stand
	for t := 0.0; t < heldFor; t += dt {
		x := duty{airCon: h.AirCon, speed: h.KMH / 3.6, grade: h.Grade}
		if round > 0 && math.Mod(t, round) >= h.Drive {
			x.speed, x.grade = 0, 0
		}
		s.step(x, dt)
		if t >= heldFor-heldRead && (s.steam > 0.2e-3 || s.t[headOut] >= s.boil) {
			return true
		}
	}
	return false
}
