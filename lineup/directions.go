package lineup

import (
	"context"
	"math"
	"sort"

	"gonum.org/v1/gonum/mat"
)

// whitener turns what candidates miss into independent standard normals, were
// they right: readings are so already, a log's residuals go through the filter
// of the error model that fits the best candidate.
type whitener struct {
	logs    []whiteLog
	size    int
	farMiss float64 // the most that one may miss
}

// whiteLog is where a log's residuals stand among what a candidate misses.
type whiteLog struct {
	at, n int
	model windowModel
}

func (v *view) newWhitener(best []float32) *whitener {
	w := &whitener{farMiss: v.set.FarMiss.Value}
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
			into = append(into, math.Max(-w.farMiss, math.Min(w.farMiss, u)))
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
	w := v.tempered(all, v.set.BasisEffective.Value)
	order := make([]int, len(all))
	for k := range order {
		order[k] = k
	}
	sort.SliceStable(order, func(a, b int) bool { return w[order[a]] > w[order[b]] })
	white := v.newWhitener(p.misfit[all[order[0]]])
	var eigen mat.EigenSym
	if !eigen.Factorize(v.covariance(white, all, w, order[:min(len(order), int(v.set.BasisSample.Value))]), true) {
		return
	}
	outputs = white.size
	var vectors mat.Dense
	eigen.VectorsTo(&vectors)
	values := eigen.Values(nil)
	k := 1
	for k < min(int(v.set.DirectionsMost.Value), outputs) && values[outputs-1-k] > v.set.DirectionWorth.Value {
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

// covariance is that of the whitened misfits of some of all candidates, by their weights w.
func (v *view) covariance(white *whitener, all []int, w []float64, some []int) *mat.SymDense {
	outputs, p := white.size, v.l.pop
	x := mat.NewDense(len(some), outputs, nil)
	mean := make([]float64, outputs)
	total := 0.0
	for r, k := range some {
		total += w[k]
		row := x.RawRowView(r)
		white.white(p.misfit[all[k]], row[:0])
		for j, u := range row {
			mean[j] += w[k] * u
		}
	}
	for r, k := range some {
		row, root := x.RawRowView(r), math.Sqrt(w[k]/total)
		for j := range row {
			row[j] = root * (row[j] - mean[j]/total)
		}
	}
	cov := mat.NewSymDense(outputs, nil)
	cov.SymOuterK(1, x.T())
	return cov
}
