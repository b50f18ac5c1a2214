package plan

import (
	"math"
	"slices"

	"weephole/check"
	"weephole/lineup"

	"gonum.org/v1/gonum/stat/distuv"
)

// outcomes gives the probability of each result of a check on every hypothesis: its words, or the
// ranges of its most telling reading. Something-else shows what the engines
// show on average.
func (c *CarProblem) outcomes(k *check.Check, sample *lineup.Sample) ([][]float64, []Result) {
	n := len(sample.Faults)
	subject := func(i int) check.Subject {
		return check.Subject{Causes: sample.Faults[i], Record: sample.Records[i]}
	}
	var p [][]float64
	var results []Result
	switch {
	case len(k.Words) > 0:
		p = rows(len(k.Words), n)
		row := make([]float64, len(k.Words))
		for i := range n {
			s := subject(i)
			k.Shows(&s, row)
			for w, v := range row {
				p[w][i] = v
			}
		}
		for _, w := range k.Words {
			results = append(results, Result{Word: w.Is, Says: w.Says})
		}
	case len(k.Readings) > 0:
		best, ranges := -1.0, int(c.Settings.ReadingRanges.Value)
		for r := range k.Readings {
			if q, res, tells := bins(&k.Readings[r], ranges, n, subject); tells > best {
				p, results, best = q, res, tells
			}
		}
	default:
		return nil, nil
	}
	for o := range p {
		mean := 0.0
		for _, v := range p[o] {
			mean += v
		}
		mean /= float64(n)
		for len(p[o]) < len(c.Problem.Weight) {
			p[o] = append(p[o], mean)
		}
	}
	return p, results
}

// bins cuts a reading at the quantiles of what the engines are expected to
// show. tells is the spread of the expected values against the reading's error.
func bins(r *check.ReadingModel, ranges, n int, subject func(int) check.Subject) (p [][]float64, results []Result, tells float64) {
	means, sds := make([]float64, n), make([]float64, n)
	var sorted []float64
	error := 0.0
	for i := range n {
		s := subject(i)
		means[i], sds[i] = r.Expect(&s)
		if !math.IsNaN(means[i]) {
			sorted = append(sorted, means[i])
			error += sds[i]
		}
	}
	if len(sorted) < n/2 || len(sorted) == 0 {
		return nil, nil, -1
	}
	slices.Sort(sorted)
	low, high := r.PlausibleSI()
	edges := []float64{low}
	for b := 1; b < ranges; b++ {
		if q := sorted[b*len(sorted)/ranges]; q > edges[len(edges)-1] && q < high {
			edges = append(edges, q)
		}
	}
	edges = append(edges, high)
	if len(edges) < 3 {
		return nil, nil, -1
	}
	p = rows(len(edges)-1, n)
	for i := range n {
		for b := range p {
			even := (edges[b+1] - edges[b]) / (high - low)
			if math.IsNaN(means[i]) {
				p[b][i] = even
				continue
			}
			below, above := distuv.UnitNormal.CDF((edges[b]-means[i])/sds[i]), distuv.UnitNormal.CDF((edges[b+1]-means[i])/sds[i])
			if b == 0 {
				below = 0
			}
			if b == len(p)-1 {
				above = 1
			}
			p[b][i] = (1-r.Blunder.Share)*(above-below) + r.Blunder.Share*even
		}
	}
	for b := range p {
		results = append(results, Result{Reading: r.ID, What: r.What, From: edges[b], To: edges[b+1]})
	}
	spread := sorted[len(sorted)*9/10] - sorted[len(sorted)/10]
	return p, results, spread / (error / float64(len(sorted)))
}

// tiny keeps a probability of zero from being divided by.
const tiny = 1e-9

// rows are n rows of so many zeroes.
func rows(n, columns int) [][]float64 {
	m := make([][]float64, n)
	for i := range m {
		m[i] = make([]float64, columns)
	}
	return m
}
