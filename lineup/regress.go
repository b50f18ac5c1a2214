package lineup

import (
	"math"
	"sort"

	"gonum.org/v1/gonum/mat"
)

// linear is the misfit of a stratum as a linear function of its latents:
// v = c + Hz + error, the error with covariance e beside the unit noise of what
// was measured.
type linear struct {
	h *mat.Dense // K x latents
	c []float64
	e *mat.SymDense
}

// tempered weighs the listed candidates by their posterior with the likelihood
// raised to the largest power, at most 1, that leaves `need` effective ones (or
// half of the list). The weights sum to one.
func (v *view) tempered(list []int, need float64) []float64 {
	p := v.l.pop
	base, logLik := make([]float64, len(list)), make([]float64, len(list))
	for k, i := range list {
		base[k], logLik[k] = p.logBase[i], p.logLikelihood(i)
		if math.IsInf(logLik[k], -1) {
			base[k], logLik[k] = math.Inf(-1), 0
		}
	}
	need = math.Min(need, float64(len(list))/2)
	logw, w := make([]float64, len(list)), make([]float64, len(list))
	try := func(power float64) float64 {
		for k := range logw {
			logw[k] = base[k] + power*logLik[k]
		}
		normalise(logw, w)
		return effectiveSize(w)
	}
	if try(1) >= need {
		return w
	}
	low, high := 0.0, 1.0
	for range int(v.set.TemperHalves.Value) {
		if mid := (low + high) / 2; try(mid) >= need {
			low = mid
		} else {
			high = mid
		}
	}
	try(low)
	return w
}

// fit finds the misfit as a linear function of the latents among a stratum's
// engines, near where they fit: weighted ridge regression. Latents whose slopes
// do not stand out from chance are left to the prior, since the noise of many
// small slopes would spoil the proposal more than it helps. nil where there is
// nothing to fit or too few engines.
func (v *view) fit(list []int) *linear {
	if v.dirs == nil || float64(len(list)) < v.set.FitLeast.Value {
		return nil
	}
	w := v.tempered(list, v.set.FitEngines.Value*float64(len(v.active)))
	first := v.regress(list, w, v.active)
	if first == nil {
		return nil
	}
	var plain []int
	for j, a := range v.active {
		if first.chance[j] > v.set.FitSlope.Value {
			plain = append(plain, a)
		}
	}
	if len(plain) == 0 {
		return nil
	}
	if second := v.regress(list, w, plain); second != nil {
		return &second.linear
	}
	return nil
}

// regression is a fit with the weight of evidence that each latent has a slope.
type regression struct {
	linear
	chance []float64 // by latent: squared slopes over their variances, less their number, in standard deviations of such a sum
}

// regress fits the misfit of the listed engines, weighted by w, to the latents
// named.
func (v *view) regress(list []int, w []float64, latents []int) *regression {
	p, d := v.l.pop, len(latents)
	effective := effectiveSize(w)
	_, k := v.dirs.Dims()
	meanZ, meanV := make([]float64, d), make([]float64, k)
	for r, i := range list {
		for j, a := range latents {
			meanZ[j] += w[r] * p.cands[i].z[a]
		}
		for j := range meanV {
			meanV[j] += w[r] * v.at[i][j]
		}
	}
	z, y := mat.NewDense(len(list), d, nil), mat.NewDense(len(list), k, nil)
	for r, i := range list {
		root := math.Sqrt(w[r])
		row := z.RawRowView(r)
		for j, a := range latents {
			row[j] = root * (p.cands[i].z[a] - meanZ[j])
		}
		row = y.RawRowView(r)
		for j := range row {
			row[j] = root * (v.at[i][j] - meanV[j])
		}
	}
	gram := mat.NewSymDense(d, nil)
	gram.SymOuterK(1, z.T())
	penalty := v.set.FitRidge.Value * float64(d) / effective
	free := 0.0 // effective number of slopes
	own := make([]float64, d)
	for j := range d {
		own[j] = gram.At(j, j)
		free += own[j] / (own[j] + penalty)
		gram.SetSym(j, j, own[j]+penalty)
	}
	var chol mat.Cholesky
	if !chol.Factorize(gram) {
		return nil
	}
	var cross, slopes mat.Dense
	cross.Mul(z.T(), y)
	if err := chol.SolveTo(&slopes, &cross); err != nil {
		return nil
	}
	var left mat.Dense
	left.Mul(z, &slopes)
	left.Sub(y, &left)
	out := &regression{chance: make([]float64, d)}
	out.h, out.c, out.e = mat.NewDense(k, v.l.draw.size, nil), meanV, mat.NewSymDense(k, nil)
	out.e.SymOuterK(1/(1-math.Min(v.set.FitFree.Value, free/effective)), left.T())
	for j, a := range latents {
		sum := 0.0
		for c := range k {
			s := slopes.At(j, c)
			out.h.Set(c, a, s)
			out.c[c] -= s * meanZ[j]
			sum += s * s * effective * own[j] / math.Max(1e-12, out.e.At(c, c))
		}
		out.chance[j] = (sum - float64(k)) / math.Sqrt(2*float64(k))
	}
	return out
}

