package lineup

import "math"

// ErrorModel describes how a healthy model's coolant temperature departs from
// a real log: a slowly wandering model error, an Ornstein-Uhlenbeck process of
// standard deviation ModelSD (K) and correlation time Correlation (s), plus
// white reading noise of standard deviation ReadingSD (K).
//
// Without the correlated part a log of a thousand rows would count as a
// thousand independent readings and the odds would come out absurdly sure.
type ErrorModel struct {
	ModelSD     float64
	Correlation float64
	ReadingSD   float64
}

// LogLikelihood is the log density of the residuals (reading minus model, K)
// taken every step seconds; NaN residuals are gaps. It runs the scalar Kalman
// filter of the state b' = phi*b + w, r = b + e, with phi = exp(-step/Correlation)
// (Anderson & Moore, Optimal Filtering, 1979, ch. 5: prediction error decomposition),
// in time linear in the number of residuals.
func (m ErrorModel) LogLikelihood(residuals []float64, step float64) float64 {
	phi := math.Exp(-step / m.Correlation)
	stationary := m.ModelSD * m.ModelSD
	drive := stationary * (1 - phi*phi)
	noise := m.ReadingSD * m.ReadingSD

	mean, variance := 0.0, stationary
	sum := 0.0
	for _, r := range residuals {
		if !math.IsNaN(r) {
			innovation := r - mean
			s := variance + noise
			sum -= 0.5 * (math.Log(2*math.Pi*s) + innovation*innovation/s)
			gain := variance / s
			mean += gain * innovation
			variance *= 1 - gain
		}
		mean *= phi
		variance = phi*phi*variance + drive
	}
	return sum
}

// Whiten writes the residuals as independent standard normals, were the model
// right: the filter's innovations over their standard deviations. It is the
// linear map whose sum of squares LogLikelihood takes. Gaps give 0.
func (m ErrorModel) Whiten(residuals []float64, step float64, into []float64) []float64 {
	phi := math.Exp(-step / m.Correlation)
	stationary := m.ModelSD * m.ModelSD
	drive := stationary * (1 - phi*phi)
	noise := m.ReadingSD * m.ReadingSD
	mean, variance := 0.0, stationary
	into = into[:0]
	for _, r := range residuals {
		u := 0.0
		if !math.IsNaN(r) {
			innovation := r - mean
			s := variance + noise
			u = innovation / math.Sqrt(s)
			gain := variance / s
			mean += gain * innovation
			variance *= 1 - gain
		}
		into = append(into, u)
		mean *= phi
		variance = phi*phi*variance + drive
	}
	return into
}
