package trace

import (
	"bytes"
	"fmt"
	"math"
	"strings"

	"weephole/trace/internal/stat"
)

// countReadings are the units in which a count of time may be meant, each as a
// reading of its own. A unit that is written down comes first by far; it is
// given up only where no car could be like that.
func (l *layout) countReadings(rows []row, r clockReading, m mapping) []clockReading {
	xs, suffix := l.counts(rows, r.time)
	step := typicalStep(xs)
	if e, ok := sinceEpoch(xs, step); ok {
		r.scale, r.epoch, r.serial = e.scale, !e.serial, e.serial
		r.said = append(r.said, Assumption{What: e.what, Where: r.where, Why: e.why})
		return []clockReading{r}
	}
	u, written := l.writtenTime(r.time, suffix)
	if forced := m.of["time"].unit; forced != "" {
		if got, ok := unitOf(forced); ok && got.dim == dimTime {
			r.scale, r.unit = got.scale, forced
			return []clockReading{r}
		}
	}
	var out []clockReading
	lim := &clocks().Count
	for _, h := range clocks().Units {
		if h.Days && !(stat.Max(xs) < lim.DayMost.Value && stat.Min(xs) >= 0 && step < lim.DayStep.Value && len(xs) >= int(lim.DayRows.Value)) {
			continue
		}
		if !written && r.word == "since" && h.Unit != "min" {
			continue // SAE J1979 counts these in minutes
		}
		a := r
		a.scale, a.unit = h.Scale, h.Unit
		if r.word == "run-time" && h.Unit != "s" {
			a.score += lim.RunTimeScore.Value // and run time in seconds
		}
		a.said = append([]Assumption(nil), r.said...)
		say := Assumption{What: "the time is taken as " + h.Name, Where: r.where, Why: fmt.Sprintf("it steps by %.4g, and no unit is given", step)}
		switch {
		case written && math.Abs(h.Scale/u.scale-1) < 1e-9:
			a.score += lim.WrittenScore.Value
		case written:
			a.score += lim.UnwrittenScore.Value - h.Rare/2
			say.What += ", though the log says " + u.name
			say.Why, say.Doubt = fmt.Sprintf("it steps by %.4g; as %s no car could be like that", step, u.name), true
			a.said = append(a.said, say)
		default:
			a.score -= h.Rare
			say.Doubt = h.Scale != 1 || l.header == nil
			if h.Days {
				say.Why = fmt.Sprintf("it stays below 1 and steps by %.2g, which no logger does in seconds: a spreadsheet has turned clock times into numbers", step)
				if xs[0] > lim.DayLate.Value*step { // a count that begins at zero is no time of day
					a.score += lim.DayScore.Value
				} else {
					a.score -= lim.DayScore.Value
				}
			}
			a.said = append(a.said, say)
		}
		out = append(out, a)
	}
	return out
}

// counts are the numbers of a column over the sample, and the unit behind them.
func (l *layout) counts(rows []row, col int) (xs []float64, suffix string) {
	for _, r := range rows {
		if col < len(r.cells) {
			if x, s, k := readCell(r.cells[col], l.mark); k == cellNumber {
				xs = append(xs, x)
				if s != "" {
					suffix = s
				}
			}
		}
	}
	return xs, suffix
}

// typicalStep is the median of the steps forward.
func typicalStep(xs []float64) float64 {
	var steps []float64
	for i := 1; i < len(xs); i++ {
		if d := xs[i] - xs[i-1]; d > 0 {
			steps = append(steps, d)
		}
	}
	return stat.Median(steps)
}

// epochCount is a count from a known day.
type epochCount struct {
	scale     float64
	serial    bool
	what, why string
}

// sinceEpoch recognises by their size counts since 1970 and a spreadsheet's days.
func sinceEpoch(xs []float64, step float64) (epochCount, bool) {
	v, lim := stat.Median(xs), &clocks().Epoch
	of := func(scale float64, unit string) (epochCount, bool) {
		return epochCount{scale: scale, what: "the time is taken as " + unit + " since 1970", why: "its size says so"}, true
	}
	switch {
	case v > lim.Nanoseconds.Value:
		return of(1e-9, "nanoseconds")
	case v > lim.Microseconds.Value:
		return of(1e-6, "microseconds")
	case v > lim.MillisecondsLeast.Value && v < lim.MillisecondsMost.Value:
		return of(1e-3, "milliseconds")
	case v > lim.SecondsLeast.Value && v < lim.SecondsMost.Value && step < lim.SecondsStep.Value:
		return of(1, "seconds")
	case v > lim.DaysLeast.Value && v < lim.DaysMost.Value && step < lim.DaysStep.Value:
		return epochCount{scale: 86400, serial: true, what: "the time is taken as a spreadsheet's count of days", why: fmt.Sprintf("it reads about %.5g and steps by %.2g", v, step)}, true
	}
	return epochCount{}, false
}

