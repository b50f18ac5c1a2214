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
		g.say(Assumption{What: "it is taken as what the control unit asks of the fan, not as what turns", Where: g.columnName(c.col), Why: "a control unit only knows what it asks for; for a fan that was seen or measured write --map 'fan=" + g.names[c.col] + "'"})
	}
	out := make([]float64, len(c.values))
	for i, x := range c.values {
		out[i] = c.unit.si(x)
	}
	return out
}

// Limits on which units are guessed. All judgement, from what engines can do.
const (
	hottestC     = 135.0 // no coolant reading above this in degC is believed; 135 °F is 57 °C
	fastestEng   = 130.0 // rev/s, 7800 rpm: larger numbers are rpm
	shareTop     = 1.001
	coldPlateauF = 76.0 // a steady "°F" between these is degC: no engine holds 24 to 41 °C
	warmPlateauF = 106.0
)

// guessUnit finds the unit of a signal from its size.
func (g *gatherer) guessUnit(c *found, all []*found) (unit, string) {
	k := g.trusted(c)
	top, mid := stat.Quantile(k, 0.99), stat.Quantile(k, 0.5)
	switch dimensionOf(c.signal) {
	case dimTemperature:
		switch {
		case stat.Quantile(k, 0.01) > 240 && top < 430:
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
		if mid > 60 && top <= hottestC || top >= 70 && top <= 115 {
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
		case top <= 12:
			return units["krpm"], fmt.Sprintf("no unit is given, and it reaches %.3g", top)
		case top < fastestEng:
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
	k := g.trusted(c)
	if len(k) < 5 {
		return unit{}, ""
	}
	top, mid := stat.Quantile(k, 0.99), stat.Quantile(k, 0.5)
	switch {
	case c.signal == Coolant && c.unit.name == "°C" && top > hottestC && mid < 290:
		return units["f"], fmt.Sprintf("it reaches %.0f, which no °C reading does", top)
	case c.signal == Coolant && c.unit.name == "K" && top < 240:
		return units["c"], fmt.Sprintf("it reaches only %.0f", top)
	case c.signal == Coolant && c.unit.name == "°F" && len(k) > 240 && top > coldPlateauF && top < warmPlateauF && k[0] < top-25 && steadyEnd(c.values):
		return units["c"], fmt.Sprintf("it warms up and holds %.0f, and no engine holds %.0f °C", mid, units["f"].si(top))
	case c.signal == EngineSpeed && c.unit.name == "rpm" && top < 110 && top > 6:
		return units["rps"], fmt.Sprintf("it reaches only %.0f", top)
	case c.signal == ManifoldPressure:
		return wrongPressure(c)
	case dimensionOf(c.signal) == dimShare && c.unit.name == "on/off" && top > shareTop:
		return units["%"], "it exceeds 1"
	}
	return unit{}, ""
}

// steadyEnd tells whether the last third hardly moves.
func steadyEnd(x []float64) bool { return stat.Deviation(x[len(x)*2/3:]) < 3 }

// coolant limits, degC: what a sensor's range holds (SAE J1979: one byte less
// 40, -40 to 215; read in the public PID tables).
const lowestC, highestC = -40.5, 215.5

// judgeCoolant refuses a coolant column that cannot be coolant.
func (g *gatherer) judgeCoolant(t *Trace, cols []*found) error {
	x := t.Signals[Coolant]
	if x == nil {
		return &lineError{max(g.lay.head, 0) + 1, fmt.Sprintf("no column is coolant temperature by name or by its numbers; the columns are %s. Say which one it is with --map 'coolant=NAME' or --map coolant=#3", listOf(g.names))}
	}
	var col *found
	for _, c := range cols {
		if c.used && c.signal == Coolant {
			col = c
		}
	}
	k := stat.Known(x)
	if len(k) < 5 {
		return fmt.Errorf("%s holds %d coolant readings; at least 5 are wanted", g.columnName(col.col), len(k))
	}
	if bad := g.tab.cols[col.col]; bad.bad > bad.seen {
		return fmt.Errorf("%s: %d of its cells are no numbers; is it coolant temperature?", g.columnName(col.col), bad.bad)
	}
	out := 0
	for _, v := range k {
		if v < lowestC || v > highestC {
			out++
		}
	}
	if out*5 > len(k) {
		return fmt.Errorf("%s: %d of %d coolant readings lie outside -40 to 215 °C in %s; name the right column or unit, such as --map 'coolant=%s@F'", g.columnName(col.col), out, len(k), col.unit.name, g.names[col.col])
	}
	for i, v := range x {
		if v < lowestC || v > highestC {
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
	perMinute := float64(k.Jumps) / math.Max(k.Hours*60, 1)
	switch {
	case k.Jumps < 2:
	case k.Odd == 0 && perMinute > 3:
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
	want := alt.scale / col.unit.scale
	for _, c := range cols {
		if c == col || c.values == nil || c.word != RoadSpeed.String() || !c.unit.fits(RoadSpeed) {
			continue
		}
		if r, ok := speedRatio(c, v); ok && math.Abs(r/want-1) < 0.06 {
			set(alt, fmt.Sprintf("%s reads %.2f times as much", g.columnName(c.col), r))
			return
		}
	}
	if total, went := distances(t, v); went > 2000 && total > 2000 && math.Abs(total/went/want-1) < 0.06 {
		set(alt, fmt.Sprintf("the distance column moves on by %.1f km, and this speed would make %.1f km", total/1000, went/1000))
		return
	}
	g.doubtGearing(t, v, col, alt)
}

// speedRatio is by how much a second speed reads more than v, m/s, where both move;
// ok with more than 20 rows of them.
func speedRatio(c *found, v []float64) (ratio float64, ok bool) {
	var list []float64
	for i, x := range c.values {
		if s := c.unit.si(x); s > 8 && v[i] > 4 {
			list = append(list, s/v[i])
		}
	}
	return stat.Median(list), len(list) > 20
}

// distances are how far the distance column moves on and how far the speed v, m/s,
// takes the car, in m; 0 without such a column.
func distances(t *Trace, v []float64) (total, went float64) {
	d := t.Signals[Distance]
	if d == nil {
		return 0, 0
	}
	for i := 1; i < len(v); i++ {
		if dt := t.Time[i] - t.Time[i-1]; !math.IsNaN(v[i]) && dt < 10 {
			went += v[i] * dt
		}
	}
	k := stat.Known(d)
	return stat.Quantile(k, 1) - stat.Quantile(k, 0), went
}

// The road speed at 1000 rpm in the longest gear of passenger cars, km/h.
// Judgement, from gear tables of many cars: a bit under 30 to a bit over 60.
const shortestTop, longestTop = 26.0, 72.0

// doubtGearing asks whether the gearing is possible. It only doubts: a van in
// third gear is no proof.
func (g *gatherer) doubtGearing(t *Trace, v []float64, col *found, alt unit) {
	n := t.Signals[EngineSpeed]
	if n == nil {
		return
	}
	var ratio []float64
	fast := 0
	for i := range v {
		if v[i] > 15 && n[i] > 10 {
			ratio = append(ratio, v[i]*3.6/(n[i]*60/1000))
			if v[i]*3.6 > 75 {
				fast++
			}
		}
	}
	if len(ratio) < 60 {
		return
	}
	top := stat.Quantile(stat.Known(ratio), 0.9)
	switch {
	case top < shortestTop && fast > 60 && col.unit.name == "km/h", top > longestTop && col.unit.name == "mph":
		g.say(Assumption{What: fmt.Sprintf("road-speed may be in %s, not in %s", alt.name, col.unit.name), Where: g.columnName(col.col), Doubt: true,
			Why: fmt.Sprintf("it goes no further than %.0f km/h at 1000 rpm, and longest gears lie between %.0f and %.0f; if so, write --map 'road-speed=%s@%s'", top, shortestTop, longestTop, g.names[col.col], alt.name)})
	}
}

// onGrid tells whether nearly all values are multiples of step, at the values'
// own rounding. Values in tenths hit a grid of 0.62 by chance once in six times,
// in hundredths once in fifty, so the former must be many.
func onGrid(raw []float64, step float64) bool {
	tenths := true
	for _, x := range raw {
		if math.Abs(x*10-math.Round(x*10)) > 1e-6 {
			tenths = false
			break
		}
	}
	slack, least := 0.0055, 8
	if tenths {
		slack, least = 0.0505, 20
	}
	if step == 1 {
		slack, least = 1e-6, 1
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
	return len(distinct) >= least && on*100 >= n*97
}

// doubtOthers drops or doubts what cannot be.
func (g *gatherer) doubtOthers(t *Trace) {
	limits := map[Signal][2]float64{ // beyond is no reading; judgement
		EngineSpeed: {0, 250}, RoadSpeed: {-1, 120}, AirFlow: {0, 1}, ManifoldPressure: {0, 5e5}, Ambient: {-60, 60},
		IntakeAir: {-60, 200}, FanState: {-0.01, 1.01}, FanCommand: {-0.01, 1.01}, AirCon: {-0.01, 1.01}, Coolant2: {-60, 200}, TransmissionTemp: {-60, 250}, ShortTrim: {-1, 1}, LongTrim: {-1, 1}, Codes: {0, 255}, Load: {-0.01, 2}, Throttle: {-0.01, 1.2}, Pedal: {-0.01, 1.2}, FuelRate: {0, 0.1}, OilTemp: {-60, 200}, HeadTemp: {-60, 400}, Barometer: {4e4, 1.2e5},
	}
	for s := range numSignals {
		x, lim := t.Signals[s], limits[s]
		if x == nil || lim == [2]float64{} {
			continue
		}
		out := 0
		for i, v := range x {
			if v < lim[0] || v > lim[1] {
				x[i] = nan
				out++
			}
		}
		switch k := stat.Known(x); {
		case len(k) == 0:
			delete(t.Signals, s)
			g.say(Assumption{What: fmt.Sprintf("%s is left out", s), Why: "none of its values is possible in the unit given", Doubt: true})
		case out*10 > len(x):
			g.say(Assumption{What: fmt.Sprintf("%d values of %s are left out", out, s), Why: fmt.Sprintf("they lie outside %.3g to %.3g %s", lim[0], lim[1], s.Unit()), Doubt: true})
		}
	}
	// Idle air flow: a car's engine takes 2 to 15 g/s at idle (common practice, no source).
	if f, n := t.Signals[AirFlow], t.Signals[EngineSpeed]; f != nil && n != nil {
		var idle []float64
		for i := range f {
			if n[i] > 8 && n[i] < 17 {
				idle = append(idle, f[i])
			}
		}
		if m := stat.Median(idle); len(idle) > 30 && m > 0.03 {
			g.say(Assumption{What: "air-flow looks too large", Doubt: true, Why: fmt.Sprintf("it reads %.0f g/s at idle; is it in kg/h?", m*1000)})
		}
	}
}
