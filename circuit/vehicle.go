package circuit

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Fuel is what the engine burns.
type Fuel uint8

// The fuels.
const (
	FuelUnknown Fuel = iota
	Petrol
	Diesel
)

// Sits tells on which side of the engine the thermostat is.
type Sits uint8

// The sides.
const (
	SitsUnknown Sits = iota
	OnOutlet
	OnInlet
)

// Vehicle is what is known of the car. Where a field is nil, or 0 for sizes
// that no car can have, it is unknown; the table then gives what is usual for
// the engine's size.
type Vehicle struct {
	Fuel                 Fuel
	DisplacementM3       float64 // m3: a 1.6 L engine is 0.0016
	PowerW               float64 // W, greatest brake power
	MassKg               float64 // kg, laden as it is driven
	Cylinders            int
	CoolantVolumeM3      float64  // m3, whole system
	GlycolVolumeFraction *float64 // 0..1; 0 is plain water
	Glycol               string   // "ethylene", "propylene" or "" for ethylene
	ThermostatC          *float64 // degC, stamped opening temperature
	ThermostatSits       Sits     //
	FanKind              *FanKind // nil unknown
	EngineFan            *float64 // 0..1, how likely the engine turns the fan; nil as in the table; nothing where FanKind is known
	FanCount             int
	FanOnC, FanOffC      *float64 // degC, electric fan switching points
	CapPressurePa        *float64 // Pa gauge, as stamped; 0 is an open system
	NoJigglePin          bool     // the thermostat has no bleed hole or pin
}

// The sizes to which the table's rows refer.
const (
	referenceDisplacementM3 = 1.6e-3
	referencePowerW         = 80e3
	referenceCylinders      = 4
)

// engineMassKg is the mass of a petrol engine of so much power, diesel a
// tenth more. Source: CO2MPAS defaults, 0.4208*P[kW]+60.
func engineMassKg(powerW float64, fuel Fuel) float64 {
	m := 0.4208*powerW/1000 + 60
	if fuel == Diesel {
		m *= 1.1
	}
	return m
}

// How closely a stated fact fixes its number: half of a 95 % range. Judgement
// for all; maker's tolerances are about these.
const (
	knownThermostatK = 2.0  // K
	knownFanK        = 1.5  // K
	knownCapShare    = 0.05 // of the value
	knownVolumeShare = 0.05
	knownMassShare   = 0.05
	knownGlycol      = 0.03
	noJiggleShare    = 0.25 // of LeakLift, when the valve only seeps, judgement
)

// Typical gives the circuit with every number at its typical value for v.
func (t *Table) Typical(v Vehicle) Circuit {
	return t.Draw(v, make([]float64, t.dim))
}

// size is what a number is multiplied by for an engine of this displacement and
// power; 1 for one of the reference size.
func (s *slot) size(exponent float64, v *Vehicle, displacement, power float64) float64 {
	size := 1.0
	switch s.scale {
	case byDisplacement:
		size = displacement / referenceDisplacementM3
	case byPower:
		size = power / referencePowerW
	case byEngineMass:
		size = engineMassKg(power, v.Fuel) / engineMassKg(referencePowerW, Petrol)
	case byCylinders:
		if v.Cylinders > 0 {
			size = float64(v.Cylinders) / referenceCylinders
		}
	}
	if size != 1 && exponent != 1 {
		size = math.Pow(size, exponent)
	}
	return size * s.factor
}

// Draw gives one plausible circuit: z holds Dim independent standard normal
// deviates, and every number is a monotone function of its own. Facts that v
// knows centre and narrow their numbers.
func (t *Table) Draw(v Vehicle, z []float64) Circuit {
	c := Circuit{Propylene: v.Glycol == "propylene"}
	displacement, power := v.DisplacementM3, v.PowerW
	for i := range t.slots {
		s, row := &t.slots[i], &t.rows[i]
		zi := 0.0
		if s.z >= 0 {
			zi = z[s.z]
		}
		size := s.size(row.Exponent, &v, displacement, power)
		switch s.special {
		case isDisplacement:
			if displacement == 0 {
				displacement = size * row.value(zi)
			}
		case isPower:
			if power == 0 {
				power = size * row.value(zi)
			}
		case isOnInlet:
			c.ThermostatOnInlet = v.ThermostatSits == OnInlet ||
				v.ThermostatSits == SitsUnknown && upperTail(zi) < row.Typical
		case isFanKind:
			c.FanKind = row.fanKind(&v, zi)
		default:
			x := size * row.value(zi)
			if d := row.Diesel; d != nil && v.Fuel == Diesel {
				own := Number{Spread: row.Spread, Low: d.Low, Typical: d.Typical, High: d.High}
				x = size * own.value(zi)
			}
			if s.from != nil {
				x += *s.from(&c)
			}
			*s.at(&c) = x
			narrow(&c, v, row.Name, s.at(&c), zi)
		}
	}
	if v.FanCount >= 2 {
		c.FanAir *= twoFansShare
	}
	c.FanOffC = min(c.FanOffC, c.FanOnC-1)
	return c
}

