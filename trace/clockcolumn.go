package trace

import (
	"bytes"
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"
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
	dots       bool    // 08.37.58
	parts      [3]int  // columns of hour, minute and second where each has its own, else -1
	apart      bool    // parts are used
	tick       float64 // s between different readings, if rows share one
	perTick    float64 // rows that share one reading
	rate       float64 // rows per second, without any time
}

// noClock is a clockColumn that names no column.
var noClock = clockColumn{time: -1, date: -1, parts: [3]int{-1, -1, -1}}

// clockReading is one way to read the time of a log, and what speaks for it.
type clockReading struct {
	clockColumn
	where  string // for people
	word   string // "time", "run-time", "since" or ""
	unit   string // for --map, "" where the column tells it itself
	score  float64
	said   []Assumption
	lasts  float64 // s, of the sample
	step   float64 // s, median between rows
	rows   int
	rhythm float64 // what the rows' spacing and the length alone say
	wrong  string  // why no car can be like that; "" if one can
}

// findClock picks the way to read the time with which a car can exist. Where
// two ways remain that differ, the choice is left to a person.
func (l *layout) findClock(rows []row, m mapping, rate float64, whole bool) error {
	l.clock = noClock
	forced := m.column("time", l)
	if forced == unknownColumn {
		return &lineError{l.head + 1, fmt.Sprintf("%s: there is no such column; the columns are %s", m.said("time", m.of["time"].column), l.list())}
	}
	l.findDate(rows, forced)
	var all []clockReading
	for i := range l.count {
		if i == l.nameCol || i == l.valueCol || forced >= 0 && i != forced {
			continue
		}
		got, err := l.readingsOf(rows, i, m)
		if err != nil {
			return err
		}
		all = append(all, got...)
	}
	if forced < 0 {
		if r, ok := l.partsReading(rows); ok {
			all = slices.DeleteFunc(all, func(a clockReading) bool { return slices.Contains(r.parts[:], a.time) })
			all = append(all, r)
		}
	}
	if len(all) == 0 {
		return l.withoutClock(m, rate)
	}
	see := l.witnesses(rows)
	for i := range all {
		l.judgeClock(&all[i], rows, see, whole)
	}
	sort.SliceStable(all, func(a, b int) bool { return all[a].score > all[b].score })
	best := all[0]
	l.clock = best.clockColumn
	l.assumed = append(l.assumed, best.said...)
	if best.word == "run-time" && forced < 0 {
		l.assumed = append(l.assumed, Assumption{What: "the engine's run time serves as the clock", Where: best.where, Why: "no other column tells the time as well"})
	}
	if forced < 0 || m.of["time"].unit == "" {
		l.compareClocks(all)
	}
	return nil
}

// findDate looks for a date that stands in a column of its own.
func (l *layout) findDate(rows []row, forced int) {
	for i := range l.count {
		if i == l.nameCol || i == l.valueCol || i == forced {
			continue
		}
		if look := l.timeLike(rows, i); look.kind == timeDate {
			l.clock.date, l.clock.dayFirst = i, look.dayFirst
		}
	}
}

// withoutClock is for logs in which no column tells the time.
func (l *layout) withoutClock(m mapping, rate float64) error {
	if rate > 0 {
		l.clock.rate = rate
		l.assumed = append(l.assumed, Assumption{What: fmt.Sprintf("rows are %.4g s apart", 1/rate), Why: "no column tells the time, and --rate gives the rows per second"})
		return nil
	}
	if n := len(l.assumed); n > 0 && strings.HasPrefix(l.assumed[n-1].What, "the time column is left out") {
		a := l.assumed[n-1]
		return &lineError{l.first + 1, fmt.Sprintf("%s is no use as time: %s. Export the log again without a spreadsheet%s", a.Where, a.Why,
			m.either(", or say how many rows there are to a second with --rate", ""))}
	}
	return &lineError{max(l.head, l.first) + 1, fmt.Sprintf("no column tells the time; the columns are %s. %s", l.list(),
		m.either("Say how many rows there are to a second with --rate (1 for one row per second), or which column is the time with --map 'time=NAME'", "Name"+nameTime))}
}

// nameTime is what to do to a log whose clock is not found, after "name".
const nameTime = ` the column of the time "time" in the file, or export the log again with a time for each row`

