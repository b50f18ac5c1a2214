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
	for _, h := range timeUnits {
		if h.days && !(stat.Max(xs) < 1.0001 && stat.Min(xs) >= 0 && step < 0.002 && len(xs) >= 5) {
			continue
		}
		if !written && r.word == "since" && h.unit != "min" {
			continue // SAE J1979 counts these in minutes
		}
		a := r
		a.scale, a.unit = h.scale, h.unit
		if r.word == "run-time" && h.unit != "s" {
			a.score -= 3 // and run time in seconds
		}
		a.said = append([]Assumption(nil), r.said...)
		say := Assumption{What: "the time is taken as " + h.name, Where: r.where, Why: fmt.Sprintf("it steps by %.4g, and no unit is given", step)}
		switch {
		case written && math.Abs(h.scale/u.scale-1) < 1e-9:
			a.score += 2
		case written:
			a.score -= 6 + h.rare/2
			say.What += ", though the log says " + u.name
			say.Why, say.Doubt = fmt.Sprintf("it steps by %.4g; as %s no car could be like that", step, u.name), true
			a.said = append(a.said, say)
		default:
			a.score -= h.rare
			say.Doubt = h.scale != 1 || l.header == nil
			if h.days {
				say.Why = fmt.Sprintf("it stays below 1 and steps by %.2g, which no logger does in seconds: a spreadsheet has turned clock times into numbers", step)
				if xs[0] > 10*step { // a count that begins at zero is no time of day
					a.score += 4
				} else {
					a.score -= 4
				}
			}
			a.said = append(a.said, say)
		}
		out = append(out, a)
	}
	return out
}

// timeUnits are the units of a count of time, and how rare each is where none
// is written, in units of natural logarithm; judgement. SAE J1979 counts run
// time in seconds and the time since a reset in minutes.
var timeUnits = []struct {
	name, unit string
	scale      float64
	rare       float64
	days       bool
}{
	{"seconds", "s", 1, 0, false}, {"milliseconds", "ms", 1e-3, 0.7, false}, {"minutes", "min", 60, 4, false},
	{"microseconds", "us", 1e-6, 3, false}, {"hours", "h", 3600, 5, false}, {"fractions of a day", "", 86400, 3, true},
	{"nanoseconds", "ns", 1e-9, 4, false},
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
	v := stat.Median(xs)
	of := func(scale float64, unit string) (epochCount, bool) {
		return epochCount{scale: scale, what: "the time is taken as " + unit + " since 1970", why: "its size says so"}, true
	}
	switch {
	case v > 1e17:
		return of(1e-9, "nanoseconds")
	case v > 1e14:
		return of(1e-6, "microseconds")
	case v > 2e11 && v < 1e13:
		return of(1e-3, "milliseconds")
	case v > 3e8 && v < 2e10 && step < 3600:
		return of(1, "seconds")
	case v > 20000 && v < 80000 && step < 0.01:
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
	if step := stat.Median(steps); len(at) > 2 && (step > 60 || step == 60 && at[0] < 3600) {
		r.short = true
		r.said = append(r.said, Assumption{What: fmt.Sprintf("%q is taken as minutes and seconds", rows[0].text(r.time)), Where: r.where, Doubt: true,
			Why: fmt.Sprintf("as hours and minutes the rows would be %.0f min apart", step/60)})
	}
}

// partsReading is the clock of a log that has columns of hours, minutes and
// seconds side by side.
func (l *layout) partsReading(rows []row) (clockReading, bool) {
	r := clockReading{clockColumn: l.clock, word: "time", score: 3}
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
		if len(xs)*10 < len(rows)*9 || stat.Min(xs) < 0 || stat.Max(xs) >= [3]float64{24, 60, 60}[k] {
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
	if ticks < 3 || len(steps) < 2 || l.long {
		return Assumption{}, false
	}
	step := stat.Median(steps)
	per := float64(n) / float64(ticks)
	if step < 2 || per < 1.8 {
		return Assumption{}, false
	}
	c.tick, c.perTick = step, per
	return Assumption{What: fmt.Sprintf("rows with the same time are spread evenly over the %.4g s until the next", step), Where: l.nameOf(c.time),
		Why: fmt.Sprintf("about %.0f rows share each reading of the clock; a spreadsheet may have cut the seconds off", per), Doubt: true}, true
}
