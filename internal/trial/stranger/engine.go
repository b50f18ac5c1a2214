package stranger

import "math"

// duty is what the engine is made to do at one moment.
type duty struct {
	speed  float64 // m/s
	accel  float64 // m/s2
	grade  float64 // rise over run
	tow    float64 // kg
	rpm    float64 // held, such as a fast idle; 0: as speed and gear have it
	off    bool    // engine stopped
	airCon bool
	blower float64 // 0..1
}

// burning is what comes of a duty.
type burning struct {
	rpm   float64
	fuel  float64 // W
	air   float64 // kg/s drawn in
	load  float64 // brake power over rated power
	head  float64 // W into the head's metal
	block float64 // W into the block's
	oil   float64 // W into the oil
}

// gears are ratios over the top gear; common practice, no source.
var gears = [...]float64{1, 1.3, 1.8, 2.6, 4.4}

// Gas properties near 700 K (air, textbook): viscosity Pa s, conductivity W/mK.
const (
	gasViscosity    = 3.3e-5
	gasConductivity = 0.052
	petrolAir       = 14.7 // kg/kg, stoichiometric, textbook
	dieselAir       = 14.5
	wallRise        = 30.0 // K, gas side of the wall over the metal's mean; judgement
)

// burn works out the engine's point of work and the heat that its metal and
// oil take up.
func (c *Car) burn(x duty, headC, oilC float64) (b burning) {
	if x.off {
		return b
	}
	mass := c.Mass + x.tow
	force := 0.0
	if x.speed > 0.3 {
		force = mass*(gravity*(c.Rolling+x.grade)+1.04*x.accel) + 0.5*1.2*c.DragArea*x.speed*x.speed + c.is.drag
	}
	brake := force * x.speed
	if brake > 0 {
		brake /= c.Driveline
	}
	brake = math.Min(brake, 1000*c.KW)
	cold := math.Exp(-(math.Min(oilC, 110) - 20) / 28)
	friction := math.Max(1, 1+(c.ColdFriction-1)*(cold-0.08)/0.92)
	b.rpm = c.turns(x, brake, friction)
	b.load = math.Max(0, brake) / (1000 * c.KW)

	// Willans line: fuel in proportion to brake work and losses (Guzzella & Onder
	// 2010, ch. 2). Friction after Barnes-Moss (Heywood eq. 13.6), in bar.
	k := b.rpm / 1000
	fmep := c.FrictionFactor * (0.97 + 0.15*k + 0.05*k*k) * 1e5 * friction
	swept := c.Litres * 1e-3 * b.rpm / 120 // m3/s
	frictionW := fmep * swept
	losses := frictionW + c.Pumping*(1-b.load)*swept + c.Accessories
	if x.airCon && c.AirCon {
		losses += c.AirConLoad
	}
	b.fuel = math.Max(0, (brake+losses)/c.Willans) * c.is.wasted
	gasK := c.GasK
	if c.Diesel {
		b.air = swept * 1.15 * 0.88 * (1 + 0.9*b.load) // breathing, filling and boost by judgement
		mix := math.Min(1, dieselAir*b.fuel/dieselHeat/b.air)
		gasK = 330 + (c.GasK-330)*math.Pow(mix, 0.75) // lean charge runs cooler; from memory of Heywood fig. 12-13
	} else {
		b.air = petrolAir * b.fuel / petrolHeat
	}
	b.head, b.block = c.wallHeat(b.fuel, b.air, gasK*c.is.gasHotter, headC)
	b.block += frictionW * c.FrictionToBlock
	b.oil = frictionW * (1 - c.FrictionToBlock)
	return b
}

// wallHeat is Nu = 10.4 Re^0.75 (Taylor & Toong 1957; Heywood ch. 12) with the
// bore as length, on the piston area, stroke and bore being equal.
func (c *Car) wallHeat(fuel, air, gasK, headC float64) (head, block float64) {
	if fuel <= 0 {
		return 0, 0
	}
	n := float64(c.Cylinders)
	bore := math.Cbrt(4 * c.Litres * 1e-3 / n / math.Pi)
	area := n * math.Pi / 4 * bore * bore
	flow := air + fuel/petrolHeat
	re := flow * bore / (area * gasViscosity)
	nu := 10.4 * math.Pow(re, 0.75) * c.GasFilm
	q := nu * gasConductivity / bore * area * (gasK - (headC + wallRise + kelvin))
	q = math.Max(0, q)
	return q * c.HeadHeat, q * (1 - c.HeadHeat)
}

// turns is the engine speed: held, idling faster when cold, or by gear: the
// longest that keeps it lively and pulls the load.
func (c *Car) turns(x duty, brake, friction float64) float64 {
	if x.rpm > 0 {
		return x.rpm
	}
	idle := c.IdleRPM * (1 + 0.28*math.Min(1.3, friction-1))
	if x.speed < 2 {
		return idle
	}
	least := 1400.0
	if c.Diesel {
		least = 1250
	}
	for _, g := range gears {
		rpm := g * c.RPMPerKMH * 3.6 * x.speed
		// What the engine gives at this speed: in proportion to it, full at 4000
		// (diesel) or 5500 rpm; judgement.
		top := 5500.0
		if c.Diesel {
			top = 4000
		}
		if rpm >= least && brake < 0.8*1000*c.KW*math.Min(1, rpm/top) {
			return rpm
		}
	}
	return math.Max(idle, gears[len(gears)-1]*c.RPMPerKMH*3.6*x.speed)
}
