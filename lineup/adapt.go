package lineup

import (
	"context"
	"math"
	"sort"

	"golang.org/x/sync/errgroup"
	"gonum.org/v1/gonum/mat"
)

// Sizes of the fits; design choices.
const (
	mostDirections  = 16   // of the misfit that a fit looks at
	worthDirection  = 0.03 // variance, in units of the noise, from which a direction tells anything
	basisSample     = 1200 // engines that the directions are found from
	fitLeast        = 80   // engines of a stratum that a fit needs
	fitEngines      = 6    // effective engines a fit looks at, for each latent
	plainSlope      = 2    // standard deviations by which a latent's slopes must stand out
	momentEngines   = 100  // effective engines that moments are taken from
	momentLeast     = 12   // fewer give none
	momentDims      = 24   // latents that moments move
	momentNarrowest = 0.02 // variance; a narrower one would leave out what was not yet met
	significant     = 3    // standard errors by which a moment must differ from the prior's
	momentWider     = 1.15 // factor on the standard deviation, since moments are estimates
	kernelCount     = 60   // engines with a kernel of their own
	kernelNarrow    = 0.6  // standard deviation of a kernel over the posterior's
	leastShare      = 0.1  // of every component and of the prior
	ridge           = 0.15 // times the latents per effective engine: the penalty on the slopes
)

// view is the engines drawn so far, made ready for fitting proposals.
type view struct {
	l      *Lineup
	active []int       // latents that act smoothly and may be fitted
	dirs   *mat.Dense  // outputs x K: the directions of the misfit; nil without logs and readings
	at     [][]float64 // by candidate: misfit along the directions
}

// linear is the misfit of a stratum as a linear function of its latents:
// v = c + Hz + error, the error with covariance e beside the unit noise of what
// was measured.
type linear struct {
	h *mat.Dense // K x latents
	c []float64
	e *mat.SymDense
}

// proposals fits a mixture to each stratum from the engines drawn so far.
func (l *Lineup) proposals() []mixture {
	view, members, strata := l.newView(), l.members, l.draw.strata
	out, own := make([]mixture, len(strata)), make([]*linear, len(strata))
	l.eachStratum(func(k int) { own[k] = view.fit(members[k]) })
	single := make(map[int]int)
	for k, s := range strata {
		if s.causes[1] < 0 {
			single[s.causes[0]] = k
		}
	}
	l.eachStratum(func(k int) {
		lin := own[k]
		if c := strata[k].causes; lin == nil && c[1] >= 0 {
			lin = view.borrow(own, single[c[0]], single[c[1]], members[k])
		}
		out[k] = view.mix(k, lin)
	})
	return out
}

// mix makes a stratum's mixture of up to three shapes: that of the linear fit,
// with the moments of the latents that do not act smoothly; that of the moments
// of all; and the prior. Their shares follow what the last ones were worth.
func (v *view) mix(k int, lin *linear) mixture {
	list := v.l.members[k]
	w := v.tempered(list, momentEngines)
	enough := effectiveSize(w) >= momentLeast
	var m mixture
	if n, ok := lin.normal(); ok {
		c := component{shape: n}
		smooth := make(map[int]bool)
		for _, d := range v.active {
			smooth[d] = true
		}
		if enough {
			if rough, ok := v.moments(list, w, func(d int) bool { return !smooth[d] }); ok {
				c.shape = product{n, rough}
			}
		}
		m = append(m, c)
	}
	if enough {
		if b, ok := v.moments(list, w, func(int) bool { return true }); ok {
			m = append(m, component{shape: b})
			var at [][]float64
			for _, r := range systematic(w, kernelCount, 0.5) {
				at = append(at, v.l.pop.cands[list[r]].z)
			}
			m = append(m, component{shape: newKernels(b, at, kernelNarrow)})
		}
	}
	return v.balance(m, list)
}