// writtenTime is the unit of time that the log writes at a column.
func (l *layout) writtenTime(col int, suffix string) (unit, bool) {
	if u, ok := unitOf(suffix); ok && u.dim == dimTime {
		return u, true
	}
	if u, ok := unitOf(l.unitAt(col)); ok && u.dim == dimTime {
		return u, true
	}
	if _, u := splitUnit(l.headerAt(col)); u.dim == dimTime {
		return u, true
	}
	if u, ok := unitOf(l.headerAt(col)); ok && u.dim == dimTime {
		return u, true
	}
	w := foldName(l.headerAt(col))
	switch {
	case strings.Contains(w, "milli") || strings.HasSuffix(w, " ms"):
		return units["ms"], true
	case strings.Contains(w, "second") || strings.Contains(w, "sekund") || strings.HasSuffix(w, " sec"):
		return units["s"], true
	}
	return unit{}, false
}

// shortClock settles whether "8:37" is hours and minutes or minutes and seconds:
// the latter, if as the former no two rows shared a minute and rows were minutes
// apart, or a minute apart from zero on. Loggers are faster than that.
func (l *layout) shortClock(rows []row, r *clockReading) {
	var at []float64
	for _, row := range rows {
		c := bytes.TrimSpace([]byte(row.text(r.time)))
		s, rest, ok := hms(c)
		if !ok || len(rest) > 0 || bytes.Count(c, []byte{':'}) != 1 || s.kind != timeClock {
			return
		}
		at = append(at, s.second)
	}
	var steps []float64
	for i := 1; i < len(at); i++ {
		steps = append(steps, at[i]-at[i-1])
	}
	lim := &clocks().Count
	minute := lim.ShortStep.Value
	if step := stat.Median(steps); len(at) > int(lim.ShortRows.Value) && (step > minute || step == minute && at[0] < lim.ShortBegins.Value) {
		r.short = true
		r.said = append(r.said, Assumption{What: fmt.Sprintf("%q is taken as minutes and seconds", rows[0].text(r.time)), Where: r.where, Doubt: true,
			Why: fmt.Sprintf("as hours and minutes the rows would be %.0f min apart", step/60)})
	}
}

// partsReading is the clock of a log that has columns of hours, minutes and
// seconds side by side.
func (l *layout) partsReading(rows []row) (clockReading, bool) {
	lim := &clocks().Count
	r := clockReading{clockColumn: l.clock, word: "time", score: lim.PartsScore.Value}
	r.kind, r.apart = timeClock, true
	var names []string
	for i := range l.count {
		k := -1
		switch foldName(l.headerAt(i)) {
		case "h", "hh", "hr", "hour", "hours", "stunde", "stunden", "heure", "heures", "hora", "horas", "uur":
			k = 0
		case "m", "mm", "min", "minute", "minutes", "minuten", "minuto", "minutos", "minuut":
			k = 1
		case "s", "ss", "sec", "second", "seconds", "sekunde", "sekunden", "seconde", "secondes", "segundo", "segundos":
			k = 2
		}
		if k < 0 || r.parts[k] >= 0 {
			continue
		}
		xs, _ := l.counts(rows, i)
		if one := int(lim.PartsOneIn.Value); len(xs)*one < len(rows)*(one-1) || stat.Min(xs) < 0 || stat.Max(xs) >= [3]float64{24, 60, 60}[k] {
			continue
		}
		r.parts[k] = i
		names = append(names, l.nameOf(i))
	}
	if r.parts[1] < 0 || r.parts[2] < 0 {
		return r, false
	}
	if r.parts[0] < 0 {
		r.kind = timeMinutes
	}
	r.time = r.parts[2]
	r.where = strings.Join(names, ", ")
	r.said = []Assumption{{What: "hours, minutes and seconds are put together", Where: r.where, Why: "each has a column of its own"}}
	return r, true
}

// findTicks notices clocks that are coarser than the rows ("08:37" for a
// minute's worth of rows), so that the rows can be spread over the tick.
func (l *layout) findTicks(rows []row, c *clockColumn) (Assumption, bool) {
	var r timer
	r.set(l)
	var steps []float64
	ticks, n := 0, 0
	last := nan
	for _, row := range rows {
		t, ok := r.raw(row.cells)
		if !ok {
			continue
		}
		n++
		if math.IsNaN(last) || t != last {
			if d := t - last; d > 0 {
				steps = append(steps, d)
			}
			ticks++
			last = t
		}
	}
	lim := &clocks().Count
	if ticks < int(lim.TicksLeast.Value) || len(steps) < int(lim.TicksSteps.Value) || l.long {
		return Assumption{}, false
	}
	step := stat.Median(steps)
	per := float64(n) / float64(ticks)
	if step < lim.TickLeast.Value || per < lim.TickRows.Value {
		return Assumption{}, false
	}
	c.tick, c.perTick = step, per
	return Assumption{What: fmt.Sprintf("rows with the same time are spread evenly over the %.4g s until the next", step), Where: l.nameOf(c.time),
		Why: fmt.Sprintf("about %.0f rows share each reading of the clock; a spreadsheet may have cut the seconds off", per), Doubt: true}, true
}
