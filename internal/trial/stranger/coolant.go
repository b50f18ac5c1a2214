package stranger

import "math"

// Textbook constants.
const (
	gasConstant = 8.314    // J/(mol K)
	kelvin      = 273.15   // K at 0 degC
	standardAir = 101325.0 // Pa at sea level
	gravity     = 9.81     // m/s2
	airHeat     = 1006.0   // J/(kg K)
	airDensity  = 1.15     // kg/m3, warm air
	waterHeat   = 2.2e6    // J/kg of vaporisation near 110 degC, textbook (2.23e6 at 110)
	waterMolar  = 0.018015 // kg/mol
	glycolMolar = 0.06207  // kg/mol
	petrolHeat  = 43.0e6   // J/kg, textbook
	dieselHeat  = 42.7e6   // J/kg, textbook
)

// coolant is a mix of water and ethylene glycol.
type coolant struct {
	density float64 // kg/m3 near 80 degC
	heat    float64 // J/(kg K)
	water   float64 // mole fraction
}

// mixed gives the mix with a share of glycol by volume. Density and heat are
// mixed by mass from the pure liquids near 80 degC (972 and 1068 kg/m3; 4.19
// and 2.64 kJ/kgK; textbook values, from memory); real mixes lie within 3 %.
func mixed(glycol float64) coolant {
	mg, mw := glycol*1113, (1-glycol)*998 // by volume when cold, kg/m3
	x := mg / (mg + mw)
	return coolant{
		density: 1 / (x/1068 + (1-x)/972),
		heat:    x*2640 + (1-x)*4190,
		water:   (mw / waterMolar) / (mw/waterMolar + mg/glycolMolar),
	}
}

// Antoine's constants of water for mmHg and degC, below and above 100 degC:
// Dortmund Data Bank, from memory. They meet at 100 degC within half a per cent.
const (
	antoineA, antoineB, antoineC = 8.07131, 1730.63, 233.426
	steamA, steamB, steamC       = 8.14019, 1810.94, 244.485
	mmHg                         = 133.322 // Pa
)

// vapour is the vapour pressure, Pa absolute, at t degC: Antoine's equation for
// water and Raoult's law for the mix.
func (c coolant) vapour(t float64) float64 {
	if t > 100 {
		return c.water * mmHg * math.Pow(10, steamA-steamB/(t+steamC))
	}
	return c.water * mmHg * math.Pow(10, antoineA-antoineB/(t+antoineC))
}

// boils is the boiling temperature, degC, at p Pa absolute.
func (c coolant) boils(p float64) float64 {
	l := math.Log10(p / mmHg / c.water)
	if t := steamB/(steamA-l) - steamC; t > 100 {
		return t
	}
	return antoineB/(antoineA-l) - antoineC
}

// swells is the rise of volume from 20 degC to t, as a share: a parabola
// through 0 at 20, 2.9 % at 80 and 5.3 % at 110 degC (half and half; from memory).
func swells(t float64) float64 {
	d := t - 20
	return 3.2e-4*d + 2.8e-6*d*d
}

// airAt is the pressure of the air, Pa, at a height in m: standard atmosphere.
func airAt(h float64) float64 { return standardAir * math.Pow(1-2.25577e-5*h, 5.2559) }
