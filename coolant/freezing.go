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
	limit := FreezesLastC(kind)
	if !(lowestC >= limit) {
		return 0, fmt.Errorf("mix for a lowest temperature: %g degC is below %g degC, the limit of %s glycol in the table",
			lowestC, limit, kind)
	}
	temperatures, fractions := slices.Clone(f.freezingC), slices.Clone(f.volume)
	slices.Reverse(temperatures)
	slices.Reverse(fractions)
	return interpolate(temperatures, fractions, lowestC), nil
}

// VolumeFractionOfReading is the volume fraction of glycol in a mix whose freezing point a
// tester reads as readC, degC. Testers' scales go colder than the table (to -60 degF): such a
// reading gives the table's strongest mix, and atLeast says that the mix is that or stronger.
func VolumeFractionOfReading(kind Glycol, readC float64) (fraction float64, atLeast bool, err error) {
	if kind >= numGlycols {
		return 0, false, fmt.Errorf("mix of a tester's reading: %w", checkFraction(kind, 0, 1))
	}
	t := data()
	if limit := FreezesLastC(kind); readC < limit && readC >= t.testerC {
		return MaxVolumeFraction(kind), true, nil
	}
	if !(readC >= t.testerC) {
		return 0, false, fmt.Errorf("mix of a tester's reading: %g degC is below %g degC, where the scales of testers end", readC, t.testerC)
	}
	fraction, err = VolumeFractionForC(kind, readC)
	return fraction, false, err
}

// FreezesLastC is the freezing point, degC, of the strongest mix of the table: the lowest
// that can be promised.
func FreezesLastC(kind Glycol) float64 {
	f := &data().fluids[kind]
	return f.freezingC[len(f.freezingC)-1]
}
