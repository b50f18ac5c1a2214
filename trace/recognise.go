package trace

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"

	"weephole/trace/internal/stat"
)

// found is a column on its way to a signal.
type found struct {
	col    int
	name   string // without its unit
	unit   unit   // zero if the log gives none
	word   string // a signal's word or another of names.csv
	score  int
	values []float64 // by row, as logged
	forced bool
	how    string
	signal Signal
	used   bool
	mended string // the name with its slip of spelling mended, "" if it has none
}

// recognise decides which column is which signal and puts it into SI units.
func (g *gatherer) recognise(t *Trace, o ReadOptions) error {
	cols := g.candidates()
	if err := g.force(cols); err != nil {
		return err
	}
	g.byName(cols)
	g.byNumbers(cols)
	t.Step = g.tab.step
	t.Time = make([]float64, len(g.tab.bins))
	for i, b := range g.tab.bins {
		t.Time[i] = float64(b-g.tab.bins[0]) * g.tab.step
	}
	g.time = t.Time
	t.Signals = map[Signal][]float64{}
	for _, c := range cols {
		if !c.used {
			continue
		}
		t.Signals[c.signal] = g.toSI(c, cols)
	}
	t.Drives = g.drives(t.Time)
	if err := g.judgeCoolant(t, cols); err != nil {
		return err
	}
	g.doubtSpeed(t, cols)
	g.doubtOthers(t)
	g.doubtTogether(t)
	for s, x := range t.Signals {
		t.Signals[s] = bridge(t.Time, x, s)
	}
	if o.AmbientKnown {
		x := make([]float64, len(t.Time))
		for i := range x {
			x[i] = o.Ambient
		}
		t.Signals[Ambient] = x
		g.say(Assumption{What: fmt.Sprintf("outside it is %.0f °C", o.Ambient), Why: "it was given"})
	}
	for _, c := range cols {
		how := c.how
		if how == "" {
			how = "not used"
		}
		t.Columns = append(t.Columns, Column{Number: c.col + 1, Name: g.names[c.col], Unit: c.unit.name, Signal: c.signal, Used: c.used, How: how})
	}
	t.Assumed = g.assumed
	return nil
}

// candidates are all columns that hold numbers.
func (g *gatherer) candidates() []*found {
	var cols []*found
	for i, c := range g.tab.cols {
		if i >= len(g.names) || (!g.lay.long && (i == g.lay.clock.time && g.lay.clock.kind != timeNone || i == g.lay.clock.date)) {
			continue
		}
		f := &found{col: i}
		f.name, f.unit = splitUnit(g.names[i])
		if u, ok := unitOf(g.lay.unitAt(i)); ok && !g.lay.long {
			f.unit = u
		}
		best := 0
		for s, n := range c.units { // behind the values, the most frequent
			if u, ok := unitOf(s); ok && n > best {
				f.unit, best = u, n
			}
		}
		var mended string
		f.word, f.score, mended = meaningOf(f.name)
		if f.word == "" || mended != "" { // "Engine RPM" is a name, though it ends in a unit
			if w, s := meaning(g.names[i]); w != "" {
				f.word, f.score, mended = w, s, ""
			}
		}
		if mended != "" && isSignalWord(f.word) {
			f.mended = mended
		}
		if whole, ok := unitOf(g.names[i]); ok && f.unit.dim == dimNone {
			f.unit = whole // a column called "RPM" or "km/h"
		}
		if f.word == "" && !denied(g.names[i]) {
			f.word, f.score = wordOfUnit(f.unit)
		}
		if c.seen > 0 {
			f.values = g.tab.means(c)
		}
		cols = append(cols, f)
	}
	return cols
}

// wordOfUnit is the signal that a unit alone reveals.
func wordOfUnit(u unit) (string, int) {
	switch u.dim {
	case dimRotation:
		return EngineSpeed.String(), 1
	case dimSpeed:
		return RoadSpeed.String(), 1
	}
	return "", 0
}

// force obeys --map.
func (g *gatherer) force(cols []*found) error {
	keys := make([]string, 0, len(g.m.of))
	for k := range g.m.of {
		keys = append(keys, k)
	}
	sort.Strings(keys)
	for _, word := range keys {
		if word == "time" {
			continue
		}
		to := g.m.of[word]
		i := findColumn(to.column, g.names, len(g.names))
		if i == unknownColumn {
			return &lineError{g.lay.head + 1, fmt.Sprintf("%s: there is no such column; %sthe columns are %s", g.m.said(word, to.column), hint(to.column, withoutUnits(g.names)), listOf(g.names))}
		}
		for _, c := range cols {
			if c.col != i {
				continue
			}
			if word == "ignore" {
				c.values = nil
				c.how = "not used, by --map"
				continue
			}
			s, _ := SignalOf(word)
			if c.values == nil {
				return &lineError{g.lay.first + 1, fmt.Sprintf("%s: that column holds no numbers", g.m.said(word, to.column))}
			}
			if u, ok := unitOf(to.unit); ok {
				if !u.fits(s) {
					return fmt.Errorf("%s: %s is not measured in %s", g.m.said(word, to.column+"@"+to.unit), s, u.name)
				}
				c.unit = u
			} else if c.unit.dim != dimNone && !c.unit.fits(s) {
				c.unit = unit{}
			}
			c.signal, c.used, c.forced, c.how = s, true, true, "by --map"
		}
	}
	return nil
}

