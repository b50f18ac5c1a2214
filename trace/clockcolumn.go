package trace

import (
	"bytes"
	"fmt"
	"math"
	"sort"
	"strings"

	"weephole/trace/internal/stat"
)

// clockColumn tells how to read the time off a row.
type clockColumn struct {
	time, date int // columns, -1 for none
	kind       timeKind
	scale      float64 // s per count, for timeNumber
	epoch      bool    // counts from 1970
	serial     bool    // a spreadsheet's day count
	dayFirst   bool
	short      bool    // 8:37 is minutes and seconds
	tick       float64 // s between different readings, if rows share one
	perTick    float64 // rows that share one reading
	rate       float64 // rows per second, without any time
}

// findClock picks the column that tells the time.
func (l *layout) findClock(rows []row, m mapping, rate float64) error {
	l.clock = clockColumn{time: -1, date: -1}
	type candidate struct {
		col   int
		kind  timeKind
		score float64
		run   bool
	}
	var found []candidate
	forced := m.column("time", l)
	if forced == unknownColumn {
		return &lineError{l.head + 1, fmt.Sprintf("--map time=%s: there is no such column; the columns are %s", m.of["time"].column, l.list())}
	}
	for i := range l.count {
		if i == l.nameCol || i == l.valueCol {
			continue
		}
		kind, distinct, rising, dayFirst := l.timeLike(rows, i)
		if forced >= 0 && i != forced {
			if kind == timeDate {
				l.clock.date = i
			}
			continue
		}
		name, u := splitUnit(l.headerAt(i))
		w, _ := meaning(name)
		if u.dim == dimTime && w == "" {
			w = "time"
		}
		switch kind {
		case timeDate:
			l.clock.date, l.clock.dayFirst = i, dayFirst
			if forced < 0 {
				continue
			}
		case timeNone:
			if forced >= 0 {
				return &lineError{l.first + 1, fmt.Sprintf("--map time names column %d, but what stands there (%q) is no time", i+1, clip(rows[0].text(i), 30))}
			}
			continue
		case timeNumber:
			if forced < 0 && w != "time" && w != "run-time" && l.header != nil && (w != "" || i > 0) {
				continue // a first column without meaning may be time
			}
			if forced < 0 && (!rising || w == "row") {
				continue
			}
			if forced < 0 && l.header == nil && found != nil {
				continue // without names only the first rising column may be time
			}
		}
		s := math.Log(float64(distinct))
		if w == "time" {
			s += 1
		}
		if kind == timeClock {
			s += 0.5
		}
		if distinct < 2 && len(rows) > 2 && forced < 0 {
			l.assumed = append(l.assumed, Assumption{What: "the time column is left out", Where: l.nameOf(i), Doubt: true,
				Why: fmt.Sprintf("all of the first %d rows read %q: a spreadsheet has rounded the times away", len(rows), clip(rows[0].text(i), 30))})
			continue
		}
		if i < 2 {
			s += 0.2
		}
		if w == "" && l.header != nil && kind == timeNumber {
			s -= 100
			l.assumed = append(l.assumed, Assumption{What: "it is taken as the time", Where: l.nameOf(i), Why: "it comes first and only rises, and no name says time", Doubt: true})
		}
		found = append(found, candidate{i, kind, s, w == "run-time"})
		l.clock.dayFirst = l.clock.dayFirst || dayFirst
	}
	sort.SliceStable(found, func(a, b int) bool {
		if found[a].run != found[b].run {
			return found[b].run
		}
		return found[a].score > found[b].score
	})
	if len(found) == 0 {
		if rate > 0 {
			l.clock.rate = rate
			l.assumed = append(l.assumed, Assumption{What: fmt.Sprintf("rows are %.4g s apart", 1/rate), Why: "no column tells the time, and --rate gives the rows per second"})
			return nil
		}
		if n := len(l.assumed); n > 0 && strings.HasPrefix(l.assumed[n-1].What, "the time column is left out") {
			a := l.assumed[n-1]
			return &lineError{l.first + 1, fmt.Sprintf("%s is no use as time: %s. Export the log anew without a spreadsheet, or say how many rows there are to a second with --rate", a.Where, a.Why)}
		}
		return &lineError{max(l.head, l.first) + 1, fmt.Sprintf("no column tells the time; the columns are %s. Say how many rows there are to a second with --rate (1 for one row per second), or which column is the time with --map 'time=NAME'", l.list())}
	}
	best := found[0]
	l.clock.time, l.clock.kind = best.col, best.kind
	if best.run {
		l.assumed = append(l.assumed, Assumption{What: "the engine's run time serves as the clock", Where: l.nameOf(best.col), Why: "no other column tells the time"})
	}
	if best.kind == timeNumber {
		l.scaleTime(rows, m)
	}
	if best.kind == timeClock {
		l.shortClock(rows)
	}
	l.findTicks(rows)
	return nil
}

