package coolant

import (
	"fmt"
	"math"
)

// Mix is one mix prepared for quick evaluation: the fraction is worked into the
// coefficients once, so that a property is a cubic in temperature. Use it inside loops;
// the functions of the same names check their ranges and return errors instead.
//
// The zero Mix is not usable; make one with NewMix. A Mix is immutable and may be shared.
type Mix struct {
	kind         Glycol
	volume, mass float64
	moleGlycol   float64 // mole fraction of glycol in the liquid
	estimated    bool
	lowC, highC  float64 // properties hold their value outside these
	baseC        float64

	density, heatCapacity, conductivity, lnViscosity [4]float64
}

// NewMix prepares a mix of the given volume fraction of glycol, 0 to 1. Above
// MaxVolumeFraction the properties are estimated, and Estimated reports it: straight lines in
// mass fraction (of the logarithm for viscosity) from the strongest mix with data to pure
// glycol, whose figures are from memory.
func NewMix(kind Glycol, volumeFraction float64) (Mix, error) {
	if err := checkFraction(kind, volumeFraction, 1); err != nil {
		return Mix{}, fmt.Errorf("mix: %w", err)
	}
	t := data()
	f := &t.fluids[kind]
	m := Mix{kind: kind, volume: volumeFraction, mass: f.massFraction(volumeFraction)}
	perGlycol := m.mass / f.molarMass
	m.moleGlycol = perGlycol / (perGlycol + (1-m.mass)/t.waterMolar)

	w := min(m.mass, f.MaxMassFraction)
	m.lowC = interpolate(f.volume, f.freezingC, min(volumeFraction, f.maxVolumeFraction()))
	m.highC = t.highestC
	m.baseC = f.BaseTemperatureK - t.zeroK
	z := w - f.BaseMassFraction
	m.density = f.Density.at(z)
	m.heatCapacity = f.HeatCapacity.at(z)
	m.conductivity = f.Conductivity.at(z)
	m.lnViscosity = f.LnViscosity.at(z)
	if way := (m.mass - w) / (1 - f.MaxMassFraction); way > 0 {
		m.estimated = true
		m.lowC = f.pure.lowC
		blend(&m.density, &f.pure.density, way)
		blend(&m.heatCapacity, &f.pure.heatCapacity, way)
		blend(&m.conductivity, &f.pure.conductivity, way)
		blend(&m.lnViscosity, &f.pure.lnViscosity, way)
	}
	return m, nil
}

// VolumeFraction is the volume fraction of glycol, 0 to 1.
func (m Mix) VolumeFraction() float64 { return m.volume }

// MassFraction is the mass fraction of glycol, 0 to 1.
func (m Mix) MassFraction() float64 { return m.mass }

// Estimated reports that the fraction lies above MaxVolumeFraction, where density, heat
// capacity, conductivity and viscosity are estimates.
func (m Mix) Estimated() bool { return m.estimated }

// DensityKgM3 is the density in kg/m3. Outside freezing point to 130 degC it holds the
// value of the nearer end; an estimated mix begins at 7 degC (ethylene) or 0 degC (propylene).
func (m Mix) DensityKgM3(tC float64) float64 { return cubic(&m.density, m.offset(tC)) }

// HeatCapacityJKgK is the heat capacity in J/(kg K), held outside the range as DensityKgM3.
func (m Mix) HeatCapacityJKgK(tC float64) float64 { return cubic(&m.heatCapacity, m.offset(tC)) }

// ConductivityWMK is the thermal conductivity in W/(m K), held as DensityKgM3.
func (m Mix) ConductivityWMK(tC float64) float64 { return cubic(&m.conductivity, m.offset(tC)) }

// ViscosityPaS is the dynamic viscosity in Pa s, held as DensityKgM3. Above 100 degC it
// reads low: by 18 % for pure water at 130 degC.
func (m Mix) ViscosityPaS(tC float64) float64 {
	return math.Exp(cubic(&m.lnViscosity, m.offset(tC)))
}

func (m Mix) offset(tC float64) float64 { return min(max(tC, m.lowC), m.highC) - m.baseC }

// DensityKgM3 is the density in kg/m3 of a mix of the given volume fraction of glycol (0 to
// MaxVolumeFraction) at tC (freezing point to 130 degC).
func DensityKgM3(kind Glycol, volumeFraction, tC float64) (float64, error) {
	m, err := checkedMix("density", kind, volumeFraction, tC)
	return m.DensityKgM3(tC), err
}

// HeatCapacityJKgK is the heat capacity in J/(kg K), in the same range as DensityKgM3.
func HeatCapacityJKgK(kind Glycol, volumeFraction, tC float64) (float64, error) {
	m, err := checkedMix("heat capacity", kind, volumeFraction, tC)
	return m.HeatCapacityJKgK(tC), err
}

// ConductivityWMK is the thermal conductivity in W/(m K), in the same range as DensityKgM3.
func ConductivityWMK(kind Glycol, volumeFraction, tC float64) (float64, error) {
	m, err := checkedMix("conductivity", kind, volumeFraction, tC)
	return m.ConductivityWMK(tC), err
}

