package trace

import (
	"fmt"
	"math"
	"slices"

	"weephole/trace/internal/stat"
)

// byNumbers finds coolant, engine speed and road speed where no name told, by
// how they move: coolant slowly from one level to another, engine speed never
// between zero and cranking, road speed resting at zero.
func (g *gatherer) byNumbers(cols []*found) {
	has := map[Signal]bool{}
	for _, c := range cols {
		if c.used {
			has[c.signal] = true
		}
	}
	pick := func(s Signal, rate func(*found) float64, why string) {
		if has[s] {
			return
		}
		var best *found
		top := 0.0
		for _, c := range cols {
			if c.used || c.values == nil || c.how != "" || (isSignalWord(c.word) && c.word != s.String()) || (c.unit.dim != dimNone && !c.unit.fits(s)) {
				continue
			}
			if c.word == "row" || c.word == "time" {
				continue
			}
			if r := rate(c); r > top {
				best, top = c, r
			}
		}
		if best == nil {
			return
		}
		best.signal, best.used, best.how = s, true, "by its numbers"
		g.say(Assumption{What: fmt.Sprintf("it is taken as %s", s), Where: g.columnName(best.col), Why: why, Doubt: true})
	}
	pick(Coolant, coolantLikeness, "no name says so, but it rises slowly and levels off as coolant does")
	if len(g.names) > 1 && !anyName(cols) {
		pick(EngineSpeed, engineLikeness, "no name says so, but it idles and revs as an engine does")
		pick(RoadSpeed, roadLikeness, "no name says so, but it rests at zero and moves as a car does")
	}
}

// anyName tells whether the log has names at all that mean something.
func anyName(cols []*found) bool {
	for _, c := range cols {
		if c.used && c.how == "by name" {
			return true
		}
	}
	return false
}

// coolantLikeness is above 0 for a column that could be coolant temperature,
// and larger the more it is like it.
func coolantLikeness(c *found) float64 {
	lim, k := &doubts().Likeness, stat.Known(c.values)
	if len(k) < int(lim.ReadingsLeast.Value) {
		return 0
	}
	low, top := stat.Quantile(k, lim.LowShare.Value), stat.Quantile(k, lim.HighShare.Value)
	if low < lim.CoolantLowest.Value || top > lim.CoolantHighest.Value || top < lim.CoolantReaches.Value || top-low < lim.CoolantMoves.Value {
		return 0
	}
	var steps []float64
	last := nan
	for _, x := range c.values {
		if !math.IsNaN(x) {
			if !math.IsNaN(last) {
				steps = append(steps, math.Abs(x-last))
			}
			last = x
		}
	}
	slices.Sort(steps)
	if stat.Quantile(steps, lim.StepsShare.Value) > lim.StepsMost.Value*(top-low)+lim.StepsMore.Value { // coolant has mass
		return 0
	}
	// It ends higher than it began, or stays near a working temperature.
	first, end := stat.Mean(c.values[:max(1, len(c.values)/int(lim.BeginsOneIn.Value))]), stat.Mean(c.values[len(c.values)*3/4:])
	rise := (end - first) / (top - low)
	score := 0.0
	if rise > lim.RiseLeast.Value && !(rise > lim.CounterRise.Value && isSteady(c.values)) {
		score = rise
	}
	if top > lim.WorkingLeast.Value && top < lim.WorkingMost.Value && low > lim.WorkingLowest.Value {
		score = math.Max(score, lim.WorkingScore.Value)
	}
	if c.unit.dim == dimTemperature {
		score *= lim.UnitFactor.Value
	}
	return score
}

// isSteady tells a counter, whose steps are all alike, from a temperature.
func isSteady(x []float64) bool {
	up, n := 0, 0
	for i := 1; i < len(x); i++ {
		if d := x[i] - x[i-1]; !math.IsNaN(d) {
			n++
			if d > 0 {
				up++
			}
		}
	}
	return n > 0 && float64(up) > doubts().Likeness.CounterUp.Value*float64(n)
}

func engineLikeness(c *found) float64 {
	lim, k := &doubts().Likeness, stat.Known(c.values)
	if len(k) < int(lim.ReadingsLeast.Value) {
		return 0
	}
	top := stat.Quantile(k, lim.HighShare.Value)
	if top < lim.EngineLeast.Value || top > lim.EngineMost.Value || k[0] < lim.BelowZero.Value || stat.Deviation(c.values) < lim.EngineMoves.Value || isSteady(c.values) {
		return 0
	}
	idle := 0
	for _, x := range k {
		if x == 0 || x > lim.EngineIdle.Value {
			idle++
		}
	}
	return float64(idle) / float64(len(k))
}

func roadLikeness(c *found) float64 {
	lim, k := &doubts().Likeness, stat.Known(c.values)
	if len(k) < int(lim.ReadingsLeast.Value) || k[0] < lim.BelowZero.Value {
		return 0
	}
	top, rest := stat.Quantile(k, lim.HighShare.Value), 0
	if top < lim.RoadLeast.Value || top > lim.RoadMost.Value || isSteady(c.values) {
		return 0
	}
	for _, x := range k {
		if x < lim.RoadRests.Value {
			rest++
		}
	}
	if rest == 0 || k[0] > lim.RoadRests.Value {
		return 0
	}
	return lim.RoadScore.Value + float64(rest)/float64(len(k))
}
