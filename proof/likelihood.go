package proof

import (
	"context"
	"math"

	"gonum.org/v1/gonum/mat"

	"weephole/circuit"
	"weephole/lineup"
	"weephole/sample"
)

// likelihood weighs simulated runs against a log.
//
// The error of a log is the lineup's: a wandering model error, reading noise, and now and
// then a log that is not what it is said to be. Two slow errors come on top (setting
// "slow-sd"), and a car whose heat or mass is off as a whole (settings "heat-sd" and
// "mass-sd"). On top of it every engine stands for its neighbourhood, because a few
// hundred engines in some sixty numbers are thin. Its density is a Gaussian kernel with
// the covariance of the healthy engines' own runs, times the square of the bandwidth
// (Silverman 1986, eq. 4.14; Musso, Oudjane & Le Gland 2001 for particles). Without it a
// class with more variants would win by having one that happens to lie close. The kernel
// is widened once more (setting "wider") because real engines differ from the table's.
//
// The covariance is kept in its few leading directions b_1..b_K. With the
// filter's whitening W, the density of residuals r under W'W + BB' is
//
//	log N = sum of the filter's terms + (p' S^-1 p - log det S)/2,
//	p = (WB)' Wr, S = I + (WB)'(WB)
//
// by the Woodbury identity and the determinant lemma, at every beginning of
// the log.
type likelihood struct {
	components []component
	marks      []int // stretches at which the odds are wanted
}

// size is one kind of error that the log may have.
type component struct {
	log        float64 // of its share of all logs
	outlier    bool    // the log is not what it is said to be: no kernel, and no hypothesis better than another
	filter     *filter
	basis      [directions][]float64 // WB
	inverse    [][directions * directions]float64
	halfLogDet []float64
}

// directions in which the kernel reaches; those of the engines' covariance hold
// nearly all of it. Design choice.
const directions = 12

// Four more directions are the slow error that stays, the one that comes up, and
// a car whose heat or whose mass is off as a whole.
const (
	stays    = directions - 4
	comesUp  = directions - 3
	heatOff  = directions - 2
	massOff  = directions - 1
	leading  = directions - 4
	mostKind = 2 // kinds of log: as it is said to be, and not
)

// newLikelihood prepares for a log of n stretches. sims are the hypotheses' runs, of
// which the healthy ones give the kernel. off is what a car does whose heat or mass is
// off (see off). gap tells which stretches of the log have no coolant temperature.
func (p *Proof) newLikelihood(sims [][]float64, off [2][]float64, n int, gap func(k int) bool, step float64, fits, flat lineup.ErrorModel, blunder float64, marks []int) *likelihood {
	s := &likelihood{marks: marks}
	kernel := p.kernel(sims, n)
	p.slow(&kernel, n)
	kernel[heatOff], kernel[massOff] = off[0], off[1]
	models, shares := []lineup.ErrorModel{fits, flat}, []float64{1 - blunder, blunder}
	for m := range models {
		z := component{log: math.Log(shares[m]), outlier: m == len(models)-1, filter: newFilter(models[m], step, n, gap)}
		if !z.outlier {
			for j, b := range kernel {
				mean := 0.0
				z.basis[j] = make([]float64, n)
				for k, v := range b {
					z.basis[j][k] = z.filter.step(&mean, k, v)
				}
			}
			z.prepare(n, marks)
		}
		s.components = append(s.components, z)
	}
	return s
}

// prepare inverts S at every mark.
func (z *component) prepare(n int, marks []int) {
	gram := mat.NewSymDense(directions, nil)
	for j := range directions {
		gram.SetSym(j, j, 1)
	}
	next := 0
	for k := range n {
		for i := range directions {
			for j := i; j < directions; j++ {
				gram.SetSym(i, j, gram.At(i, j)+z.basis[i][k]*z.basis[j][k])
			}
		}
		if next == len(marks) || k != marks[next] {
			continue
		}
		next++
		var ch mat.Cholesky
		ch.Factorize(gram) // identity plus a Gram matrix: always positive definite
		var inv mat.SymDense
		_ = ch.InverseTo(&inv) // only ill conditioning could fail, and the identity rules it out
		var flat [directions * directions]float64
		for i := range directions {
			for j := range directions {
				flat[i*directions+j] = inv.At(i, j)
			}
		}
		z.inverse = append(z.inverse, flat)
		z.halfLogDet = append(z.halfLogDet, 0.5*ch.LogDet())
	}
}

// sums is one size's sums along a log.
type sums struct {
	mean, sum float64
	proj      [directions]float64
}

// weigh gives out, at each mark, the log likelihood of the log y under a
// hypothesis whose run is sim.
func (s *likelihood) weigh(c Class, y, sim []float64, put func(mark int, ll float64)) {
	var at [mostKind]sums
	var terms [mostKind]float64
	next := 0
	for k := range y {
		for m := range s.components {
			z, a := &s.components[m], &at[m]
			if c == Unnamed && !z.outlier {
				continue
			}
			e := z.filter.step(&a.mean, k, y[k]-sim[k])
			a.sum -= z.filter.logs[k] + 0.5*e*e
			if !z.outlier {
				for j := range a.proj {
					a.proj[j] += e * z.basis[j][k]
				}
			}
		}
		if next == len(s.marks) || k != s.marks[next] {
			continue
		}
		for m := range s.components {
			terms[m] = s.components[m].at(next, &at[m])
		}
		last := len(s.components) - 1
		if c == Unnamed { // of something unnamed only the conditions count
			put(next, terms[last]-s.components[last].log)
		} else {
			put(next, sample.LogSumExp(terms[:len(s.components)]))
		}
		next++
	}
}

