package trace

import (
	"fmt"
	"math"

	"weephole/trace/internal/stat"
)

// raw are the first readings of a column that differ from the one before.
func (g *gatherer) raw(c *found) []float64 { return g.tab.cols[c.col].raw }

// whole tells whether all readings are whole numbers, and several at that.
func whole(raw []float64) bool {
	distinct := map[float64]bool{}
	for _, x := range raw {
		if x != math.Trunc(x) {
			return false
		}
		distinct[x] = true
	}
	return len(distinct) >= int(doubts().Units.DistinctLeast.Value)
}

var pressureUnits = []string{"kpa", "inhg", "psi", "hpa", "pa", "bar", "mmhg"}

// pressureFit is how well readings fit a manifold in some unit.
func pressureFit(c *found, u unit) float64 {
	low, top := lowAndTop(c, u)
	lim, fit := &doubts().Pressure, 0.0
	switch { // a diesel idles near the air outside
	case low >= lim.IdleLow.Value && low <= lim.IdleHigh.Value:
		fit += lim.IdleScore.Value
	case low > lim.IdleHigh.Value && low <= lim.OutsideHigh.Value:
	default:
		fit += lim.UnfitScore.Value
	}
	switch {
	case top >= lim.FullLeast.Value && top <= lim.OutsideHigh.Value:
		fit += lim.FullScore.Value
	case top > lim.OutsideHigh.Value && top <= lim.BoostMost.Value:
	default:
		fit += lim.UnfitScore.Value
	}
	return fit
}

// lowAndTop are the low and the high readings of a column in a unit of pressure, kPa.
func lowAndTop(c *found, u unit) (low, top float64) {
	k, lim := stat.Known(c.values), &doubts().Pressure
	return u.si(stat.Quantile(k, lim.LowShare.Value)) / 1000, u.si(stat.Quantile(k, lim.HighShare.Value)) / 1000
}

// guessPressure finds the unit of a pressure: the barometer's, if there is one,
// for it can only be the air outside; else the one that fits an engine.
func guessPressure(c *found, all []*found, raw []float64) (unit, string) {
	if c.signal == Barometer {
		if u, ok := airOutside(c); ok {
			return u, fmt.Sprintf("no unit is given, and as the air outside it reads %.4g", stat.Median(c.values))
		}
		return units["kpa"], "no unit is given"
	}
	for _, o := range all {
		if o.word != Barometer.String() || o.values == nil {
			continue
		}
		if o.unit.dim == dimPressure {
			return o.unit, "the barometer is given so"
		}
		if u, ok := airOutside(o); ok && pressureFit(c, u) > 0 {
			return u, fmt.Sprintf("no unit is given, and the barometer reads %.4g, which is the air outside in %s", stat.Median(o.values), u.name)
		}
	}
	lim := &doubts().Pressure
	best, top := units["kpa"], math.Inf(-1)
	for _, name := range pressureUnits {
		fit := pressureFit(c, units[name])
		if name == "kpa" {
			fit += lim.KpaScore.Value
			if whole(raw) {
				fit += lim.WholeScore.Value
			}
		}
		if fit > top {
			best, top = units[name], fit
		}
	}
	return best, fmt.Sprintf("no unit is given, and from %.3g to %.3g it fits an engine best so", stat.Min(c.values), stat.Max(c.values))
}

// airOutside is the unit in which a column reads as the air outside.
func airOutside(c *found) (unit, bool) {
	lim := &doubts().Pressure
	for _, name := range pressureUnits {
		if p := units[name].si(stat.Median(c.values)) / 1000; p >= lim.OutsideLow.Value && p <= lim.OutsideHigh.Value {
			return units[name], true
		}
	}
	return unit{}, false
}

// wrongPressure notices a manifold pressure that no engine has in the unit given.
func wrongPressure(c *found) (unit, string) {
	lim := &doubts().Pressure
	low, top := lowAndTop(c, c.unit)
	if pressureFit(c, c.unit) >= 0 && !(low > lim.OddLow.Value && c.unit.name != "kPa") {
		return unit{}, ""
	}
	for _, name := range pressureUnits {
		if u := units[name]; u.name != c.unit.name && pressureFit(c, u) >= lim.SureScore.Value {
			return u, fmt.Sprintf("in %s it would lie between %.0f and %.0f kPa, which no engine does", c.unit.name, low, top)
		}
	}
	return unit{}, ""
}

// guessShare tells shares from 0 to 1, per cent, and the steps of a switch.
// SAE J1979 sends shares in steps of 100/255 %.
func guessShare(c *found, raw []float64) (unit, string) {
	k, lim := stat.Known(c.values), &doubts().Units
	low, top := k[0], k[len(k)-1]
	trims := c.signal == ShortTrim || c.signal == LongTrim
	switch {
	case trims && (top > lim.TrimMost.Value || low < -lim.TrimMost.Value || whole(raw)):
		return units["%"], "no unit is given"
	case trims:
		return units["share"], fmt.Sprintf("no unit is given, and it stays between %.2g and %.2g", low, top)
	case c.signal == FanState || c.signal == FanCommand || c.signal == AirCon:
		if steps := levels(raw); steps > 0 && top <= float64(steps) {
			return stepUnit(steps), fmt.Sprintf("no unit is given, and it takes whole steps from 0 to %d", steps)
		}
		if top <= lim.ShareMost.Value {
			return units["share"], "no unit is given, and it stays between 0 and 1"
		}
		return units["%"], "no unit is given, and it exceeds 1"
	case top > lim.ShareMost.Value:
		return units["%"], "no unit is given, and it exceeds 1"
	case onStep(raw, 100.0/255):
		return units["%"], "no unit is given, and it moves in the steps of 0.39 in which per cent are sent"
	case c.signal == Throttle && top < lim.ThrottleLeast.Value:
		return units["%"], "no unit is given, and it stays near zero"
	}
	return units["share"], "no unit is given, and it stays between 0 and 1"
}

// levels is the highest of a few whole steps, 0 if readings are something else.
func levels(raw []float64) int {
	top := 0
	for _, x := range raw {
		if x != math.Trunc(x) || x < 0 || x > doubts().Units.SwitchSteps.Value {
			return 0
		}
		top = max(top, int(x))
	}
	return top
}

// stepUnit turns steps of a switch into shares.
func stepUnit(steps int) unit {
	return unit{fmt.Sprintf("steps of %d", steps), dimShare, 1 / float64(steps), 0}
}

// onStep tells whether readings, not all zero, are multiples of step within
// the rounding of two places, and no multiples of a finer one.
func onStep(raw []float64, step float64) bool {
	n := 0
	for _, x := range raw {
		if x == 0 {
			continue
		}
		n++
		if math.Abs(x-math.Round(x/step)*step) > doubts().Units.SentStepWithin.Value || x < step/2 {
			return false
		}
	}
	return n > 0
}
