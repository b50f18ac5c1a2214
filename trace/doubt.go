package trace

import (
	"fmt"
	"math"

	"weephole/trace/internal/contact"
	"weephole/trace/internal/stat"
)

// toSI puts a column into the units of its signal. Where the log names no unit,
// the numbers decide, and that is said.
func (g *gatherer) toSI(c *found, all []*found) []float64 {
	if c.unit.dim == dimNone || !c.unit.fits(c.signal) {
		u, why := g.guessUnit(c, all)
		c.unit = u
		g.say(Assumption{What: fmt.Sprintf("%s is taken in %s", c.signal, u.name), Where: g.columnName(c.col), Why: why})
	} else if u, why := g.wrongUnit(c); why != "" && !(c.forced && g.m.of[c.signal.String()].unit != "") {
		g.say(Assumption{What: fmt.Sprintf("%s is taken in %s, though the log says %s", c.signal, u.name, c.unit.name), Where: g.columnName(c.col), Why: why, Doubt: true})
		c.unit = u
	}
	if c.signal == FanState && c.unit.dim != dimShare {
		g.say(Assumption{What: "the fan is taken as a share of its highest reading", Where: g.columnName(c.col), Why: "it is logged in " + c.unit.name})
		c.unit.scale, c.unit.shift = 1/math.Max(stat.Max(c.values), 1e-9), 0
	}
	if c.signal == FanCommand && !c.forced {
		g.say(Assumption{What: "it is taken as what the control unit asks of the fan, not as what turns", Where: g.columnName(c.col), Why: "a control unit only knows what it asks for" + g.m.either("; for a fan that was seen or measured write --map 'fan="+g.names[c.col]+"'", "")})
	}
	out := make([]float64, len(c.values))
	for i, x := range c.values {
		out[i] = c.unit.si(x)
	}
	return out
}

// guessUnit finds the unit of a signal from its size.
func (g *gatherer) guessUnit(c *found, all []*found) (unit, string) {
	k, lim := g.trusted(c), &doubts().Units
	top, mid, hottestC := stat.Quantile(k, lim.HighShare.Value), stat.Quantile(k, 0.5), lim.Hottest.Value
	switch dimensionOf(c.signal) {
	case dimTemperature:
		switch {
		case stat.Quantile(k, lim.LowShare.Value) > lim.KelvinLeast.Value && top < lim.KelvinMost.Value:
			return units["k"], fmt.Sprintf("no unit is given, and it reads %.0f to %.0f", k[0], top)
		case top > hottestC:
			return units["f"], fmt.Sprintf("no unit is given, and it reaches %.0f, which no °C reading does", top)
		}
		for _, o := range all { // another temperature tells
			if o != c && o.unit.dim == dimTemperature {
				return o.unit, "another temperature of the log is given so, and it fits"
			}
			if o != c && c.signal != Coolant && o.used && o.signal == Coolant && stat.Max(o.values) > hottestC {
				return units["f"], "coolant is in °F"
			}
		}
		if mid > lim.WarmMiddle.Value && top <= hottestC || top >= lim.WarmLeast.Value && top <= lim.WarmMost.Value {
			return units["c"], fmt.Sprintf("no unit is given, and it reaches %.0f, a working temperature in °C", top)
		}
		for _, o := range all {
			if o.unit.name == "mph" || o.unit.name == "psi" || o.unit.name == "miles" {
				return units["f"], fmt.Sprintf("no unit is given, it reaches only %.0f, and the log speaks of %s", top, o.unit.name)
			}
		}
		return units["c"], "no unit is given, and nothing speaks for °F"
	case dimRotation:
		switch {
		case top <= lim.ThousandsMost.Value:
			return units["krpm"], fmt.Sprintf("no unit is given, and it reaches %.3g", top)
		case top < lim.EngineFastest.Value:
			return units["rps"], fmt.Sprintf("no unit is given, and it reaches only %.0f", top)
		}
		return units["rpm"], "no unit is given, and its size is that of rpm"
	case dimSpeed:
		for _, o := range all {
			if o.unit.name == "°F" || o.unit.name == "miles" || o.unit.name == "psi" {
				return units["mph"], fmt.Sprintf("no unit is given, and the log speaks of %s", o.unit.name)
			}
		}
		return units["km/h"], "no unit is given"
	case dimMassFlow:
		return units["g/s"], "no unit is given"
	case dimPressure:
		return guessPressure(c, all, g.raw(c))
	case dimShare:
		return guessShare(c, g.raw(c))
	case dimVolumeFlow:
		return units["l/h"], "no unit is given"
	case dimTime:
		return units["s"], "no unit is given"
	case dimCount:
		return unit{"count", dimCount, 1, 0}, "it is a count"
	}
	return units["km"], "no unit is given"
}

