package stranger

import "math"

// sensing is the sensor, what the computer makes of it, and the needle.
type sensing struct {
	bulbC   float64 // degC of the sensor itself
	needle  float64 // what the needle stands for, degC
	reading float64 // the computer's, degC
}

func (n *sensing) start(s *state) {
	n.bulbC = s.t[headOut]
	n.needle = n.bulbC
	n.step(s)
}

func (n *sensing) step(s *state) {
	at := s.t[headOut]
	// A sensor that hangs in gas feels the metal and the steam by turns.
	if dry := math.Min(1, math.Max(0, (s.void-0.06)/0.12)); dry > 0 {
		swing := math.Sin(s.clock/17) + 0.6*math.Sin(s.clock/6.3)
		at += dry * (-0.12*(at-s.outer.airC) + 5*swing)
	}
	n.bulbC += (at - n.bulbC) * s.decay.bulb
	n.reading = n.scanOf(s.c)
	n.show(s)
}

// scan is the computer's reading, degC.
func (n *sensing) scan() float64 { return n.reading }

// scanOf works the reading out of the sensor's resistance.
func (n *sensing) scanOf(c *Car) float64 {
	if c.is.sensorOpen > 0 {
		return -40
	}
	// A thermistor, R = R25 exp(B (1/T - 1/298)), with what a fault puts in
	// series or beside it; the computer goes by the sound part's table.
	k := n.bulbC + kelvin
	r := c.Ohms * math.Exp(c.Beta*(1/k-1/298.15)) * c.is.sensorOhms
	r += 1000 * c.is.sensorSeries
	if c.is.sensorParallel > 0 {
		p := 1000 * c.is.sensorParallel
		r = r * p / (r + p)
	}
	t := 1/(math.Log(r/c.Ohms)/c.Beta+1/298.15) - kelvin
	return t + c.SensorBias
}

// The needle of a dash gauge stands still in the middle of its scale on most
// cars; common practice, no source.
const (
	flatFrom = 76.0  // degC
	flatTo   = 104.0 // degC
	flatAt   = 90.0  // degC that it stands for
	scale    = 80.0  // K from one end of the scale to the other
)

// show moves the needle: with a sender of its own, or by the computer's reading
// and flat in the middle.
func (n *sensing) show(s *state) {
	c := s.c
	t := n.reading
	if c.OwnSender {
		t = n.bulbC
		if c.is.sensorOpen+c.is.sensorSeries+c.is.sensorParallel > 0 || c.is.sensorOhms != 1 {
			t = n.reading // the fault is in the one that is looked at
		}
	} else if t > flatFrom && t < flatTo {
		t = flatAt
	}
	t += c.is.needle * scale
	if c.is.needleWanders > 0 {
		swing := math.Sin(s.clock/9) + math.Sin(s.clock/31) + 0.7*math.Sin(s.clock/3.7)
		t += c.is.needleWanders * scale * math.Max(-0.3, swing) / 1.5
	}
	if c.is.needleDead > 0 {
		t = 30 // at the peg
	}
	n.needle += (t - n.needle) * s.decay.needle
}
