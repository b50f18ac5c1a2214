package stranger

import "math"

// Held is a way of driving that is held.
type Held struct {
	KMH    float64
	Grade  float64
	Tow    float64 // kg
	AirCon bool
	// Stand is how long the car stands after each Drive, s; both 0: it never does.
	Drive, Stand float64
}

// The search for the highest air, degC, s and km/h.
const (
	coldestHeld = -40.0
	hottestHeld = 90.0
	filledAt    = 20.0 // the coolant when the system was filled to its mark
	warmingAt   = 50.0 // speed of the drive that warms it
	warmEnough  = 80.0 // coolant leaving the head, at which that drive ends
	warmingMost = 1200.0
	heldFor     = 1500.0
	heldRead    = 240.0 // at the end of it, in which nothing may boil
	heldWithin  = 0.5   // K
)

// HighestAir is the true margin of a car of this world: the highest outside air,
// degC, in which it can be held so without boiling against its cap, by bisection on
// its own runs.
// The system was filled cold, and the car is driven gently until it is warm, so that
// the coolant's own swelling makes the pressure that the cap then holds. What is
// missing stays missing, and nothing leaks out but by the cap.
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

// boilsIn tells whether the car boils against its cap at the end of a held run in air
// of airC. Steam under less pressure only makes pressure: nothing is lost by it.
func (c *Car) boilsIn(h Held, altitudeM, airC float64) bool {
	s := c.start(airC, altitudeM, filledAt)
	for t := 0.0; t < warmingMost && s.t[headOut] < warmEnough; t += dt {
		s.step(duty{speed: warmingAt / 3.6}, dt)
	}
	open := s.outer.pressure + c.CapPa*c.CapHold*c.is.cap
	round := h.Drive + h.Stand
	for t := 0.0; t < heldFor; t += dt {
		x := duty{airCon: h.AirCon, speed: h.KMH / 3.6, grade: h.Grade, tow: h.Tow}
		if round > 0 && math.Mod(t, round) >= h.Drive {
			x.speed, x.grade = 0, 0
		}
		s.step(x, dt)
		if t >= heldFor-heldRead && (s.steam > 0.2e-3 || s.t[headOut] >= s.boil) && s.p.abs > 0.98*open {
			return true
		}
	}
	return false
}

// Repaired is the car as it was built, full of coolant and with nothing wrong.
func (c *Car) Repaired() *Car {
	car := *c
	car.is, car.Faults = none(), nil
	return &car
}
