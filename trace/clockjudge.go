package trace

import (
	"fmt"
	"math"

	"weephole/trace/internal/stat"
)

// Limits of what a car can do, against which a clock is held; judgement.
const (
	warmsMost   = 1.0    // K/s, sustained over 15 K and more; 100 kW of heat in 50 kJ/K make 2
	warmsFast   = 0.35   // K/s, rare
	speedsMost  = 3.0    // m/s2, mean of all speeding up and slowing down
	changeLasts = 30.0   // s, shortest time in which speed changed by 5 m/s; cars take 2 to 6
	warmsSlow   = 5400.0 // s from 40 to 70 °C; a large diesel at idle in frost may take an hour
	revsMost    = 50.0   // rev/s2, mean of all changes
	sameLength  = 0.1    // relative; clocks that differ by less agree
	nearlyAsFit = 3.0    // natural logarithm: twenty to one
)

// witnesses are columns of the sample that tell how fast a car changes. They
// are known by name only, for no clock stands yet.
type witnesses struct {
	coolant, speed, engine, run, distance []float64 // by row, NaN unknown; nil if there is none
}

// witnesses gathers them, in SI units as far as the names give units.
func (l *layout) witnesses(rows []row) witnesses {
	var w witnesses
	want := map[string]*[]float64{"coolant": &w.coolant, "road-speed": &w.speed, "engine-speed": &w.engine, "run-time": &w.run, "distance": &w.distance}
	usual := map[string]float64{"coolant": 1, "road-speed": 1 / 3.6, "engine-speed": 1.0 / 60, "run-time": 1, "distance": 1000}
	put := func(word string, r int, x float64, u unit) {
		to := want[word]
		if *to == nil {
			*to = make([]float64, len(rows))
			for i := range *to {
				(*to)[i] = nan
			}
		}
		scale := usual[word]
		if u.dim != dimNone {
			scale = u.scale
		}
		(*to)[r] = x * scale
	}
	if l.long {
		for i, r := range rows {
			name, u := splitUnit(r.text(l.nameCol))
			word, _ := meaning(name)
			if want[word] == nil || l.valueCol >= len(r.cells) {
				continue
			}
			if x, _, k := readCell(r.cells[l.valueCol], l.mark); k == cellNumber {
				put(word, i, x, u)
			}
		}
		return w
	}
	best := map[string]int{}
	for c := range l.count {
		name, u := splitUnit(l.headerAt(c))
		word, score := meaning(name)
		if want[word] == nil || score <= best[word] {
			continue
		}
		best[word] = score
		*want[word] = nil
		for i, r := range rows {
			if c < len(r.cells) {
				if x, _, k := readCell(r.cells[c], l.mark); k == cellNumber {
					put(word, i, x, u)
				}
			}
		}
	}
	return w
}

// judgeClock runs the sample under one clock and sees what car that makes.
func (l *layout) judgeClock(r *clockReading, rows []row, see witnesses, whole bool) {
	at, restarts := l.timesUnder(r, rows)
	r.rows = len(rows)
	known := stat.Known(at)
	if len(known) < 2 {
		r.score -= 20
		return
	}
	r.lasts = known[len(known)-1] - known[0]
	r.step = r.lasts / float64(len(known)-1)
	if l.long { // a row is one reading of several
		names := map[string]bool{}
		for _, row := range rows[:min(len(rows), 400)] {
			names[row.text(l.nameCol)] = true
		}
		r.step *= float64(max(1, len(names)))
	}
	r.rhythm = stepScore(r.step) + lengthScore(r.lasts, whole) - math.Min(1.5*float64(restarts), 9)
	r.score += r.rhythm + ticksScore(l, r, rows)
	cost, why := carUnder(at, see, r)
	r.score -= cost
	r.wrong = why
}

