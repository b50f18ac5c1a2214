package stat

import (
	"math"
	"slices"
)

// Known returns the numbers of xs without NaN, sorted.
func Known(xs []float64) []float64 {
	var k []float64
	for _, x := range xs {
		if !math.IsNaN(x) {
			k = append(k, x)
		}
	}
	slices.Sort(k)
	return k
}

// Quantile is the q-quantile of a sorted slice, interpolated; NaN if empty.
func Quantile(sorted []float64, q float64) float64 {
	if len(sorted) == 0 {
		return math.NaN()
	}
	at := q * float64(len(sorted)-1)
	i := int(at)
	if i+1 >= len(sorted) {
		return sorted[len(sorted)-1]
	}
	f := at - float64(i)
	return sorted[i]*(1-f) + sorted[i+1]*f
}

// Median is the middle of the known numbers; NaN if there is none.
func Median(xs []float64) float64 { return Quantile(Known(xs), 0.5) }

// Mean is the mean of the known numbers; NaN if there is none.
func Mean(xs []float64) float64 {
	s, n := 0.0, 0
	for _, x := range xs {
		if !math.IsNaN(x) {
			s += x
			n++
		}
	}
	if n == 0 {
		return math.NaN()
	}
	return s / float64(n)
}

// Deviation is the standard deviation of the known numbers; NaN below two.
func Deviation(xs []float64) float64 {
	m, s, n := Mean(xs), 0.0, 0
	for _, x := range xs {
		if !math.IsNaN(x) {
			s += (x - m) * (x - m)
			n++
		}
	}
	if n < 2 {
		return math.NaN()
	}
	return math.Sqrt(s / float64(n-1))
}

// Max is the largest known number; negative infinity if there is none.
func Max(xs []float64) float64 {
	m := math.Inf(-1)
	for _, x := range xs {
		if x > m {
			m = x
		}
	}
	return m
}

// Min is the smallest known number; infinity if there is none.
func Min(xs []float64) float64 {
	m := math.Inf(1)
	for _, x := range xs {
		if x < m {
			m = x
		}
	}
	return m
}

// Line fits y = a + b*x by least squares over the known points and returns b
// with its standard error (residuals taken as independent every `apart` of x).
func Line(x, y []float64, apart float64) (a, b, sigmaB float64) {
	n, sx, sy := 0.0, 0.0, 0.0
	for i := range x {
		if !math.IsNaN(y[i]) {
			n++
			sx += x[i]
			sy += y[i]
		}
	}
	if n < 3 {
		return math.NaN(), math.NaN(), math.NaN()
	}
	mx, my := sx/n, sy/n
	var sxx, sxy float64
	for i := range x {
		if !math.IsNaN(y[i]) {
			sxx += (x[i] - mx) * (x[i] - mx)
			sxy += (x[i] - mx) * (y[i] - my)
		}
	}
	if sxx == 0 {
		return my, 0, math.NaN()
	}
	b = sxy / sxx
	a = my - b*mx
	ss := 0.0
	for i := range x {
		if !math.IsNaN(y[i]) {
			r := y[i] - a - b*x[i]
			ss += r * r
		}
	}
	// Var(b) = s^2 n/n_eff / Sxx, with n_eff the number of independent residuals.
	free := math.Max(1, math.Min(n, (x[len(x)-1]-x[0])/apart)-2)
	return a, b, math.Sqrt(ss / n * (n / free) / sxx)
}