// balance gives each component a share by how much of the posterior's weight
// it accounts for, were all drawn alike (one step of expectation maximisation;
// Cappé, Douc, Guillin, Marin & Robert 2008). Each and the prior keep a little.
func (v *view) balance(m mixture, list []int) mixture {
	if len(m) == 0 {
		return m
	}
	p := v.l.pop
	took, total := make([]float64, len(m)), 0.0
	for _, i := range list {
		if p.weights[i] == 0 {
			continue
		}
		parts, all := make([]float64, len(m)), 1.0
		for c := range m {
			parts[c] = math.Exp(m[c].logRatio(p.cands[i].z))
			all += parts[c]
		}
		for c := range m {
			took[c] += p.weights[i] * parts[c] / all
		}
		total += p.weights[i]
	}
	for c := range m {
		m[c].share = leastShare
		if total > 0 {
			m[c].share += (1 - leastShare*float64(len(m)+1)) * took[c] / total
		}
	}
	return m
}

// eachStratum calls f for every stratum from several goroutines.
func (l *Lineup) eachStratum(f func(k int)) {
	var g errgroup.Group
	g.SetLimit(l.opts.Workers)
	for k := range l.draw.strata {
		g.Go(func() error { f(k); return nil })
	}
	_ = g.Wait() // none returns an error
}

func (l *Lineup) newView() *view {
	v := &view{l: l}
	for d := range l.draw.dim {
		v.active = append(v.active, d)
	}
	for k := range 2 {
		v.active = append(v.active, l.draw.dim+k*latentsPerFault+latentSeverity)
	}
	v.active = append(v.active, l.draw.gunAt())
	for _, at := range l.draw.logAt {
		v.active = append(v.active, at+latentHeater)
	}
	v.findDirections()
	return v
}

// whitener turns what candidates miss into independent standard normals, were
// they right: readings are so already, a log's residuals go through the filter
// of the error model that fits the best candidate.
type whitener struct {
	logs []whiteLog
	size int
}

// whiteLog is where a log's residuals stand among what a candidate misses.
type whiteLog struct {
	at, n int
	model windowModel
}

func (v *view) newWhitener(best []float32) *whitener {
	w := &whitener{}
	at := 0
	for j := range v.l.evidence {
		e := &v.l.evidence[j]
		at += len(e.readings)
		w.size += len(e.readings)
		if e.log == nil {
			continue
		}
		n := 2 * len(e.log.windows)
		g := whiteLog{at: at, n: n}
		resid := make([]float64, n)
		for i := range resid {
			resid[i] = float64(best[at+i])
		}
		g.model = e.log.likeliest(resid)
		w.logs = append(w.logs, g)
		at += n
		w.size += n
	}
	return w
}

// white is a candidate's misfit, whitened.
func (w *whitener) white(misfit []float32, into []float64) []float64 {
	into = into[:0]
	at := 0
	for _, g := range w.logs {
		for ; at < g.at; at++ {
			into = append(into, float64(misfit[at]))
		}
		resid := make([]float64, g.n)
		for i := range resid {
			resid[i] = float64(misfit[at+i])
		}
		for _, u := range g.model.whiten(resid) {
			into = append(into, math.Max(-farMiss, math.Min(farMiss, u)))
		}
		at += g.n
	}
	for ; at < len(misfit); at++ {
		into = append(into, float64(misfit[at]))
	}
	return into
}

