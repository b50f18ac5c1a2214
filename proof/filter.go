package proof

import (
	"math"

	"weephole/lineup"
)

// filter is lineup.ErrorModel's Kalman filter with everything worked out
// beforehand that does not depend on the residuals: a plan runs it some ten
// million times. It whitens: what step returns are independent standard normals
// if the residuals are as the model has them, and linear in the residuals.
type filter struct {
	phi     float64
	gain    []float64
	inverse []float64 // 1/standard deviation of each innovation; 0 in a gap
	logs    []float64 // log(sqrt(2 pi) sd) of each innovation
}

// newFilter prepares for residuals step seconds apart; gap tells which are missing.
func newFilter(m lineup.ErrorModel, step float64, n int, gap func(k int) bool) *filter {
	f := &filter{phi: math.Exp(-step / m.Correlation), gain: make([]float64, n), inverse: make([]float64, n), logs: make([]float64, n)}
	stationary, noise := m.ModelSD*m.ModelSD, m.ReadingSD*m.ReadingSD
	variance := stationary
	for k := range n {
		if !gap(k) {
			s := variance + noise
			f.gain[k] = variance / s
			f.inverse[k] = 1 / math.Sqrt(s)
			f.logs[k] = 0.5 * math.Log(2*math.Pi*s)
		}
		variance = f.phi*f.phi*variance*(1-f.gain[k]) + stationary*(1-f.phi*f.phi)
	}
	return f
}

// step takes in residual k, which is not used in a gap.
func (f *filter) step(mean *float64, k int, residual float64) (white float64) {
	if f.inverse[k] == 0 {
		*mean *= f.phi
		return 0
	}
	innovation := residual - *mean
	*mean = f.phi * (*mean + f.gain[k]*innovation)
	return innovation * f.inverse[k]
}
