package lineup

import "math"

// parted is the engines of a lineup by their causes. Sums over all engines with a cause,
// and over all without it, are wanted for every cause: so the engines are gone through
// once, set by set, and not once for each cause. What an engine adds to a sum is never
// taken off again, so a small sum is as exact as a large one.
type parted struct {
	causes [][]int   // the causes of each set
	of     []int     // the set of each engine
	share  []float64 // of each engine's causes, mostParts an engine
	all    int       // causes in the catalogue
}

// mostParts is how many causes one engine can have a part in: its faults, and none at all.
const mostParts = maxFaults + 1

// parted is the engines by what each calls with f, a cause and its share of 0 to 1.
func (l *Lineup) parted(each func(i int, f func(c int, share float64))) *parted {
	n := l.pop.size()
	s := &parted{of: make([]int, n), share: make([]float64, mostParts*n), all: len(l.model.Causes.Causes)}
	sets := make(map[[mostParts]int]int)
	var key [mostParts]int
	for i := range n {
		for k := range key {
			key[k] = -1
		}
		at := 0
		each(i, func(c int, share float64) {
			key[at], s.share[mostParts*i+at] = c, share
			at++
		})
		set, known := sets[key]
		if !known {
			set = len(s.causes)
			sets[key] = set
			s.causes = append(s.causes, append([]int(nil), key[:at]...))
		}
		s.of[i] = set
	}
	return s
}

// toBlameFor is the engines by what their car may have come for.
func (l *Lineup) toBlameFor() *parted {
	return l.parted(func(i int, f func(int, float64)) { l.eachCause(l.pop, i, f) })
}

// having is the engines by what is bad on them.
func (l *Lineup) having() *parted {
	return l.parted(func(i int, f func(int, float64)) {
		now := l.pop.now[i].present()
		if len(now) == 0 {
			f(l.model.Causes.NoFault(), 1)
		}
		for k := range now {
			f(now[k].Cause, 1)
		}
	})
}

// sums is, for each cause, the sum of v over the engines with it and over those without:
// of an engine with a share in the cause that share of v, and the rest.
func (s *parted) sums(v []float64) (with, without []float64) {
	mine, others := make([]float64, mostParts*len(s.causes)), make([]float64, mostParts*len(s.causes))
	whole := make([]float64, len(s.causes))
	for i, x := range v {
		set := s.of[i]
		whole[set] += x
		for k := range s.causes[set] {
			share := s.share[mostParts*i+k]
			mine[mostParts*set+k] += share * x
			others[mostParts*set+k] += (1 - share) * x
		}
	}
	with, without = make([]float64, s.all), make([]float64, s.all)
	in := make([]bool, s.all)
	for set, causes := range s.causes {
		for k, c := range causes {
			in[c] = true
			with[c] += mine[mostParts*set+k]
			without[c] += others[mostParts*set+k]
		}
		for c := range without {
			if !in[c] {
				without[c] += whole[set]
			}
		}
		for _, c := range causes {
			in[c] = false
		}
	}
	return with, without
}

// intervals is, for each cause, the mean of a mixture of distributions less and plus one
// standard deviation, over the engines with it and over those without. The distributions
// have weights, means and standard deviations; one with a mean of NaN is left out.
func (s *parted) intervals(weight, mean, sd []float64) (with, without [][2]float64) {
	var sums [2][3][]float64
	w, first, second := make([]float64, len(weight)), make([]float64, len(weight)), make([]float64, len(weight))
	for i := range weight {
		if math.IsNaN(mean[i]) {
			continue
		}
		w[i], first[i], second[i] = weight[i], weight[i]*mean[i], weight[i]*(mean[i]*mean[i]+sd[i]*sd[i])
	}
	for k, v := range [3][]float64{w, first, second} {
		sums[0][k], sums[1][k] = s.sums(v)
	}
	var out [2][][2]float64
	for side := range out {
		out[side] = make([][2]float64, s.all)
		for c := range out[side] {
			out[side][c] = interval(sums[side][0][c], sums[side][1][c], sums[side][2][c])
		}
	}
	return out[0], out[1]
}

// interval is that of one mixture, from the sums of its weights, weighted means and
// weighted squares; NaN where it is empty.
func interval(w, sum, square float64) [2]float64 {
	if w == 0 {
		return [2]float64{math.NaN(), math.NaN()}
	}
	mean := sum / w
	sd := math.Sqrt(math.Max(0, square/w-mean*mean))
	return [2]float64{mean - sd, mean + sd}
}