// findDirections finds the directions in which the misfit varies most among the
// engines that fit best: the leading eigenvectors of its covariance.
func (v *view) findDirections() {
	p := v.l.pop
	var all []int
	outputs := 0
	for i := range p.cands {
		if !p.dead[i] {
			all = append(all, i)
			outputs = len(p.misfit[i])
		}
	}
	if outputs == 0 {
		return
	}
	w := v.tempered(all, basisSample/3)
	order := make([]int, len(all))
	for k := range order {
		order[k] = k
	}
	sort.SliceStable(order, func(a, b int) bool { return w[order[a]] > w[order[b]] })
	white := v.newWhitener(p.misfit[all[order[0]]])
	outputs = white.size
	order = order[:min(len(order), basisSample)]
	x := mat.NewDense(len(order), outputs, nil)
	mean := make([]float64, outputs)
	total := 0.0
	for r, k := range order {
		total += w[k]
		row := x.RawRowView(r)
		white.white(p.misfit[all[k]], row[:0])
		for j, u := range row {
			mean[j] += w[k] * u
		}
	}
	for r, k := range order {
		row, root := x.RawRowView(r), math.Sqrt(w[k]/total)
		for j := range row {
			row[j] = root * (row[j] - mean[j]/total)
		}
	}
	cov := mat.NewSymDense(outputs, nil)
	cov.SymOuterK(1, x.T())
	var eigen mat.EigenSym
	if !eigen.Factorize(cov, true) {
		return
	}
	var vectors mat.Dense
	eigen.VectorsTo(&vectors)
	values := eigen.Values(nil)
	k := 1
	for k < min(mostDirections, outputs) && values[outputs-1-k] > worthDirection {
		k++
	}
	v.dirs = mat.DenseCopyOf(vectors.Slice(0, outputs, outputs-k, outputs)) // eigenvalues ascend
	v.at = make([][]float64, p.size())
	_ = v.l.each(context.Background(), len(all), func(_ *kit, n int) {
		i := all[n]
		at := make([]float64, k)
		for j, u := range white.white(p.misfit[i], nil) {
			for c, d := range v.dirs.RawRowView(j) {
				at[c] += u * d
			}
		}
		v.at[i] = at
	})
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
	for range 30 {
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
	if v.dirs == nil || len(list) < fitLeast {
		return nil
	}
	w := v.tempered(list, fitEngines*float64(len(v.active)))
	first := v.regress(list, w, v.active)
	if first == nil {
		return nil
	}
	var plain []int
	for j, a := range v.active {
		if first.chance[j] > plainSlope {
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
	penalty := ridge * float64(d) / effective
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
	out.e.SymOuterK(1/(1-math.Min(0.7, free/effective)), left.T())
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

// borrow fits a pair of causes of which too few engines were drawn: the slopes
// of the likelier of the two alone, the level of the pair's own engines.
func (v *view) borrow(own []*linear, first, second int, list []int) *linear {
	p := v.l.pop
	mass := func(k int) float64 {
		if own[k] == nil {
			return -1
		}
		sum := 0.0
		for _, i := range v.l.members[k] {
			sum += p.weights[i]
		}
		return sum / v.l.draw.strata[k].prior
	}
	from, slot := first, 0
	if mass(second) > mass(first) {
		from, slot = second, 1
	}
	if own[from] == nil || len(list) == 0 {
		return nil
	}
	lin := *own[from]
	if slot == 1 { // alone the cause has the first place, in the pair the second
		lin.h = mat.DenseCopyOf(lin.h)
		a, b := v.l.draw.dim+latentSeverity, v.l.draw.dim+latentsPerFault+latentSeverity
		for c := range lin.c {
			lin.h.Set(c, b, lin.h.At(c, a))
			lin.h.Set(c, a, 0)
		}
	}
	k := len(lin.c)
	w := v.tempered(list, 3)
	level, spread := make([]float64, k), make([]float64, k)
	for r, i := range list {
		for c := range k {
			x := v.at[i][c]
			for d, h := range lin.h.RawRowView(c) {
				x -= h * p.cands[i].z[d]
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
		if m.plain > significant {
			plain = append(plain, m)
		}
	}
	if len(plain) == 0 {
		return nil, false
	}
	sort.SliceStable(plain, func(a, b int) bool { return plain[a].plain > plain[b].plain })
	plain = plain[:min(len(plain), momentDims)]
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
	shrink := float64(n) / (float64(n) + effective)
	for a := range n {
		for b := range a {
			cov.SetSym(a, b, (1-shrink)*momentWider*momentWider*cov.At(a, b))
		}
		cov.SetSym(a, a, math.Max(momentNarrowest, momentWider*momentWider*cov.At(a, a)))
	}
	return newBlock(latents, mean, cov)
}