// readingsOf are the ways in which column i could tell the time.
func (l *layout) readingsOf(rows []row, i int, m mapping) ([]clockReading, error) {
	look := l.timeLike(rows, i)
	forced := m.column("time", l) == i
	word := l.clockWord(i)
	r := clockReading{clockColumn: l.clock, where: l.nameOf(i), word: word}
	r.time, r.kind, r.dots, r.dayFirst = i, look.kind, look.dots, l.clock.dayFirst || look.dayFirst
	if r.date == i {
		r.date = -1
	}
	switch look.kind {
	case timeNone:
		if forced {
			return nil, &lineError{l.first + 1, fmt.Sprintf("%s %d, but what stands there (%q) is no time", m.either("--map time names column", "the time is said to be column"), i+1, clip(rows[0].text(i), 30))}
		}
		return nil, nil
	case timeDate:
		if !forced {
			return nil, nil
		}
	case timeNumber:
		if !forced && !l.mayCount(i, word, look) {
			return nil, nil
		}
	}
	if look.distinct < 2 && len(rows) > 2 && !forced {
		if word != "time" && look.kind == timeNumber {
			return nil, nil
		}
		l.assumed = append(l.assumed, Assumption{What: "the time column is left out", Where: r.where, Doubt: true,
			Why: fmt.Sprintf("all of the first %d rows read %q: a spreadsheet has rounded the times away", len(rows), clip(rows[0].text(i), 30))})
		return nil, nil
	}
	r.score = l.clockPrior(i, word, look.kind)
	if word == "" && l.header != nil && look.kind == timeNumber && !forced {
		r.said = append(r.said, Assumption{What: "it is taken as the time", Where: r.where, Why: "it only rises, and no name says time", Doubt: true})
	}
	if r.kind == timeNumber {
		return l.countReadings(rows, r, m), nil
	}
	if r.kind == timeClock && !r.dots {
		l.shortClock(rows, &r)
	}
	return []clockReading{r}, nil
}

// clockWord is what a column's name says about time: "time", "run-time",
// "since" for counters since some reset, another signal's word, or "".
func (l *layout) clockWord(i int) string {
	name, u := splitUnit(l.headerAt(i))
	w, _, _ := meaningOf(name)
	if w == "" {
		w, _ = meaning(l.headerAt(i))
	}
	if w == "" && u.dim == dimTime {
		w = "time"
	}
	return w
}

// mayCount tells whether a column of plain numbers may be a clock at all.
func (l *layout) mayCount(i int, word string, look timeLook) bool {
	switch {
	case !look.rising:
		return false
	case word == "time", word == "run-time", word == "since":
		return true
	case l.header == nil:
		return true // the first that rises; see clockPrior
	}
	return word == "" && (i == 0 || look.distinct*2 > look.n)
}

// How much a name says before the numbers are looked at, in units of natural
// logarithm; judgement.
func (l *layout) clockPrior(i int, word string, kind timeKind) float64 {
	s := 0.0
	switch word {
	case "time":
		s = 2
	case "run-time":
		s = 0.5
	case "since":
		s = -4
	case "":
		s = -4
		if l.header == nil {
			s = -float64(i)
		}
	default:
		s = -3
	}
	if kind == timeClock || kind == timeMinutes {
		s = math.Max(s, 0) + 1
	}
	if i < 2 {
		s += 0.3
	}
	return s
}

// timeLook is what the cells of a column look like, as times.
type timeLook struct {
	kind     timeKind
	n        int // cells that hold anything
	distinct int // changes from row to row, and one
	rising   bool
	dayFirst bool
	dots     bool
}

// timeLike says what kind of time column i could be, over the sample.
func (l *layout) timeLike(rows []row, col int) timeLook {
	var look timeLook
	counts := map[timeKind]int{}
	up, down, dots := 0, 0, 0
	last, lastKey := math.Inf(-1), ""
	for _, r := range rows {
		if col >= len(r.cells) {
			continue
		}
		c := bytes.TrimSpace(r.cells[col])
		if len(c) == 0 {
			continue
		}
		look.n++
		if key := string(c); key != lastKey {
			look.distinct++
			lastKey = key
		}
		if dotClock(c) {
			dots++
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
			if s.dated && (firstNumberOver12(c) || bytes.Count(c, []byte{'.'}) >= 2) {
				look.dayFirst = true // 06.07.2017 is written where the day comes first
			}
		}
	}
	look.rising = up > 0 && down*50 <= up
	look.kind = mostly(counts, look.n)
	if dots*10 >= look.n*9 && look.n > 0 && look.distinct*20 >= look.n && look.distinct > 2 {
		look.kind, look.dots = timeClock, true // a date would stay the same
	}
	return look
}

// mostly is the kind of nine cells in ten.
func mostly(counts map[timeKind]int, n int) timeKind {
	for k, c := range counts {
		if c*10 >= n*9 && n > 0 {
			return k
		}
	}
	// A clock that mixes "59:59.9" and "01:00:00.1".
	if c := counts[timeClock] + counts[timeMinutes]; n > 0 && c*10 >= n*9 {
		return timeClock
	}
	return timeNone
}

// dotClock recognises 08.37.58, 8.37.58,3 and 08.37.58.298.
func dotClock(c []byte) bool {
	_, ok := dotted(c)
	return ok
}

// dotted reads a clock with dots between its parts as one with colons.
func dotted(c []byte) (stamp, bool) {
	if len(c) < 7 || len(c) > 16 || bytes.Count(c, []byte{'.'}) < 2 {
		return stamp{}, false
	}
	var buf [16]byte
	n := copy(buf[:], c)
	swapped := 0
	for i := range n {
		if buf[i] == '.' && swapped < 2 {
			buf[i] = ':'
			swapped++
		}
	}
	s, rest, ok := hms(buf[:n])
	return s, ok && len(rest) == 0 && s.kind == timeClock && s.second < 86400
}

func firstNumberOver12(c []byte) bool {
	n, i := 0, 0
	for i < len(c) && digit(c[i]) {
		n = n*10 + int(c[i]-'0')
		i++
	}
	return i <= 2 && n > 12
}