// trusted are a column's readings, sorted; of a temperature those that a loose
// contact did not spoil, for a short in the wire must not turn °C into °F.
func (g *gatherer) trusted(c *found) []float64 {
	x := c.values
	if dimensionOf(c.signal) == dimTemperature && len(x) == len(g.time) {
		x, _ = contact.Clean(g.time, x)
	}
	return stat.Known(x)
}

// wrongUnit notices a unit that the numbers themselves contradict.
func (g *gatherer) wrongUnit(c *found) (unit, string) {
	k, lim := g.trusted(c), &doubts().Units
	if len(k) < int(lim.ReadingsLeast.Value) {
		return unit{}, ""
	}
	top, mid := stat.Quantile(k, lim.HighShare.Value), stat.Quantile(k, 0.5)
	switch {
	case c.signal == Coolant && c.unit.name == "°C" && top > lim.Hottest.Value && mid < lim.CelsiusMiddle.Value:
		return units["f"], fmt.Sprintf("it reaches %.0f, which no °C reading does", top)
	case c.signal == Coolant && c.unit.name == "K" && top < lim.KelvinLeast.Value:
		return units["c"], fmt.Sprintf("it reaches only %.0f", top)
	case c.signal == Coolant && c.unit.name == "°F" && len(k) > int(lim.PlateauReadings.Value) && top > lim.ColdPlateau.Value && top < lim.WarmPlateau.Value && k[0] < top-lim.PlateauRise.Value && steadyEnd(c.values):
		return units["c"], fmt.Sprintf("it warms up and holds %.0f, and no engine holds %.0f °C", mid, units["f"].si(top))
	case c.signal == EngineSpeed && c.unit.name == "rpm" && top < lim.SlowMost.Value && top > lim.SlowLeast.Value:
		return units["rps"], fmt.Sprintf("it reaches only %.0f", top)
	case c.signal == ManifoldPressure:
		return wrongPressure(c)
	case dimensionOf(c.signal) == dimShare && c.unit.name == "on/off" && top > lim.ShareMost.Value:
		return units["%"], "it exceeds 1"
	}
	return unit{}, ""
}

// steadyEnd tells whether the last third hardly moves.
func steadyEnd(x []float64) bool {
	return stat.Deviation(x[len(x)*2/3:]) < doubts().Units.PlateauWithin.Value
}

// judgeCoolant refuses a coolant column that cannot be coolant.
func (g *gatherer) judgeCoolant(t *Trace, cols []*found) error {
	x := t.Signals[Coolant]
	if x == nil {
		return &lineError{max(g.lay.head, 0) + 1, fmt.Sprintf("no column is coolant temperature by name or by its numbers; the columns are %s. %s", listOf(g.names),
			g.m.either("Say which one it is with --map 'coolant=NAME' or --map coolant=#3", `Name the right one "coolant" in the file, or export the log again with the coolant temperature in it`))}
	}
	var col *found
	for _, c := range cols {
		if c.used && c.signal == Coolant {
			col = c
		}
	}
	k, lim := stat.Known(x), &doubts().Coolant
	if least := int(doubts().Units.ReadingsLeast.Value); len(k) < least {
		return fmt.Errorf("%s holds %d coolant readings; at least %d are wanted", g.columnName(col.col), len(k), least)
	}
	if bad := g.tab.cols[col.col]; bad.bad > bad.seen {
		return fmt.Errorf("%s: %d of its cells are no numbers; is it coolant temperature?", g.columnName(col.col), bad.bad)
	}
	out := 0
	for _, v := range k {
		if v < lim.Lowest.Value || v > lim.Highest.Value {
			out++
		}
	}
	if out*int(lim.OutsideOneIn.Value) > len(k) {
		return fmt.Errorf("%s: %d of %d coolant readings lie outside -40 to 215 °C in %s; %s", g.columnName(col.col), out, len(k), col.unit.name,
			g.m.either("name the right column or unit, such as --map 'coolant="+g.names[col.col]+"@F'", `name the right column "coolant" in the file, with its unit behind it, such as "coolant (°F)"`))
	}
	for i, v := range x {
		if v < lim.Lowest.Value || v > lim.Highest.Value {
			x[i] = nan
		}
	}
	if err := g.judgeContact(t, x, g.columnName(col.col)); err != nil {
		return err
	}
	if out > 0 {
		g.say(Assumption{What: fmt.Sprintf("%d coolant readings are left out", out), Where: g.columnName(col.col), Why: "they lie outside -40 to 215 °C"})
	}
	return nil
}

