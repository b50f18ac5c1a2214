package proof

import (
	"math"

	"weephole/lineup"
)

// windows cuts a log into stretches longer than a fan's cycle or a valve's hunting. When a fan
// comes on is chance, and of some hundred engines one always happens to have the moments right;
// row by row it would be taken for proof of whatever ails it. The mean over such a stretch
// hardly depends on the moments. The lineup weighs logs by the same windows.
type windows struct {
	ends    []int   // the row after the last of each
	seconds float64 // of one
	own     float64 // K, what each mean errs by itself
}

// windows cuts a log of rows so many seconds apart. A last stretch of less than half the
// length goes with the one before it.
func (p *Proof) windows(rows []float64, step float64) windows {
	per := max(1, int(math.Round(p.st.Window.Value/step)))
	w := windows{seconds: float64(per) * step, own: p.st.WindowSD.Value}
	for end := per; end < len(rows); end += per {
		w.ends = append(w.ends, end)
	}
	if n := len(w.ends); n > 0 && len(rows)-w.ends[n-1] < per/2 {
		w.ends = w.ends[:n-1]
	}
	w.ends = append(w.ends, len(rows))
	return w
}

// means are those over each stretch; NaN where it holds nothing, nil for nil.
func (w *windows) means(rows []float64) []float64 {
	if rows == nil {
		return nil
	}
	out := make([]float64, len(w.ends))
	from := 0
	for k, end := range w.ends {
		n, sum := 0.0, 0.0
		for _, v := range rows[from:end] {
			if !math.IsNaN(v) {
				n, sum = n+1, sum+v
			}
		}
		out[k], from = sum/n, end
	}
	return out
}

// errs is the error of the means where that of the rows wanders like m. Take T seconds, a
// correlation time c, and x = T/c. A mean then has 2 (x - 1 + exp(-x))/x^2 of the rows'
// variance. Its covariance with the next one is (1 - exp(-x))^2/x^2 of it. Both come from
// integrating the exponential correlation.
func (w *windows) errs(m lineup.ErrorModel) lineup.ErrorModel {
	x := w.seconds / m.Correlation
	variance := 2 * (x - 1 + math.Exp(-x)) / (x * x)
	covariance := math.Pow((1-math.Exp(-x))/x, 2)
	return lineup.ErrorModel{
		ModelSD:     m.ModelSD * math.Sqrt(variance),
		Correlation: w.seconds / math.Log(variance/covariance),
		ReadingSD:   math.Hypot(m.ReadingSD, w.own),
	}
}