// timeLike says what kind of time column i could be, over the sample.
func (l *layout) timeLike(rows []row, col int) (kind timeKind, distinct int, rising, dayFirst bool) {
	counts := map[timeKind]int{}
	n, up, down := 0, 0, 0
	last, lastKey := math.Inf(-1), ""
	for _, r := range rows {
		if col >= len(r.cells) {
			continue
		}
		c := bytes.TrimSpace(r.cells[col])
		if len(c) == 0 {
			continue
		}
		n++
		if key := string(c); key != lastKey {
			distinct++
			lastKey = key
		}
		if x, _, k := readCell(c, l.mark); k == cellNumber {
			counts[timeNumber]++
			if x > last {
				up++
			} else if x < last {
				down++
			}
			last = x
			continue
		}
		if s, ok := readClock(c, false); ok {
			counts[s.kind]++
			if s.dated && firstNumberOver12(c) {
				dayFirst = true
			}
			if s.dated && bytes.Count(c, []byte{'.'}) >= 2 {
				dayFirst = true // 06.07.2017 is written where the day comes first
			}
		}
	}
	rising = up > 0 && down*50 <= up
	for k, c := range counts {
		if c*10 >= n*9 && n > 0 {
			return k, distinct, rising, dayFirst
		}
	}
	// A clock that mixes "59:59.9" and "01:00:00.1".
	if c := counts[timeClock] + counts[timeMinutes]; n > 0 && c*10 >= n*9 {
		return timeClock, distinct, rising, dayFirst
	}
	return timeNone, distinct, rising, dayFirst
}

func firstNumberOver12(c []byte) bool {
	n, i := 0, 0
	for i < len(c) && digit(c[i]) {
		n = n*10 + int(c[i]-'0')
		i++
	}
	return i <= 2 && n > 12
}