// judgeContact refuses a reading that leaps all the time, and tells of one that
// leaps at times: a loose contact, whose good readings still count.
func (g *gatherer) judgeContact(t *Trace, x []float64, where string) error {
	_, k := contact.Clean(t.Time, x)
	lim := &doubts().Coolant
	perMinute := float64(k.Jumps) / math.Max(k.Hours*60, 1)
	switch {
	case k.Jumps < int(lim.JumpsLeast.Value):
	case k.Odd == 0 && perMinute > lim.JumpsAMinute.Value:
		return fmt.Errorf("%s leaps %d times in %.0f min and no part of it holds together: no coolant does that. Is it another signal, or a loose sensor plug from end to end?", where, k.Jumps, k.Hours*60)
	default:
		g.say(Assumption{What: fmt.Sprintf("the coolant reading jumps %d times, by %.0f K on average", k.Jumps, k.Size), Where: where, Why: "no coolant does that; a loose contact does", Doubt: true})
	}
	return nil
}

const milesPerKm = 0.621371192 // 1/1.609344

// doubtSpeed compares road speed with what else tells how fast the car went.
func (g *gatherer) doubtSpeed(t *Trace, cols []*found) {
	v := t.Signals[RoadSpeed]
	if v == nil {
		return
	}
	var col *found
	for _, c := range cols {
		if c.used && c.signal == RoadSpeed {
			col = c
		}
	}
	if col.forced && g.m.of[RoadSpeed.String()].unit != "" {
		return
	}
	set := func(u unit, why string) {
		g.say(Assumption{What: fmt.Sprintf("road-speed is taken in %s, not in %s", u.name, col.unit.name), Where: g.columnName(col.col), Why: why, Doubt: true})
		for i, x := range col.values {
			v[i] = u.si(x)
		}
		col.unit = u
	}
	other := map[string]unit{"km/h": units["mph"], "mph": units["km/h"]}
	alt, can := other[col.unit.name]
	if !can {
		return
	}
	// 1. The grid: whole km/h turned into mph leave multiples of 0.6214.
	if raw := g.tab.cols[col.col].raw; col.unit.name == "km/h" && onGrid(raw, milesPerKm) && !onGrid(raw, 1) {
		set(alt, "its values are whole km/h turned into mph: all are multiples of 0.6214")
		return
	}
	// 2. A second speed, 3. the distance. The ratio 1.609 or its inverse tells.
	want, lim := alt.scale/col.unit.scale, &doubts().Speed
	agree := func(ratio float64) bool { return math.Abs(ratio/want-1) < lim.AgreeWithin.Value }
	for _, c := range cols {
		if c == col || c.values == nil || c.word != RoadSpeed.String() || !c.unit.fits(RoadSpeed) {
			continue
		}
		if r, ok := speedRatio(c, v); ok && agree(r) {
			set(alt, fmt.Sprintf("%s reads %.2f times as much", g.columnName(c.col), r))
			return
		}
	}
	if total, went := distances(t, v); went > lim.WayLeast.Value && total > lim.WayLeast.Value && agree(total/went) {
		set(alt, fmt.Sprintf("the distance column moves on by %.1f km, and this speed would make %.1f km", total/1000, went/1000))
		return
	}
	g.doubtGearing(t, v, col, alt)
}

// speedRatio is by how much a second speed reads more than v, m/s, where both move;
// ok with enough rows of them.
func speedRatio(c *found, v []float64) (ratio float64, ok bool) {
	var list []float64
	lim := &doubts().Speed
	for i, x := range c.values {
		if s := c.unit.si(x); s > lim.OtherLeast.Value && v[i] > lim.ThisLeast.Value {
			list = append(list, s/v[i])
		}
	}
	return stat.Median(list), len(list) > int(lim.RowsLeast.Value)
}

