package events

import "math"

// Difference is one number of two runs side by side.
type Difference struct {
	Kind   Kind
	A, B   Estimate
	By     Estimate // B less A
	Beyond bool     // further apart than the uncertainty of both explains, at two standard uncertainties
}

// Compare puts the numbers of two runs side by side, where both show them. It
// says that readings differ, not why: other air, other roads and another load
// make differences too.
func Compare(a, b RunNumbers) []Difference {
	var out []Difference
	for k := range NumKinds {
		if math.IsNaN(a[k].Value) || math.IsNaN(b[k].Value) {
			continue
		}
		d := Difference{Kind: k, A: a[k], B: b[k], By: Estimate{b[k].Value - a[k].Value, math.Hypot(a[k].Sigma, b[k].Sigma)}}
		d.Beyond = math.Abs(d.By.Value) > 2*d.By.Sigma
		out = append(out, d)
	}
	return out
}