// ViscosityPaS is the dynamic viscosity in Pa s, in the same range as DensityKgM3.
func ViscosityPaS(kind Glycol, volumeFraction, tC float64) (float64, error) {
	m, err := checkedMix("viscosity", kind, volumeFraction, tC)
	if err != nil {
		return 0, err
	}
	return m.ViscosityPaS(tC), nil
}

func checkedMix(what string, kind Glycol, volumeFraction, tC float64) (Mix, error) {
	if err := checkFraction(kind, volumeFraction, MaxVolumeFraction(kind)); err != nil {
		return Mix{}, fmt.Errorf("%s: %w", what, err)
	}
	m, err := NewMix(kind, volumeFraction)
	if err != nil {
		return Mix{}, fmt.Errorf("%s: %w", what, err)
	}
	if !(tC >= m.lowC && tC <= m.highC) {
		return Mix{}, fmt.Errorf("%s: temperature %g degC is outside %.1f (where this mix freezes) to %g degC",
			what, tC, m.lowC, m.highC)
	}
	return m, nil
}

// MaxVolumeFraction is the strongest mix with property and freezing data, as a volume
// fraction of glycol: 60 mass percent. It is 0 for an unknown kind.
func MaxVolumeFraction(kind Glycol) float64 {
	if kind >= numGlycols {
		return 0
	}
	return data().fluids[kind].maxVolumeFraction()
}

// VolumeToMassFraction converts a volume fraction of glycol, 0 to 1, to a mass fraction.
// Up to MaxVolumeFraction it reads the ASHRAE 2001 table; above, a straight line to pure
// glycol (judgement: within 0.01 of ideal mixing).
func VolumeToMassFraction(kind Glycol, volumeFraction float64) (float64, error) {
	if err := checkFraction(kind, volumeFraction, 1); err != nil {
		return 0, fmt.Errorf("volume to mass fraction: %w", err)
	}
	return data().fluids[kind].massFraction(volumeFraction), nil
}

// MassToVolumeFraction is the inverse of VolumeToMassFraction.
func MassToVolumeFraction(kind Glycol, massFraction float64) (float64, error) {
	if err := checkFraction(kind, massFraction, 1); err != nil {
		return 0, fmt.Errorf("mass to volume fraction: %w", err)
	}
	f := &data().fluids[kind]
	if massFraction <= f.MaxMassFraction {
		return interpolate(f.mass, f.volume, massFraction), nil
	}
	return 1 - (1-massFraction)*(1-f.maxVolumeFraction())/(1-f.MaxMassFraction), nil
}

func (f *fluid) massFraction(volume float64) float64 {
	if volume <= f.maxVolumeFraction() {
		return interpolate(f.volume, f.mass, volume)
	}
	return 1 - (1-volume)*(1-f.MaxMassFraction)/(1-f.maxVolumeFraction())
}

func checkFraction(kind Glycol, fraction, most float64) error {
	if kind >= numGlycols {
		return fmt.Errorf("no glycol has the number %d; use Ethylene or Propylene", uint8(kind))
	}
	if !(fraction >= 0 && fraction <= most) {
		return fmt.Errorf("glycol fraction %g is outside 0 to %g", fraction, most)
	}
	return nil
}

// at works the fraction offset z into the polynomial, leaving a cubic in temperature.
func (p *polynomial) at(z float64) (c [4]float64) {
	for i := range p {
		for j := len(p[i]) - 1; j >= 0; j-- {
			c[i] = c[i]*z + p[i][j]
		}
	}
	return c
}

func cubic(c *[4]float64, y float64) float64 { return ((c[3]*y+c[2])*y+c[1])*y + c[0] }

// blend moves the cubic a share of the way to b.
func blend(a, b *[4]float64, way float64) {
	for i := range a {
		a[i] += way * (b[i] - a[i])
	}
}

// cubicThrough is the cubic through four points (Newton's divided differences, multiplied out).
func cubicThrough(x, y [4]float64) (c [4]float64) {
	for step := 1; step < 4; step++ {
		for i := 3; i >= step; i-- {
			y[i] = (y[i] - y[i-1]) / (x[i] - x[i-step])
		}
	}
	for i := 3; i >= 0; i-- { // c = c (t - x[i]) + y[i]
		for k := 3; k > 0; k-- {
			c[k] = c[k-1] - x[i]*c[k]
		}
		c[0] = y[i] - x[i]*c[0]
	}
	return c
}

// interpolate reads y at x from a table with rising x, straight lines between rows, the
// end rows' values outside.
func interpolate(xs, ys []float64, x float64) float64 {
	last := len(xs) - 1
	if x <= xs[0] {
		return ys[0]
	}
	for i := 1; i <= last; i++ {
		if x <= xs[i] {
			return ys[i-1] + (ys[i]-ys[i-1])*(x-xs[i-1])/(xs[i]-xs[i-1])
		}
	}
	return ys[last]
}