// apart is the square of the distance between two runs in the measure of a log
// that is what it is said to be: twice the log likelihood that the second loses
// on a log that follows the first without error.
func (s *likelihood) apart(a, b []float64) float64 {
	z := &s.components[0]
	var st sums
	sum := 0.0
	for k := range a {
		e := z.filter.step(&st.mean, k, a[k]-b[k])
		sum += e * e
		for j := range st.proj {
			st.proj[j] += e * z.basis[j][k]
		}
	}
	return sum - z.quad(len(z.inverse)-1, &st)
}

// at is the log likelihood under one size at a mark, its share included.
func (z *component) at(mark int, a *sums) float64 {
	if z.outlier {
		return z.log + a.sum
	}
	return z.log + a.sum + 0.5*z.quad(mark, a) - z.halfLogDet[mark]
}

// quad is p' S^-1 p at a mark.
func (z *component) quad(mark int, a *sums) float64 {
	quad := 0.0
	inv := &z.inverse[mark]
	for i, x := range a.proj {
		for j, y := range a.proj {
			quad += x * inv[i*directions+j] * y
		}
	}
	return quad
}

// kernel gives the leading directions of the healthy engines' covariance, times
// the bandwidth.
func (p *Proof) kernel(sims [][]float64, n int) [directions][]float64 {
	var out [directions][]float64
	for j := range out {
		out[j] = make([]float64, n)
	}
	var rows []int
	squares := 0.0
	mean := make([]float64, n)
	for i := range p.list {
		if h := &p.list[i]; h.class == Good {
			rows = append(rows, i)
			squares += h.weight * h.weight
			for k, v := range sims[i] {
				mean[k] += h.weight * v
			}
		}
	}
	if len(rows) < 2 {
		return out
	}
	// Silverman's bandwidth for as many points as the weights are worth.
	bandwidth := math.Pow(4*squares/(directions+2), 1.0/(directions+4))
	bandwidth = math.Sqrt(bandwidth*bandwidth + p.st.Wider.Value)

	// The eigenvectors of the covariance from those of the small Gram matrix:
	// with D = U s V', cov = V s^2 V'.
	d := mat.NewDense(len(rows), n, nil)
	for a, i := range rows {
		w := math.Sqrt(p.list[i].weight)
		for k, v := range sims[i] {
			d.Set(a, k, w*(v-mean[k]))
		}
	}
	gram := mat.NewSymDense(len(rows), nil)
	gram.SymOuterK(1, d)
	var eigen mat.EigenSym
	if !eigen.Factorize(gram, true) {
		return out
	}
	var vectors mat.Dense
	eigen.VectorsTo(&vectors)
	for j := range min(leading, len(rows)) {
		column := len(rows) - 1 - j // the largest stand last
		for a := range rows {
			u := vectors.At(a, column)
			for k := range n {
				out[j][k] += bandwidth * u * d.At(a, k) // U'D = s V'
			}
		}
	}
	return out
}

// slow adds the two slow errors. Both come up over the first part of the log: what a
// run begins with is known.
func (p *Proof) slow(kernel *[directions][]float64, n int) {
	for k := range n {
		along := float64(k+1) / float64(n)
		kernel[stays][k] = p.st.SlowSD.Value * math.Min(1, along/p.st.SlowBegins.Value)
		kernel[comesUp][k] = p.st.SlowSD.Value * along
	}
}

// off is by how much a run changes, K, when the heat to the coolant is off by one
// standard deviation and when the masses are: the mean over a few good engines.
// The numbers table lets single numbers scatter; a whole car that burns more, or
// is heavier, than its kind warms up otherwise than any of them.
func (p *Proof) off(n int, run func(*circuit.Circuit) []float64) (out [2][]float64) {
	for k := range out {
		out[k] = make([]float64, n)
	}
	var good []int
	for i := range p.list {
		if p.list[i].class == Good {
			good = append(good, i)
		}
	}
	many := min(int(p.st.OffEngines.Value), len(good))
	for k := range many {
		c := p.list[good[k*len(good)/many]].circ
		hot, heavy := c, c
		hot.IdleHeatShare *= 1 + p.st.HeatSD.Value
		hot.LoadHeatShare *= 1 + p.st.HeatSD.Value
		heavy.MetalHeatCapacity *= 1 + p.st.MassSD.Value
		heavy.BlockHeatCapacity *= 1 + p.st.MassSD.Value
		is := run(&c)
		for d, other := range []*circuit.Circuit{&hot, &heavy} {
			for j, v := range run(other) {
				out[d][j] += (v - is[j]) / float64(many)
			}
		}
	}
	return out
}

// course weighs every hypothesis along a log, onto what it had before.
func (p *Proof) course(ctx context.Context, s *likelihood, y []float64, sims [][]float64, before []float64) ([]mark, error) {
	out := make([]mark, len(s.marks))
	for m := range out {
		out[m] = mark{stretch: s.marks[m], ll: make([]float64, len(p.list))}
	}
	err := each(ctx, p, func() int { return 0 }, func(_, i int) {
		from := 0.0
		if before != nil {
			from = before[i]
		}
		s.weigh(p.list[i].class, y, sims[i], func(m int, ll float64) { out[m].ll[i] = from + ll })
	})
	return out, err
}

// mark is the log likelihood of every hypothesis at one stretch of a log.
type mark struct {
	stretch int
	ll      []float64
}

// marksEvery spreads marks over a log of n stretches, the last one included.
func marksEvery(n, every int) []int {
	var out []int
	for k := every - 1; k < n; k += every {
		out = append(out, k)
	}
	if len(out) == 0 || out[len(out)-1] != n-1 {
		out = append(out, n-1)
	}
	return out
}
