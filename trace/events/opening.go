package events

import (
	"math"

	"weephole/trace/internal/stat"
)

// findOpening finds the peak at which the thermostat lets the hot coolant go,
// or the bend into a level hold, and returns its row (-1 if none).
func (r *run) findOpening() int {
	if r.events.Start.Hot || math.IsNaN(r.events.Start.C) {
		return -1
	}
	if i := r.peak(); i >= 0 {
		return i
	}
	return r.bend()
}

// ahead is the first row later than row i by s seconds, at most the last.
func (r *run) ahead(i int, s float64) int {
	k := i
	for k < len(r.time)-1 && r.time[k]-r.time[i] < s {
		k++
	}
	return k
}

func (r *run) peak() int {
	lim := limits()
	high := math.Inf(-1)
	for i := range r.s {
		if math.IsNaN(r.s[i]) || r.s[i] <= high || !r.on[i] { // a stopped engine's reading says nothing of its flow
			continue
		}
		high = r.s[i]
		if high < lim.LowestOpen.Value || high > lim.HighestOpen.Value || high < r.events.Start.C+lim.WarmedBy.Value {
			continue
		}
		k := r.ahead(i, lim.FallWithin.Value)
		low, lowAt := high, i
		for j := i; j <= k && r.on[j]; j++ {
			if r.s[j] < low {
				low, lowAt = r.s[j], j
			}
		}
		after := r.ahead(i, lim.OverWithin.Value)
		if high-low < lim.FallLeast.Value || stat.Max(r.s[i:after+1]) > high+lim.OverPeak.Value || stat.Max(r.s[i:k+1]) > high+lim.BeforeFall.Value {
			continue
		}
		// Where it had all but stopped rising, a small fall is the driving's doing.
		rise := r.rise(i)
		if rise < lim.SlowRise.Value/60 && high-low < lim.FallSlow.Value {
			continue
		}
		// The fall must be the radiator's doing, not a lack of heat.
		if r.steepest(i, lowAt) > lim.Steeper.Value*math.Min(0, r.h.shutRate(i, lowAt+1, high, -1)) {
			holds := r.time[after]-r.time[lowAt] >= lim.HoldsFor.Value && stat.Deviation(r.s[lowAt:after+1]) < lim.LevelSpread.Value
			if high < lim.PlainPeak.Value || !holds || rise < lim.QuickRise.Value/60 {
				continue
			}
		}
		r.opened(i, low)
		return i
	}
	return -1
}

// rise is the mean rate in K/s over some minutes before row i.
func (r *run) rise(i int) float64 {
	b := r.before(i, limits().RiseOver.Value)
	if r.time[i] == r.time[b] || math.IsNaN(r.s[b]) {
		return 0
	}
	return (r.s[i] - r.s[b]) / (r.time[i] - r.time[b])
}

// steepest is the steepest fall, in K/s, over any half minute or so from row i to k.
func (r *run) steepest(i, k int) float64 {
	most, over := 0.0, limits().SteepOver.Value
	for a := i; a < k; a++ {
		b := min(r.ahead(a, over), k)
		if dt := r.time[b] - r.time[a]; dt >= over/2 {
			most = math.Min(most, (r.s[b]-r.s[a])/dt)
		}
	}
	return most
}