// FanKind is the kind of fan of the circuit that Draw gives.
func (t *Table) FanKind(v Vehicle, z []float64) FanKind {
	for i := range t.slots {
		if s := &t.slots[i]; s.special == isFanKind {
			return t.rows[i].fanKind(&v, z[s.z])
		}
	}
	return FanElectric
}

// fanKind is the kind at the deviate z: the car's own where it is known.
func (n *Number) fanKind(v *Vehicle, z float64) FanKind {
	if v.FanKind != nil {
		return *v.FanKind
	}
	viscous, twoSpeed := n.Low, n.Typical
	if v.EngineFan != nil && n.Low < 1 {
		viscous, twoSpeed = *v.EngineFan, n.Typical*(1-*v.EngineFan)/(1-n.Low)
	}
	switch p := upperTail(z); {
	case p < viscous:
		return FanViscous
	case p < viscous+twoSpeed:
		return FanTwoSpeed
	}
	return FanElectric
}

// twoFansShare is the air of two fans against one. Judgement.
const twoFansShare = 1.25

// narrow replaces a number drawn from the range of all cars by one drawn
// around what is known of this car.
func narrow(c *Circuit, v Vehicle, name string, x *float64, z float64) {
	around := func(known, half float64) {
		*x = known + half/fullRange*bounded(z)
	}
	stated := func(known *float64, half float64) {
		if known != nil {
			around(*known, half)
		}
	}
	switch name {
	case "opening-c":
		stated(v.ThermostatC, knownThermostatK)
	case "fan-on-c":
		stated(v.FanOnC, knownFanK)
	case "fan-off-c":
		stated(v.FanOffC, knownFanK)
	case "cap-pressure":
		if v.CapPressurePa != nil {
			around(*v.CapPressurePa, knownCapShare**v.CapPressurePa)
		}
	case "coolant-volume":
		if v.CoolantVolumeM3 > 0 {
			around(v.CoolantVolumeM3, knownVolumeShare*v.CoolantVolumeM3)
		}
	case "vehicle-mass":
		if v.MassKg > 0 {
			around(v.MassKg, knownMassShare*v.MassKg)
		}
	case "glycol-volume-fraction":
		stated(v.GlycolVolumeFraction, knownGlycol)
		*x = min(max(*x, 0), 1)
	case "leak-lift":
		if v.NoJigglePin {
			*x *= noJiggleShare
		}
	}
}

// fullRange is the standard normal deviate of the ends of a 95 % range.
const fullRange = 1.96

// bounded squeezes a deviate smoothly and monotonically into -1.96..1.96, so
// that every number stays in its range; near 0 it changes nothing.
func bounded(z float64) float64 {
	r := z / fullRange
	r *= r
	return z / math.Sqrt(math.Sqrt(1+r*r))
}

// value is the row's number at the deviate z, at the reference size.
func (n *Number) value(z float64) float64 {
	u := bounded(z) / fullRange
	switch n.Spread {
	case Normal:
		if u > 0 {
			return n.Typical + u*(n.High-n.Typical)
		}
		return n.Typical + u*(n.Typical-n.Low)
	case Lognormal:
		if u > 0 {
			return n.Typical * math.Pow(n.High/n.Typical, u)
		}
		return n.Typical * math.Pow(n.Low/n.Typical, -u)
	}
	return n.Typical
}

// upperTail is the chance of a standard normal deviate above z.
func upperTail(z float64) float64 { return distuv.UnitNormal.CDF(-z) }