// borrow fits a stratum of which too few engines were drawn: the slopes of one that
// is much alike, the level of its own engines. The latent of the severity alone acts
// in another place here, or nowhere (severity below zero).
func (v *view) borrow(from *linear, severity int, list []int) *linear {
	if from == nil || len(list) == 0 {
		return nil
	}
	lin := *from
	if alone := v.l.draw.dim + latentSeverity; severity != alone {
		lin.h = mat.DenseCopyOf(lin.h)
		for c := range lin.c {
			if severity >= 0 {
				lin.h.Set(c, severity, lin.h.At(c, alone))
			}
			lin.h.Set(c, alone, 0)
		}
	}
	k := len(lin.c)
	w := v.tempered(list, 3)
	level, spread := make([]float64, k), make([]float64, k)
	for r, i := range list {
		for c := range k {
			x := v.at[i][c]
			for d, h := range lin.h.RawRowView(c) {
				x -= h * v.l.pop.cands[i].z[d]
			}
			level[c] += w[r] * x
			spread[c] += w[r] * x * x
		}
	}
	e := mat.NewSymDense(k, nil)
	e.CopySym(lin.e)
	for c := range k {
		e.SetSym(c, c, e.At(c, c)+math.Max(0, spread[c]-level[c]*level[c]))
	}
	lin.c, lin.e = level, e
	return &lin
}

// normal is the distribution of the latents given that the misfit is no more
// than the noise of what was measured and the error of the fit.
func (f *linear) normal() (*normal, bool) {
	if f == nil {
		return nil, false
	}
	k := len(f.c)
	r := mat.NewSymDense(k, nil)
	r.CopySym(f.e)
	target := make([]float64, k)
	for c := range k {
		r.SetSym(c, c, r.At(c, c)+1)
		target[c] = -f.c[c]
	}
	return newNormal(f.h, r, target)
}

// moments is the distribution with the posterior's mean and covariance in those
// of the latents asked for where they differ plainly from the prior's; the rest
// keep the prior. It is a little wider, since moments are estimates.
func (v *view) moments(list []int, w []float64, among func(d int) bool) (*block, bool) {
	p := v.l.pop
	effective := effectiveSize(w)
	type moved struct {
		d           int
		mean, plain float64
	}
	var plain []moved
	for d := range v.l.draw.size {
		if !among(d) {
			continue
		}
		sum, square := 0.0, 0.0
		for r, i := range list {
			z := p.cands[i].z[d]
			sum += w[r] * z
			square += w[r] * z * z
		}
		m := moved{d: d, mean: sum}
		m.plain = math.Max(math.Abs(m.mean)*math.Sqrt(effective), math.Abs(1-square+sum*sum)*math.Sqrt(effective/2))
		if m.plain > v.set.MomentPlain.Value {
			plain = append(plain, m)
		}
	}
	if len(plain) == 0 {
		return nil, false
	}
	sort.SliceStable(plain, func(a, b int) bool { return plain[a].plain > plain[b].plain })
	plain = plain[:min(len(plain), int(v.set.MomentLatents.Value))]
	n := len(plain)
	latents, mean := make([]int, n), make([]float64, n)
	for k, m := range plain {
		latents[k], mean[k] = m.d, m.mean
	}
	cov := mat.NewSymDense(n, nil)
	diff := make([]float64, n)
	for r, i := range list {
		for k, d := range latents {
			diff[k] = p.cands[i].z[d] - mean[k]
		}
		cov.SymRankOne(cov, w[r], mat.NewVecDense(n, diff))
	}
	// Correlations are drawn towards none as far as the sample is small.
	wider := math.Sqrt(v.set.MomentWider.Value) // of one standard deviation
	shrink := float64(n) / (float64(n) + effective)
	for a := range n {
		for b := range a {
			cov.SetSym(a, b, (1-shrink)*wider*wider*cov.At(a, b))
		}
		cov.SetSym(a, a, math.Max(v.set.MomentNarrowest.Value, v.set.MomentWider.Value*cov.At(a, a)))
	}
	return newBlock(latents, mean, cov)
}