// withoutUnits are the names as people would type them.
func withoutUnits(names []string) []string {
	out := make([]string, len(names))
	for i, n := range names {
		out[i], _ = splitUnit(n)
	}
	return out
}

func listOf(names []string) string {
	var s []string
	for i, n := range names {
		if n != "" {
			s = append(s, fmt.Sprintf("#%d %q", i+1, clip(n, 40)))
		}
		if len(s) == 12 {
			s = append(s, "…")
			break
		}
	}
	return strings.Join(s, ", ")
}

// byName gives each signal the column whose name says it most plainly.
func (g *gatherer) byName(cols []*found) {
	taken := map[Signal]bool{}
	for _, c := range cols {
		if c.used {
			taken[c.signal] = true
		}
	}
	for s := range numSignals {
		if taken[s] {
			continue
		}
		var best *found
		for _, c := range cols {
			if c.used || c.values == nil || c.word != s.String() {
				continue
			}
			if c.unit.dim != dimNone && !c.unit.fits(s) {
				g.say(Assumption{What: fmt.Sprintf("it is not taken as %s", s), Where: g.columnName(c.col), Why: fmt.Sprintf("it is in %s", c.unit.name)})
				continue
			}
			if best == nil || better(c, best) {
				best = c
			}
		}
		if best != nil {
			best.signal, best.used, best.how = s, true, "by name"
			if best.mended != "" {
				g.say(Assumption{What: fmt.Sprintf("its name is read as %q", best.mended), Where: g.columnName(best.col), Why: "it looks misspelt", Doubt: true})
			}
		}
	}
}

// better prefers the plainer name, then the column that was read more often.
func better(a, b *found) bool {
	if (a.unit.dim != dimNone) != (b.unit.dim != dimNone) && a.score+4 > b.score && b.score+4 > a.score {
		return a.unit.dim != dimNone // of two names alike, the one with a unit
	}
	if a.score != b.score {
		return a.score > b.score
	}
	return len(stat.Known(a.values)) > len(stat.Known(b.values))*3/2
}

func (g *gatherer) columnName(i int) string {
	if g.lay.long {
		return clip(g.names[i], 40)
	}
	return g.lay.nameOf(i)
}

// drives splits at silences and at new starts.
func (g *gatherer) drives(time []float64) []Drive {
	first := float64(g.tab.bins[0]) * g.tab.step
	var d []Drive
	from, knownGap, lim := 0, true, &clocks().Drives
	for i := 1; i < len(time); i++ {
		unknown := false
		for _, at := range g.seq.restarts {
			if at -= first; time[i-1] < at-g.tab.step && at-g.tab.step <= time[i] {
				unknown = true
			}
		}
		if !unknown && time[i]-time[i-1] <= math.Max(lim.Break.Value, lim.BreakSteps.Value*g.tab.step) {
			continue
		}
		d = append(d, Drive{From: from, To: i, GapKnown: knownGap})
		from, knownGap = i, !unknown
		if !unknown {
			g.say(Assumption{What: "a new drive begins", Where: fmt.Sprintf("%.0f min after the first row", time[i]/60), Why: fmt.Sprintf("the log is silent for %.0f min", (time[i]-time[i-1])/60)})
		}
	}
	return append(d, Drive{From: from, To: len(time), GapKnown: knownGap})
}

// longest silences within a drive over which a signal is carried on, in s: what
// has mass keeps its course, what the driver does with his foot does not.
// Judgement.
func bridged(s Signal) float64 {
	switch s {
	case Ambient, Barometer:
		return 1e9
	case Coolant, OilTemp, HeadTemp, IntakeAir:
		return 60
	}
	return 15
}

// bridge fills short silences by a straight line.
func bridge(time, x []float64, s Signal) []float64 {
	last := -1
	limit := bridged(s)
	for i := range x {
		if math.IsNaN(x[i]) {
			continue
		}
		if last >= 0 && i > last+1 && time[i]-time[last] <= limit {
			for k := last + 1; k < i; k++ {
				f := (time[k] - time[last]) / (time[i] - time[last])
				x[k] = x[last]*(1-f) + x[i]*f
			}
		}
		last = i
	}
	return x
}

// keep cuts the trace down to one drive, if one was asked for.
func (t *Trace) keep(drive int) (*Trace, error) {
	if drive == 0 {
		return t, nil
	}
	if drive < 0 || drive > len(t.Drives) {
		return nil, fmt.Errorf("drive %d was asked for, and the log holds %d; write a number from 1 to %d", drive, len(t.Drives), len(t.Drives))
	}
	d := t.Drives[drive-1]
	first := t.Time[d.From]
	t.Time = slices.Clone(t.Time[d.From:d.To])
	for i := range t.Time {
		t.Time[i] -= first
	}
	for s, x := range t.Signals {
		t.Signals[s] = x[d.From:d.To]
	}
	if len(stat.Known(t.Signals[Coolant])) == 0 {
		return nil, errors.New("that drive holds no coolant temperature")
	}
	t.Drives = []Drive{{From: 0, To: len(t.Time), GapKnown: true}}
	return t, nil
}
