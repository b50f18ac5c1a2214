package trial

import (
	"math"
	"math/rand/v2"

	"weephole/circuit"
	"weephole/sheet"
)

// Spec is what the jobs of some cars say alike: the vehicle as far as it is
// known, and where it stands. The cars themselves differ from it and from each
// other. Sharing specs lets many cars be weighed against one bank of engines.
type Spec struct {
	Vehicle circuit.Vehicle
	Shop    circuit.Conditions // also told as that of the road
}

// Usual ratings: common practice, no source.
var (
	grades = [...]float64{78, 82, 84, 87, 89, 92}    // degC
	caps   = [...]float64{90e3, 100e3, 110e3, 140e3} // Pa
)

// DrawSpec draws spec number n of so many. Their weather is spread evenly over
// the year: spec n has the n-th part of the air's distribution, in an order of
// the seed's own.
func DrawSpec(w *World, seed uint64, n, of int) *Spec {
	order := streams{seed, 0}.stream("weather", "", of).Perm(of)
	rng := streams{seed, uint64(n)}.stream("spec", "", of)
	yes := func(p sheet.Sourced) bool { return rng.Float64() < p.Value }
	s := &Spec{}
	v := &s.Vehicle
	if yes(w.KnownEngine) {
		v.Fuel = circuit.Petrol
		if yes(w.Diesel) {
			v.Fuel = circuit.Diesel
		}
		litres := math.Round(between(rng, w.Litres)*10) / 10
		v.DisplacementM3 = litres / 1000
		kw := litres * between(rng, w.KWPerLitre)
		mass := math.Max(leastMass, kw*between(rng, w.KgPerKW))
		if yes(w.KnownPower) {
			v.PowerW = math.Round(kw) * 1000
		}
		if yes(w.KnownMass) {
			v.MassKg = math.Round(mass/50) * 50
		}
	}
	if yes(w.KnownThermostat) {
		v.ThermostatC = new(grades[rng.IntN(len(grades))])
		v.ThermostatSits = w.thermostatSits(rng)
	}
	if kind := w.fanKind(rng); yes(w.KnownFan) {
		v.FanKind = &kind
	}
	if yes(w.KnownCap) {
		v.CapPressurePa = new(caps[rng.IntN(len(caps))])
	}

	const tenth = 1.2816 // standard normal deviate of the upper tenth
	u := (float64(order[n]) + rng.Float64()) / float64(of)
	z := math.Sqrt2 * math.Erfinv(2*u-1) / tenth
	up := w.ShopAir.Typical
	if z > 0 {
		up += z * (w.ShopAir.High - w.ShopAir.Typical)
	} else {
		up += z * (w.ShopAir.Typical - w.ShopAir.Low)
	}
	s.Shop.AmbientC = math.Round(clamp(up, -15, 42))
	s.Shop.AltitudeM = math.Round(math.Min(rng.ExpFloat64()*w.Altitude.Value, 3000)/100) * 100
	return s
}

// leastMass is the lightest car, kg; judgement.
const leastMass = 750

func (w *World) fanKind(rng *rand.Rand) circuit.FanKind {
	switch u := rng.Float64(); {
	case u < w.ViscousFan.Value:
		return circuit.FanViscous
	case u < w.ViscousFan.Value+w.TwoSpeedFan.Value:
		return circuit.FanTwoSpeed
	}
	return circuit.FanElectric
}

func (w *World) thermostatSits(rng *rand.Rand) circuit.Sits {
	if rng.Float64() < w.InletThermostat.Value {
		return circuit.OnInlet
	}
	return circuit.OnOutlet
}

// vehicle draws a true vehicle: near what is told where it is told, anything
// that the world has where it is not.
func (s *Spec) vehicle(rng *rand.Rand, w *World, kind circuit.FanKind) circuit.Vehicle {
	about := func(x, sd float64) float64 { return x * math.Exp(sd*rng.NormFloat64()) }
	v := s.Vehicle
	v.FanKind = &kind
	if v.DisplacementM3 == 0 {
		v.Fuel = circuit.Petrol
		if rng.Float64() < w.Diesel.Value {
			v.Fuel = circuit.Diesel
		}
		v.DisplacementM3 = between(rng, w.Litres) / 1000
	} else {
		v.DisplacementM3 = about(v.DisplacementM3, w.EngineAbout.Value)
	}
	if v.PowerW == 0 {
		v.PowerW = v.DisplacementM3 * 1e6 * between(rng, w.KWPerLitre)
	} else {
		v.PowerW = about(v.PowerW, w.PowerAbout.Value)
	}
	if v.MassKg == 0 {
		v.MassKg = math.Max(leastMass, v.PowerW/1000*between(rng, w.KgPerKW))
	} else {
		v.MassKg = about(v.MassKg, w.MassAbout.Value)
	}
	grade := rng.IntN(len(grades))
	switch {
	case v.ThermostatC == nil:
		v.ThermostatC, v.ThermostatSits = new(grades[grade]), w.thermostatSits(rng)
	case rng.Float64() < w.Mistold.Value:
		v.ThermostatC = new(grades[grade])
	}
	if v.CapPressurePa == nil {
		v.CapPressurePa = new(caps[rng.IntN(len(caps))])
	}
	return v
}

// places draws where the car really stands and was driven.
func (s *Spec) places(rng *rand.Rand, w *World) (shop, road circuit.Conditions) {
	shop, road = s.Shop, s.Shop
	shop.AmbientC += w.ShopAirError.Value * rng.NormFloat64()
	road.AmbientC = clamp(road.AmbientC+w.RoadAirError.Value*rng.NormFloat64(), -18, 45)
	return shop, road
}
