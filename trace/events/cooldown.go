package events

import "math"

// SafeC is the coolant temperature in degC below which the cap may be opened:
// below it no pressure is left and a splash does not scald at once. Common
// practice, no source; burns at 50 degC take minutes (see docs/cautions).
const SafeC = 50.0

// Cooldown tells how long after the last row a parked engine's cap may be
// opened: seconds until coolant falls below SafeC, with standard uncertainty.
// time in s and coolantC in degC are the rows since shut-off; ambient is the air
// around the car in degC. Fewer than three rows leave the prior alone.
//
// Model: c(t) = a + (c0-a) exp(-t/tau), Newton's law of cooling. It is fitted to
// what follows the first minutes, with priors on a and tau; the uncertainty
// comes from the curvature at the best fit, carried through to the crossing.
// It ends where somebody starts the engine, opens the bonnet or runs a fan.
func Cooldown(time, coolantC []float64, ambient Estimate) Estimate {
	lim := limits()
	var t, c []float64
	end, endC := 0.0, nan
	for i := range time {
		if !math.IsNaN(coolantC[i]) {
			end, endC = time[i], coolantC[i]
		}
	}
	if math.IsNaN(endC) || math.IsNaN(ambient.Value) {
		return Estimate{nan, nan}
	}
	if endC+lim.HotterInside.Value <= SafeC {
		return Estimate{0, 0}
	}
	for i := range time {
		// One point every half minute is more than the fit can tell apart.
		if n := len(t); !math.IsNaN(coolantC[i]) && time[i]-time[0] >= lim.SoakPeak.Value && (n == 0 || time[i]-end-t[n-1] >= 30) {
			t, c = append(t, time[i]-end), append(c, coolantC[i])
		}
	}
	// Thin to independent residuals, so that many rows do not feign knowledge.
	weight := 1.0
	if n := len(t); n > 1 {
		weight = math.Min(1, ((t[n-1]-t[0])/lim.ResidualApart.Value+1)/float64(n))
	}
	noise := math.Hypot(readingStep, 0.7)
	best := [3]float64{endC, ambient.Value, math.Log(lim.ParkedTau.Value)}
	cost := func(p [3]float64) float64 {
		s := sq((p[1]-ambient.Value)/math.Max(ambient.Sigma, 0.5)) + sq((p[2]-math.Log(lim.ParkedTau.Value))/lim.ParkedLogSpread.Value) + sq((p[0]-endC)/1.5)
		for i := range t {
			s += weight * sq((p[1]+(p[0]-p[1])*math.Exp(-t[i]/math.Exp(p[2]))-c[i])/noise)
		}
		return s
	}
	best = descend(best, cost)
	cov, ok := covariance(best, cost)
	until := crossing(best, SafeC-lim.HotterInside.Value/2)
	if !ok || math.IsInf(until, 1) {
		return Estimate{until, math.Inf(1)}
	}
	// Carry the uncertainty through: variance = g' cov g.
	var g [3]float64
	step := [3]float64{0.5, 0.5, 0.02}
	for i := range g {
		up, down := best, best
		up[i] += step[i]
		down[i] -= step[i]
		g[i] = (crossing(up, SafeC-lim.HotterInside.Value/2) - crossing(down, SafeC-lim.HotterInside.Value/2)) / (2 * step[i])
	}
	v := 0.0
	for i := range g {
		for k := range g {
			v += g[i] * cov[i][k] * g[k]
		}
	}
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return Estimate{until, math.Inf(1)}
	}
	return Estimate{until, math.Sqrt(math.Max(v, 0))}
}

func sq(x float64) float64 { return x * x }

// crossing solves a + (c0-a) exp(-t/tau) = safe for t; infinite in a place as
// warm as that.
func crossing(p [3]float64, safe float64) float64 {
	if p[0] <= safe {
		return 0
	}
	if p[1] >= safe {
		return math.Inf(1)
	}
	return math.Exp(p[2]) * math.Log((p[0]-p[1])/(safe-p[1]))
}

// descend minimises a smooth cost by coordinate search with shrinking steps:
// slow, sure, and three parameters only.
func descend(p [3]float64, cost func([3]float64) float64) [3]float64 {
	step := [3]float64{4, 4, 0.4}
	at := cost(p)
	for range 400 {
		moved := false
		for i := range p {
			for _, sign := range [2]float64{1, -1} {
				q := p
				q[i] += sign * step[i]
				if c := cost(q); c < at {
					p, at, moved = q, c, true
					break
				}
			}
		}
		if !moved {
			for i := range step {
				step[i] /= 2
			}
			if step[2] < 1e-5 {
				break
			}
		}
	}
	return p
}

// covariance inverts half the second derivative of the cost (a sum of squared
// standard residuals) at its minimum.
func covariance(p [3]float64, cost func([3]float64) float64) (cov [3][3]float64, ok bool) {
	step := [3]float64{0.3, 0.3, 0.02}
	var h [3][3]float64
	for i := range 3 {
		for k := range 3 {
			at := func(a, b float64) float64 {
				q := p
				q[i] += a * step[i]
				q[k] += b * step[k]
				return cost(q)
			}
			h[i][k] = (at(1, 1) - at(1, -1) - at(-1, 1) + at(-1, -1)) / (8 * step[i] * step[k])
		}
	}
	det := h[0][0]*(h[1][1]*h[2][2]-h[1][2]*h[2][1]) - h[0][1]*(h[1][0]*h[2][2]-h[1][2]*h[2][0]) + h[0][2]*(h[1][0]*h[2][1]-h[1][1]*h[2][0])
	if !(det > 0) {
		return cov, false
	}
	for i := range 3 {
		for k := range 3 {
			a, b := (k+1)%3, (k+2)%3
			c, d := (i+1)%3, (i+2)%3
			cov[i][k] = (h[a][c]*h[b][d] - h[a][d]*h[b][c]) / det
		}
	}
	return cov, true
}