// opened fills in the Opening whose peak is row i.
func (r *run) opened(i int, low float64) {
	lim := limits()
	e := r.events
	from, to := i, i
	for from > 0 && r.time[i]-r.time[from] < lim.PeakWithin.Value && r.s[from-1] > r.s[i]-lim.PeakTop.Value {
		from--
	}
	for to < len(r.s)-1 && r.time[to]-r.time[i] < lim.PeakWithin.Value && r.s[to+1] > r.s[i]-lim.PeakTop.Value {
		to++
	}
	top := stat.Max(r.c[from : to+1])
	rate := 0.0
	if k := r.before(i, lim.LagOver.Value); r.time[i] > r.time[k] {
		rate = math.Max(0, (r.s[i]-r.s[k])/(r.time[i]-r.time[k]))
	}
	// The knee lies within the stretch that is near the top.
	a, z := i, i
	for a > from && r.s[a-1] > r.s[i]-lim.KneeTop.Value {
		a--
	}
	for z < to && r.s[z+1] > r.s[i]-lim.KneeTop.Value {
		z++
	}
	at := Estimate{(r.time[a] + r.time[z]) / 2, math.Hypot(lim.KneeErrs.Value, (r.time[to]-r.time[from])/4)}
	e.Opening = &Opening{
		At: at, After: Estimate{at.Value - e.Start.At.Value, math.Hypot(at.Sigma, e.Start.At.Sigma)},
		C: Estimate{top, math.Hypot(readingStep, rate*lim.SensorLag.Value)}, PeakC: top, PeakAt: r.time[i],
		FallC: math.Max(0, math.Round((top-low)*10)/10), Overshoot: nan,
	}
}

func (r *run) before(i int, s float64) int {
	k := i
	for k > 0 && r.time[i]-r.time[k] < s {
		k--
	}
	return k
}

// bend looks for a rise that ends in a level hold without overshoot, where a
// shut thermostat would have gone on rising.
func (r *run) bend() int {
	lim := limits()
	for i := range r.s {
		if !(r.s[i] >= lim.LowestBend.Value && r.s[i] <= lim.HighestOpen.Value) || r.s[i] < r.events.Start.C+lim.WarmedBy.Value {
			continue
		}
		k := r.ahead(i, lim.LevelFor.Value)
		if r.time[k]-r.time[i] < lim.LevelFor.Value {
			return -1
		}
		hold := r.s[i : k+1]
		if stat.Deviation(hold) > lim.LevelSpread.Value || stat.Max(hold) > r.s[i]+lim.BendRises.Value {
			continue
		}
		_, slope, _ := stat.Line(r.time[i:k+1], hold, lim.LineApart.Value)
		if math.Abs(slope) > lim.BendSlope.Value/60 {
			continue
		}
		// A shut thermostat would have gone on rising: by the balance as such, and
		// by the car's own rise before the bend, changed only by what changed.
		if known := r.rows(i, k); known < lim.BendKnown.Value*lim.LevelFor.Value || r.h.shutRate(i, k+1, r.s[i], 0) <= 0 || r.shutRateAfter(i, k) < lim.BendShut.Value/60 {
			continue
		}
		r.opened(i, stat.Mean(hold))
		r.events.Opening.FallC = 0
		r.events.Opening.C = Estimate{r.c[i], 1}
		if math.IsNaN(r.c[i]) {
			r.events.Opening.C.Value = r.s[i]
		}
		r.events.Opening.At.Sigma = math.Hypot(r.events.Opening.At.Sigma, lim.BendErrs.Value)
		return i
	}
	return -1
}

// rows is the time from row i to k that has readings, in s.
func (r *run) rows(i, k int) float64 {
	t, silence := 0.0, limits().RowSilence.Value
	for j := i + 1; j <= k; j++ {
		if dt := r.time[j] - r.time[j-1]; dt < silence {
			t += dt
		}
	}
	return t
}

// shutRateAfter is the rate in K/s with which the coolant would go on from row
// i to k with the thermostat shut: the rate before, plus what heat and losses
// changed since. Only differences of the balance count, which are surer than
// the balance.
func (r *run) shutRateAfter(i, k int) float64 {
	lim := limits()
	b := r.before(i, lim.BeforeOver.Value)
	if r.time[i]-r.time[b] < lim.BeforeOver.Value/2 {
		return 0
	}
	_, rate, _ := stat.Line(r.time[b:i+1], r.s[b:i+1], lim.LineApart.Value)
	before := r.h.shutRate(b, i+1, stat.Mean(r.s[b:i+1]), 0)
	after := r.h.shutRate(i, k+1, stat.Mean(r.s[i:k+1]), 0)
	return rate + after - before
}
