package trace

import (
	"fmt"
	"math"

	"weephole/trace/internal/stat"
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
	lim := &clocks().Fit
	r.rows = len(rows)
	known := stat.Known(at)
	if len(known) < 2 {
		r.score += lim.EmptyScore.Value
		return
	}
	r.lasts = known[len(known)-1] - known[0]
	r.step = r.lasts / float64(len(known)-1)
	if l.long { // a row is one reading of several
		names := map[string]bool{}
		for _, row := range rows[:min(len(rows), int(lim.NamesRows.Value))] {
			names[row.text(l.nameCol)] = true
		}
		r.step *= float64(max(1, len(names)))
	}
	// A step cannot be too close and too far at once.
	steps := scoreOf(clocks().Closer, r.step, false) + scoreOf(clocks().Farther, r.step, true)
	r.rhythm = steps + lengthScore(r.lasts, whole) - math.Min(lim.RestartCost.Value*float64(restarts), lim.RestartsCost.Value)
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

// lengthScore is how likely logs of that length are kept.
func lengthScore(lasts float64, whole bool) float64 {
	if whole {
		if s := scoreOf(clocks().Shorter, lasts, false); s != 0 {
			return s
		}
	}
	return scoreOf(clocks().Longer, lasts, true)
}

// ticksScore prefers the clock that tells rows apart.
func ticksScore(l *layout, r *clockReading, rows []row) float64 {
	if r.apart {
		return 0
	}
	look := l.timeLike(rows, r.time)
	return clocks().Fit.TicksScore.Value * math.Log10(float64(max(look.distinct, 1))/float64(max(look.n, 1)))
}

// carUnder is what speaks against the car that a clock makes, in units of
// natural logarithm, and the weightiest reason in words ("" if a car can exist).
func carUnder(at []float64, see witnesses, r *clockReading) (cost float64, why string) {
	lim := &clocks().Car
	against := func(c float64, format string, args ...any) {
		if cost += c; c >= lim.ReasonFrom.Value && why == "" {
			why = fmt.Sprintf(format, args...)
		}
	}
	if rate, by := warming(at, see.coolant); by >= lim.WarmsBy.Value {
		switch {
		case rate > lim.WarmsMost.Value:
			against(lim.WarmsMostCost.Value, "coolant would move by %.0f K at %.0f K a minute", by, rate*60)
		case rate > lim.WarmsFast.Value:
			against(lim.WarmsFastCost.Value, "")
		}
	}
	if a := meanChange(at, see.speed, lim.SpeedStep.Value); a > lim.SpeedsMost.Value {
		against(lim.SpeedsMostCost.Value, "the car would speed up or slow down by %.1f m/s² on average", a)
	}
	if a := meanChange(at, see.engine, lim.RevsStep.Value); a > lim.RevsMost.Value {
		against(lim.RevsMostCost.Value, "engine speed would change by %.0f rpm in a second on average", a*60)
	}
	if s := shortestChange(at, see.speed); s > lim.ChangeLasts.Value {
		against(lim.ChangeLastsCost.Value*math.Log(s/lim.ChangeLasts.Value), "the car would never take less than %.0f s to change its speed by 18 km/h", s)
	}
	if s := warmingFrom40(at, see.coolant); s > lim.WarmsSlow.Value {
		against(lim.WarmsSlowMore.Value*math.Log(s/lim.WarmsSlow.Value)+lim.WarmsSlowCost.Value, "the engine would take %.1f h from 40 to 70 °C", s/3600)
	}
	if went, told := wentAgainst(at, see); went > lim.WayLeast.Value && told > lim.WayLeast.Value {
		switch ratio := told / went; {
		case ratio < 1/lim.WayOff.Value || ratio > lim.WayOff.Value:
			against(lim.WayOffCost.Value, "the car would go %.1f km where the distance says %.1f km", went/1000, told/1000)
		case ratio > 1/lim.WayAgrees.Value && ratio < lim.WayAgrees.Value:
			cost -= lim.WayAgreesScore.Value
		}
	}
	if r.word != "run-time" && see.run != nil {
		switch ratio := ratioOf(at, see.run); {
		case ratio > lim.RunTimeLeast.Value && ratio < lim.RunTimeMost.Value:
			cost -= lim.RunTimeAgreesScore.Value
		case !math.IsNaN(ratio) && (ratio < 1/lim.RunTimeOff.Value || ratio > lim.RunTimeOff.Value):
			against(lim.RunTimeOffCost.Value, "")
		}
	}
	return cost, why
}
