package margin

import (
	"math"
	"slices"
)

// MiddleRange is where most engines of a sample lie: a tenth of them below Low, a tenth
// above High.
type MiddleRange struct {
	Low    float64 `json:"low"`
	Middle float64 `json:"middle"`
	High   float64 `json:"high"`
	// LowError and HighError are standard errors of Low and High from the size of
	// the sample, in the unit of the range: half the way between the engines that
	// stand one standard error of a share above and below the mark.
	LowError  float64 `json:"low_error"`
	HighError float64 `json:"high_error"`
}

// Outside is the share of engines on each side of a MiddleRange.
const Outside = 0.10

// RangeOf gives the range of equally weighted values; of none, NaN.
func RangeOf(values []float64) MiddleRange {
	if len(values) == 0 {
		nan := math.NaN()
		return MiddleRange{nan, nan, nan, nan, nan}
	}
	v := slices.Sorted(slices.Values(values))
	share := math.Sqrt(Outside * (1 - Outside) / float64(len(v)))
	errorAt := func(p float64) float64 { return 0.5 * (quantile(v, p+share) - quantile(v, p-share)) }
	return MiddleRange{
		quantile(v, Outside), quantile(v, 0.5), quantile(v, 1-Outside),
		errorAt(Outside), errorAt(1 - Outside),
	}
}

// quantile is the value of sorted v below which the share p of them lies, by
// straight lines between the middles of the steps.
func quantile(v []float64, p float64) float64 {
	x := min(max(p*float64(len(v))-0.5, 0), float64(len(v)-1))
	i := min(int(x), max(0, len(v)-2))
	if len(v) == 1 {
		return v[0]
	}
	return v[i] + (x-float64(i))*(v[i+1]-v[i])
}
