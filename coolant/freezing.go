package coolant

import (
	"fmt"
	"slices"
)

// FreezingC is the temperature in degC at which the first ice forms in a mix of the given
// volume fraction of glycol, 0 to MaxVolumeFraction: the ASHRAE 2001 curve, the more
// careful of the published ones. Stronger mixes are an error: past about 60 mass percent more
// glycol soon protects less, and there are no data here.
func FreezingC(kind Glycol, volumeFraction float64) (float64, error) {
	if err := checkFraction(kind, volumeFraction, MaxVolumeFraction(kind)); err != nil {
		return 0, fmt.Errorf("freezing point: %w (stronger mixes are not in the table, and do not protect much further)", err)
	}
	f := &data().fluids[kind]
	return interpolate(f.volume, f.freezingC, volumeFraction), nil
}

// VolumeFractionForC is the least volume fraction of glycol whose freezing point is at or below
// lowestC (degC). For 0 degC and above it is 0.
func VolumeFractionForC(kind Glycol, lowestC float64) (float64, error) {
	if kind >= numGlycols {
		return 0, fmt.Errorf("mix for a lowest temperature: %w", checkFraction(kind, 0, 1))
	}
	f := &data().fluids[kind]
	limit := f.freezingC[len(f.freezingC)-1]
	if !(lowestC >= limit) {
		return 0, fmt.Errorf("mix for a lowest temperature: %g degC is below %g degC, the limit of %s glycol in the table",
			lowestC, limit, kind)
	}
	temperatures, fractions := slices.Clone(f.freezingC), slices.Clone(f.volume)
	slices.Reverse(temperatures)
	slices.Reverse(fractions)
	return interpolate(temperatures, fractions, lowestC), nil
}
