package trace

import (
	"bytes"
	"fmt"
	"math"
	"time"
)

// timer turns the time cells of rows into seconds.
type timer struct {
	c    clockColumn
	mark byte
	n    float64 // rows, for logs without time
	// the last date, because it is the same for a million rows
	dateText []byte
	day      int64
	dated    bool
}

func (r *timer) set(l *layout) { r.c, r.mark = l.clock, l.mark }

// raw is the row's time in s, on whatever scale the log counts.
func (r *timer) raw(cells [][]byte) (float64, bool) {
	if r.c.rate > 0 {
		return r.count(), true
	}
	if r.c.time < 0 || r.c.time >= len(cells) {
		return 0, false
	}
	if r.c.apart {
		return r.rawParts(cells)
	}
	cell := bytes.TrimSpace(cells[r.c.time])
	if r.c.kind == timeNumber {
		x, _, kind := readCell(cell, r.mark)
		x *= r.c.scale
		return x, kind == cellNumber && math.Abs(x) < 1e12 // s, thirty thousand years
	}
	s, rest, ok := hms(cell)
	if r.c.dots {
		s, ok = dotted(cell)
		rest = nil
	}
	if !ok || len(rest) > 0 {
		if s, ok = readClock(cell, r.c.dayFirst); !ok {
			return 0, false
		}
	}
	if r.c.short {
		s.second /= 60
	}
	if s.dated {
		r.dated = true
	} else if r.c.date >= 0 && r.c.date < len(cells) {
		s.day = r.dayOf(cells[r.c.date])
	}
	return float64(s.day)*86400 + s.second, true
}

// count is the time of the next row where only the rate is known.
func (r *timer) count() float64 {
	r.n++
	return (r.n - 1) / r.c.rate
}

// rawParts puts hours, minutes and seconds of three columns together.
func (r *timer) rawParts(cells [][]byte) (float64, bool) {
	t := 0.0
	for k, i := range r.c.parts {
		if i < 0 {
			continue
		}
		if i >= len(cells) {
			return 0, false
		}
		x, _, kind := readCell(cells[i], r.mark)
		if kind != cellNumber || !(x >= 0 && x < 60) {
			return 0, false
		}
		t += x * [3]float64{3600, 60, 1}[k]
	}
	if i := r.c.date; i >= 0 && i < len(cells) {
		t += float64(r.dayOf(cells[i])) * 86400
	}
	return t, true
}

// dayOf reads a date column.
func (r *timer) dayOf(cell []byte) int64 {
	if bytes.Equal(cell, r.dateText) {
		return r.day
	}
	if s, ok := readClock(bytes.TrimSpace(cell), r.c.dayFirst); ok && s.dated {
		r.dateText, r.day, r.dated = append(r.dateText[:0], cell...), s.day, true
	}
	return r.day
}

// began is the moment of the first row, if the log tells a date.
func (r *timer) began(first float64) time.Time {
	switch {
	case r.c.epoch:
		return time.Unix(0, int64(first*1e9)).UTC()
	case r.c.serial: // day 0 of spreadsheets is 30 December 1899
		return time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC).Add(time.Duration(first * 1e9))
	case r.dated && first > 86400:
		return time.Unix(0, int64(first*1e9)).UTC()
	}
	return time.Time{}
}

// sequence makes raw times strictly run on: over midnight, over the hour that
// a spreadsheet lost, over clocks set back and over logs strung together.
type sequence struct {
	kind    timeKind
	dated   bool
	long    bool // one reading per row: names come in any order
	tick    float64
	perTick float64

	started   bool
	base      float64 // raw of the first row
	offset    float64 // s added to raw-base
	last      float64 // s, highest so far
	lastRaw   float64
	sameRaw   float64
	behind    int
	restarts  []float64 // times at which a drive begins after an unknown gap
	late      int
	wraps     int
	setBack   int
	firstLate int
	firstBack int
}

// at gives the row's time in s from the first row; false drops the row.
func (q *sequence) at(raw float64, line int) (float64, bool) {
	if !q.started {
		q.started, q.base, q.lastRaw = true, raw, raw
		return 0, true
	}
	if raw == q.lastRaw {
		q.sameRaw++
	} else {
		q.sameRaw = 0
	}
	q.lastRaw = raw
	lim := &clocks().Drives
	t := raw - q.base + q.offset
	if q.perTick > 0 {
		t += q.tick * math.Min(q.sameRaw/q.perTick, lim.TicksMost.Value)
	}
	if t >= q.last {
		if t-q.last > lim.LeapMost.Value {
			q.restart(t)
			return q.last, true
		}
		q.last, q.behind = t, 0
		return t, true
	}
	back := q.last - t
	switch {
	case q.long && t >= 0:
		return t, true // this reading's time lies within what was seen
	case q.kind == timeMinutes && back > lim.HourLeast.Value && back < lim.HourMost.Value:
		q.offset += 3600
		q.wraps++
		t += 3600
	case q.kind == timeClock && !q.dated && back > lim.MidnightLeast.Value:
		q.offset += 86400
		q.wraps++
		t += 86400
	case q.kind == timeClock && !q.dated && math.Abs(back-12*3600) < lim.NoonWithin.Value:
		q.offset += 12 * 3600 // twelve-hour clock without am and pm
		q.wraps++
		t += 12 * 3600
	case back > lim.Hiccup.Value:
		q.restart(t)
		return q.last, true
	default:
		if q.late++; q.late == 1 {
			q.firstLate = line
		}
		if q.behind++; q.behind < int(lim.BehindRows.Value) {
			return 0, false
		}
		q.setBack++
		q.firstBack = line
		q.offset += back
		q.behind = 0
		return q.last, true
	}
	q.last = math.Max(q.last, t)
	return q.last, true
}

// restart begins a new drive at a nominal gap behind the last row.
func (q *sequence) restart(t float64) {
	now := q.last + clocks().Drives.UnknownGap.Value
	q.offset += now - t
	q.last, q.behind = now, 0
	q.restarts = append(q.restarts, now)
}

// assumptions puts what was done to the time into sentences.
func (q *sequence) assumptions() []Assumption {
	var a []Assumption
	if q.wraps > 0 {
		what := "the clock passes midnight and runs on"
		if q.kind == timeMinutes {
			what = "the hours are missing from the times and were counted on"
		}
		a = append(a, Assumption{What: what, Why: fmt.Sprintf("it starts again from zero %d time(s); a silence of hours would not be seen", q.wraps), Doubt: q.kind == timeMinutes})
	}
	if q.late > 0 && q.setBack == 0 {
		a = append(a, Assumption{What: fmt.Sprintf("%d row(s) are left out", q.late), Where: fmt.Sprintf("line %d", q.firstLate), Why: "time steps back there, and they lie before what was read already"})
	}
	if q.setBack > 0 {
		a = append(a, Assumption{What: "the clock was set back and is taken to run on", Where: fmt.Sprintf("line %d", q.firstBack), Why: "time steps back and stays behind", Doubt: true})
	}
	if n := len(q.restarts); n > 0 {
		a = append(a, Assumption{What: fmt.Sprintf("the log holds %d drives", n+1), Why: fmt.Sprintf("time starts again at zero; the pause between them is not in the log, so %.0f minutes are assumed", clocks().Drives.UnknownGap.Value/60)})
	}
	return a
}