// scaleTime finds the unit of a time that is a plain number.
func (l *layout) scaleTime(rows []row, m mapping) {
	c := &l.clock
	var xs []float64
	for _, r := range rows {
		if c.time < len(r.cells) {
			if x, suffix, k := readCell(r.cells[c.time], l.mark); k == cellNumber {
				xs = append(xs, x)
				if u, ok := unitOf(suffix); ok && u.dim == dimTime {
					c.scale = u.scale
				}
			}
		}
	}
	var steps []float64
	for i := 1; i < len(xs); i++ {
		if d := xs[i] - xs[i-1]; d > 0 {
			steps = append(steps, d)
		}
	}
	step, v := stat.Median(steps), stat.Median(xs)
	_, u := splitUnit(l.headerAt(c.time))
	if second, ok := unitOf(l.unitAt(c.time)); ok {
		u = second
	}
	if u.dim != dimTime {
		if whole, ok := unitOf(l.headerAt(c.time)); ok && whole.dim == dimTime {
			u = whole
		} else if w := foldName(l.headerAt(c.time)); strings.Contains(w, "milli") || strings.HasSuffix(w, " ms") {
			u = units["ms"]
		} else if strings.Contains(w, "second") || strings.Contains(w, "sekund") || strings.HasSuffix(w, " sec") {
			u = units["s"]
		}
	}
	if forced := m.of["time"].unit; forced != "" {
		if got, ok := unitOf(forced); ok {
			u = got
		}
	}
	say := func(what, why string, doubt bool) {
		l.assumed = append(l.assumed, Assumption{What: what, Where: l.nameOf(c.time), Why: why, Doubt: doubt})
	}
	long := step*float64(len(xs))/1000 >= 20
	switch {
	case c.scale > 0:
	case v > 1e17:
		c.scale, c.epoch = 1e-9, true
		say("the time is taken as nanoseconds since 1970", "its size says so", false)
	case v > 1e14:
		c.scale, c.epoch = 1e-6, true
		say("the time is taken as microseconds since 1970", "its size says so", false)
	case v > 2e11 && v < 1e13:
		c.scale, c.epoch = 1e-3, true
		say("the time is taken as milliseconds since 1970", "its size says so", false)
	case v > 3e8 && v < 2e10 && (u.dim != dimTime || u.name == "s"):
		c.scale, c.epoch = 1, true
		say("the time is taken as seconds since 1970", "its size says so", false)
	case u.dim == dimTime && !(u.name == "min" && step >= 20):
		c.scale = u.scale
	case v > 20000 && v < 80000 && step < 0.01:
		c.scale, c.serial = 86400, true
		say("the time is taken as a spreadsheet's count of days", fmt.Sprintf("it reads about %.5g and steps by %.2g", v, step), false)
	case stat.Max(xs) < 1.0001 && stat.Min(xs) >= 0 && step < 0.002 && len(xs) >= 5 && step*86400 < 120 && step > 0:
		c.scale = 86400
		say("the time is taken as fractions of a day", fmt.Sprintf("it stays below 1 and steps by %.2g, which no logger does in seconds: a spreadsheet has turned clock times into numbers", step), true)
	case step >= 20 && long:
		c.scale = 1e-3
		say("the time is taken as milliseconds", fmt.Sprintf("it steps by %.4g, and no unit is given", step), true)
	default:
		c.scale = 1
		say("the time is taken as seconds", fmt.Sprintf("it steps by %.4g, and no unit is given", step), l.header == nil)
	}
}

// shortClock settles whether "8:37" is hours and minutes or minutes and seconds:
// the latter, if as the former no two rows shared a minute and rows were minutes
// apart, or a minute apart from nought on. Loggers are faster than that.
func (l *layout) shortClock(rows []row) {
	var at []float64
	for _, r := range rows {
		c := bytes.TrimSpace([]byte(r.text(l.clock.time)))
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
		l.clock.short = true
		l.assumed = append(l.assumed, Assumption{What: fmt.Sprintf("%q is taken as minutes and seconds", rows[0].text(l.clock.time)), Where: l.nameOf(l.clock.time), Doubt: true,
			Why: fmt.Sprintf("as hours and minutes the rows would be %.0f min apart", step/60)})
	}
}

// findTicks notices clocks that are coarser than the rows ("08:37" for a
// minute's worth of rows), so that the rows can be spread over the tick.
func (l *layout) findTicks(rows []row) {
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
		return
	}
	step := stat.Median(steps)
	per := float64(n) / float64(ticks)
	if step >= 2 && per >= 1.8 {
		l.clock.tick, l.clock.perTick = step, per
		l.assumed = append(l.assumed, Assumption{What: fmt.Sprintf("rows with the same time are spread evenly over the %.4g s until the next", step), Where: l.nameOf(l.clock.time),
			Why: fmt.Sprintf("about %.0f rows share each reading of the clock; a spreadsheet may have cut the seconds off", per), Doubt: true})
	}
}