// distances are how far the distance column moves on and how far the speed v, m/s,
// takes the car, in m; 0 without such a column.
func distances(t *Trace, v []float64) (total, went float64) {
	d := t.Signals[Distance]
	if d == nil {
		return 0, 0
	}
	for i := 1; i < len(v); i++ {
		if dt := t.Time[i] - t.Time[i-1]; !math.IsNaN(v[i]) && dt < doubts().Speed.GapMost.Value {
			went += v[i] * dt
		}
	}
	k := stat.Known(d)
	return stat.Quantile(k, 1) - stat.Quantile(k, 0), went
}

// doubtGearing asks whether the gearing is possible. It only doubts: a van in
// third gear is no proof.
func (g *gatherer) doubtGearing(t *Trace, v []float64, col *found, alt unit) {
	n := t.Signals[EngineSpeed]
	if n == nil {
		return
	}
	var ratio []float64
	lim, fast := &doubts().Speed, 0
	for i := range v {
		if v[i] > lim.GearSpeed.Value && n[i] > lim.GearRevs.Value {
			ratio = append(ratio, v[i]*3.6/(n[i]*60/1000))
			if v[i]*3.6 > lim.Fast.Value {
				fast++
			}
		}
	}
	rows, shortestTop, longestTop := int(lim.GearRows.Value), lim.ShortestTop.Value, lim.LongestTop.Value
	if len(ratio) < rows {
		return
	}
	top := stat.Quantile(stat.Known(ratio), lim.GearShare.Value)
	switch {
	case top < shortestTop && fast > rows && col.unit.name == "km/h", top > longestTop && col.unit.name == "mph":
		g.say(Assumption{What: fmt.Sprintf("road-speed may be in %s, not in %s", alt.name, col.unit.name), Where: g.columnName(col.col), Doubt: true,
			Why: fmt.Sprintf("it goes no further than %.0f km/h at 1000 rpm, and longest gears lie between %.0f and %.0f%s", top, shortestTop, longestTop,
				g.m.either("; if so, write --map 'road-speed="+g.names[col.col]+"@"+alt.name+"'", ""))})
	}
}

// onGrid tells whether nearly all values are multiples of step, at the values'
// own rounding.
func onGrid(raw []float64, step float64) bool {
	lim, tenths := &doubts().Speed, true
	for _, x := range raw {
		if math.Abs(x*10-math.Round(x*10)) > lim.GridWhole.Value {
			tenths = false
			break
		}
	}
	slack, least := lim.GridHundredth.Value, lim.GridHundredthValues.Value
	if tenths {
		slack, least = lim.GridTenth.Value, lim.GridTenthValues.Value
	}
	if step == 1 {
		slack, least = lim.GridWhole.Value, lim.GridWholeValues.Value
	}
	n, on, distinct := 0, 0, map[float64]bool{}
	for _, x := range raw {
		if x == 0 {
			continue
		}
		n++
		distinct[x] = true
		if math.Abs(x-math.Round(x/step)*step) < slack {
			on++
		}
	}
	return len(distinct) >= int(least) && on*100 >= n*int(lim.GridOn.Value)
}

// doubtOthers drops or doubts what cannot be.
func (g *gatherer) doubtOthers(t *Trace) {
	together := &doubts().Together
	for s := range numSignals {
		x, lim := t.Signals[s], doubts().readable(s)
		if x == nil || lim == nil {
			continue
		}
		out := 0
		for i, v := range x {
			if v < lim.Low || v > lim.High {
				x[i] = nan
				out++
			}
		}
		switch k := stat.Known(x); {
		case len(k) == 0:
			delete(t.Signals, s)
			g.say(Assumption{What: fmt.Sprintf("%s is left out", s), Why: "none of its values is possible in the unit given", Doubt: true})
		case out*int(together.ImpossibleOneIn.Value) > len(x):
			g.say(Assumption{What: fmt.Sprintf("%d values of %s are left out", out, s), Why: fmt.Sprintf("they lie outside %.3g to %.3g %s", lim.Low, lim.High, s.Unit()), Doubt: true})
		}
	}
	if f, n := t.Signals[AirFlow], t.Signals[EngineSpeed]; f != nil && n != nil {
		var idle []float64
		for i := range f {
			if n[i] > together.IdleRevsLeast.Value && n[i] < together.IdleRevsMost.Value {
				idle = append(idle, f[i])
			}
		}
		if m := stat.Median(idle); len(idle) > int(together.RowsLeast.Value) && m > together.IdleAirMost.Value {
			g.say(Assumption{What: "air-flow looks too large", Doubt: true, Why: fmt.Sprintf("it reads %.0f g/s at idle; is it in kg/h?", m*1000)})
		}
	}
}
