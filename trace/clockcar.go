package trace

import (
	"math"

	"weephole/trace/internal/stat"
)

// warming is the rate in K/s between the lowest and the highest coolant of the
// sample, and by how much they differ. A few wild readings do not count.
func warming(at, c []float64) (rate, by float64) {
	k, lim := stat.Known(c), &clocks().Car
	if len(k) < int(lim.ReadingsLeast.Value) {
		return 0, 0
	}
	low, top := stat.Quantile(k, lim.LowShare.Value), stat.Quantile(k, lim.HighShare.Value)
	lowAt, topAt := nan, nan // the last low before the first top, or the other way round
	for i, x := range c {
		if math.IsNaN(x) || math.IsNaN(at[i]) {
			continue
		}
		if x <= low && (math.IsNaN(topAt) || math.IsNaN(lowAt)) {
			lowAt = at[i]
		}
		if x >= top && (math.IsNaN(lowAt) || math.IsNaN(topAt)) {
			topAt = at[i]
		}
	}
	by = top - low
	if math.IsNaN(lowAt) || math.IsNaN(topAt) {
		return 0, 0
	}
	return by / math.Max(math.Abs(topAt-lowAt), 1e-3), by
}

// meanChange is the mean of all changes larger than least, per s.
func meanChange(at, x []float64, least float64) float64 {
	sum, from, to, last := 0.0, nan, nan, nan
	for i, v := range x {
		if math.IsNaN(v) || math.IsNaN(at[i]) {
			continue
		}
		if math.IsNaN(from) {
			from, last = at[i], v
		}
		if math.Abs(v-last) >= least {
			sum += math.Abs(v - last)
			last = v
		}
		to = at[i]
	}
	if !(to > from) || sum < clocks().Car.ChangesLeast.Value*least {
		return 0
	}
	return sum / (to - from)
}

// shortestChange is the shortest time in s in which speed changed by 5 m/s; 0
// if it never varied by twice that.
func shortestChange(at, v []float64) float64 {
	k, lim := stat.Known(v), &clocks().Car
	if len(k) < int(lim.ReadingsLeast.Value) || stat.Quantile(k, lim.HighShare.Value)-stat.Quantile(k, lim.LowShare.Value) < lim.ChangeRange.Value {
		return 0
	}
	best := math.Inf(1)
	from := 0
	for i, x := range v {
		if math.IsNaN(x) || math.IsNaN(at[i]) {
			continue
		}
		for k := i - 1; k >= from && at[i]-at[k] < best; k-- {
			if !math.IsNaN(v[k]) && math.Abs(x-v[k]) >= lim.ChangeBy.Value {
				best, from = at[i]-at[k], k
				break
			}
		}
	}
	if math.IsInf(best, 1) {
		return 0
	}
	return best
}

// warmingFrom40 is the time in s that the coolant takes from 40 to 70 degC; 0 if
// it does not go that way.
func warmingFrom40(at, c []float64) float64 {
	from, lim := nan, &clocks().Car
	for i, x := range c {
		switch {
		case math.IsNaN(x) || math.IsNaN(at[i]):
		case x <= lim.WarmsFrom.Value:
			from = at[i]
		case x >= lim.WarmsTo.Value && !math.IsNaN(from):
			return at[i] - from
		}
	}
	return 0
}

// wentAgainst is the way in m by speed and by the distance column.
func wentAgainst(at []float64, see witnesses) (went, told float64) {
	if see.speed == nil || see.distance == nil {
		return 0, 0
	}
	last, lastV := nan, nan
	for i, v := range see.speed {
		if math.IsNaN(v) || math.IsNaN(at[i]) {
			continue
		}
		if !math.IsNaN(last) {
			went += (at[i] - last) * (v + lastV) / 2
		}
		last, lastV = at[i], v
	}
	k := stat.Known(see.distance)
	if len(k) == 0 {
		return went, 0
	}
	return went, k[len(k)-1] - k[0]
}

// ratioOf is by how much x moves on for each second; NaN if it hardly moves.
func ratioOf(at, x []float64) float64 {
	t0, x0, t1, x1 := nan, nan, nan, nan
	for i, v := range x {
		if math.IsNaN(v) || math.IsNaN(at[i]) {
			continue
		}
		if math.IsNaN(t0) {
			t0, x0 = at[i], v
		}
		t1, x1 = at[i], v
	}
	if !(x1-x0 >= clocks().Car.RunTimeMoves.Value) || !(t1 > t0) {
		return nan
	}
	return (x1 - x0) / (t1 - t0)
}
