package trial

import (
	"math"
	"sort"

	"weephole/internal/trial/stranger"
)

// nearest is how many neighbours vote; judgement.
const nearest = 12

// neighbours forecasts by nearest neighbours: what the nearest cars of the stranger's own runs
// had, by what is told of a car at this stage. Features are put on one scale by
// their spread over the library; a feature that one of two cars lacks counts as
// a common difference. The vote of each falls with its distance.
func neighbours(cars, library []*stranger.Case, st stranger.Stage) []Forecast {
	if len(library) == 0 {
		return nil
	}
	known := make([][]float64, len(library))
	for i, k := range library {
		known[i] = k.Features(st)
	}
	n := len(known[0])
	sd := make([]float64, n)
	for j := range n {
		var sum, sq, count float64
		for i := range known {
			if x := known[i][j]; !math.IsNaN(x) {
				sum, sq, count = sum+x, sq+x*x, count+1
			}
		}
		if count > 1 {
			sd[j] = math.Sqrt(math.Max(0, sq/count-sum*sum/count/count))
		}
	}
	out := make([]Forecast, 0, len(cars))
	for _, k := range cars {
		out = append(out, Forecast{Car: k.Name, Truths: k.Truths(), Odds: vote(k.Features(st), known, sd, library)})
	}
	return out
}

func vote(x []float64, known [][]float64, sd []float64, library []*stranger.Case) map[string]float64 {
	type near struct {
		at   int
		dist float64
	}
	list := make([]near, len(known))
	for i := range known {
		d := 0.0
		for j := range x {
			if sd[j] <= 0 {
				continue
			}
			a, b := x[j], known[i][j]
			switch {
			case math.IsNaN(a) && math.IsNaN(b):
			case math.IsNaN(a) || math.IsNaN(b):
				d++
			default:
				d += math.Min(9, (a-b)*(a-b)/(sd[j]*sd[j]))
			}
		}
		list[i] = near{i, d}
	}
	sort.SliceStable(list, func(a, b int) bool { return list[a].dist < list[b].dist })
	list = list[:min(nearest, len(list))]
	odds := make(map[string]float64)
	total := 0.0
	for _, n := range list {
		w := 1 / (1 + n.dist)
		total += w
		for _, c := range library[n.at].Truths() {
			odds[c] += w
		}
	}
	for c := range odds {
		odds[c] /= total
	}
	return odds
}