// timesUnder is the time of each row of the sample in s, NaN where it has none,
// and how often the clock begins again.
func (l *layout) timesUnder(r *clockReading, rows []row) (at []float64, restarts int) {
	saved := l.clock
	l.clock = r.clockColumn
	defer func() { l.clock = saved }()
	if a, ok := l.findTicks(rows, &r.clockColumn); ok {
		r.said = append(r.said, a)
		l.clock = r.clockColumn
	}
	var t timer
	t.set(l)
	q := sequence{kind: l.clock.kind, dated: l.clock.date >= 0 || l.clock.epoch, long: l.long, tick: l.clock.tick, perTick: l.clock.perTick}
	out := make([]float64, len(rows))
	for i, row := range rows {
		out[i] = nan
		if raw, ok := t.raw(row.cells); ok {
			q.dated = q.dated || t.dated
			if s, ok := q.at(raw, row.line); ok {
				out[i] = s
			}
		}
	}
	return out, len(q.restarts)
}

// stepScore is how likely loggers write rows so far apart; judgement.
func stepScore(step float64) float64 {
	switch {
	case step < 5e-4:
		return -8
	case step < 5e-3:
		return -4
	case step < 0.02:
		return -1
	case step <= 12:
		return 0
	case step <= 30:
		return -1
	case step <= 120:
		return -3.5
	}
	return -7
}

// lengthScore is how likely logs of that length are kept; judgement.
func lengthScore(lasts float64, whole bool) float64 {
	switch {
	case whole && lasts < 20:
		return -4
	case whole && lasts < 120:
		return -1.5
	case lasts > 24*3600:
		return -4
	case lasts > 8*3600:
		return -1
	}
	return 0
}

// ticksScore prefers the clock that tells rows apart.
func ticksScore(l *layout, r *clockReading, rows []row) float64 {
	if r.apart {
		return 0
	}
	look := l.timeLike(rows, r.time)
	return 1.5 * math.Log10(float64(max(look.distinct, 1))/float64(max(look.n, 1)))
}

// carUnder is what speaks against the car that a clock makes, in units of
// natural logarithm, and the weightiest reason in words ("" if a car can exist). The
// scores are judgement.
func carUnder(at []float64, see witnesses, r *clockReading) (cost float64, why string) {
	against := func(c float64, format string, args ...any) {
		if cost += c; c >= 6 && why == "" {
			why = fmt.Sprintf(format, args...)
		}
	}
	if rate, by := warming(at, see.coolant); by >= 15 {
		switch {
		case rate > warmsMost:
			against(12, "coolant would move by %.0f K at %.0f K a minute", by, rate*60)
		case rate > warmsFast:
			against(2, "")
		}
	}
	if a := meanChange(at, see.speed, 0.5); a > speedsMost {
		against(10, "the car would speed up or slow down by %.1f m/s² on average", a)
	}
	if a := meanChange(at, see.engine, 1); a > revsMost {
		against(8, "engine speed would change by %.0f rpm in a second on average", a*60)
	}
	if s := shortestChange(at, see.speed); s > changeLasts {
		against(3*math.Log(s/changeLasts), "the car would never take less than %.0f s to change its speed by 18 km/h", s)
	}
	if s := warmingFrom40(at, see.coolant); s > warmsSlow {
		against(6*math.Log(s/warmsSlow)+2, "the engine would take %.1f h from 40 to 70 °C", s/3600)
	}
	if went, told := wentAgainst(at, see); went > 500 && told > 500 {
		switch ratio := told / went; {
		case ratio < 0.2 || ratio > 5:
			against(7, "the car would go %.1f km where the distance says %.1f km", went/1000, told/1000)
		case ratio > 0.8 && ratio < 1.25:
			cost -= 2
		}
	}
	if r.word != "run-time" && see.run != nil {
		switch ratio := ratioOf(at, see.run); {
		case ratio > 0.93 && ratio < 1.07:
			cost -= 2
		case !math.IsNaN(ratio) && (ratio < 0.5 || ratio > 2):
			against(2.5, "")
		}
	}
	return cost, why
}
