package coolant

import (
	"fmt"
	"math"
)

// atmosphere is the lower ICAO standard atmosphere.
type atmosphere struct {
	pressurePa   float64 // at sea level
	temperatureK float64 // at sea level
	lapse        float64 // K/m
	exponent     float64 // g M / (R L)
}

// Altitudes for which PressureAtAltitudePa answers, in m above sea level: from below the
// lowest road to above the highest (common knowledge, no source).
const (
	LowestAltitudeM  = -500
	HighestAltitudeM = 6000
)

// PressureAtAltitudePa is the absolute pressure in Pa of the standard atmosphere at altitudeM
// metres above sea level, LowestAltitudeM to HighestAltitudeM; outside them it holds the
// value of the nearer end. The weather moves the true pressure by some 3 % (from memory).
//
// p = p0 (1 - L h / T0)^(g M / R L), ICAO standard atmosphere, troposphere.
func PressureAtAltitudePa(altitudeM float64) float64 {
	a := &data().air
	h := min(max(altitudeM, LowestAltitudeM), HighestAltitudeM)
	return a.pressurePa * math.Pow(1-a.lapse*h/a.temperatureK, a.exponent)
}

// PressureUnderCapPa is the absolute pressure in Pa at which a cap of capPa gauge opens at
// altitudeM. A cap works against the air outside, so altitude lowers the whole.
func PressureUnderCapPa(capPa, altitudeM float64) (float64, error) {
	if !(altitudeM >= LowestAltitudeM && altitudeM <= HighestAltitudeM) {
		return 0, fmt.Errorf("pressure under a cap: altitude %g m is outside %d to %d m",
			altitudeM, LowestAltitudeM, HighestAltitudeM)
	}
	if !(capPa >= 0) {
		return 0, fmt.Errorf("pressure under a cap: cap pressure %g Pa is below 0", capPa)
	}
	return PressureAtAltitudePa(altitudeM) + capPa, nil
}
