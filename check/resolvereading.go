package check

import (
	"weephole/cause"
	"weephole/circuit"
	"weephole/sheet"
)

// minuteSeconds is the length of a minute, in which the circuit gives times.
const minuteSeconds = 60

// reading resolves a number that a check gives.
func (r *resolver) reading(m *ReadingModel) {
	m.scale, m.fromOf, m.traits = 1, 1, r.traits
	known := false
	var units, dimensions []string
	for _, w := range whats {
		dimensions = append(dimensions, w.what)
		if w.what != m.What {
			continue
		}
		units = append(units, w.unit)
		if w.unit == m.Error.Unit {
			m.scale, known = w.si, true
		}
	}
	switch {
	case len(units) == 0:
		r.word(m.At, "what", m.What, dimensions)
	case !known:
		r.word(m.At, "error.unit", m.Error.Unit, units)
	}
	if m.Place != "" {
		r.word(m.At, "place", m.Place, cause.Places())
	}
	if m.Error.SD <= 0 {
		r.bad(m.At, "error.sd", "found %g; it is above 0: no reading is exact", m.Error.SD)
	}
	r.share(m.At, "blunder.share", m.Blunder.Share)
	if m.Blunder.Share <= 0 {
		r.bad(m.At, "blunder.share", "found %g; it is above 0: everybody errs now and then", m.Blunder.Share)
	}
	if m.Blunder.Says != "" {
		r.bad(m.At, "blunder.says", "a reading's blunder says no word")
	}
	if m.Plausible[1] <= m.Plausible[0] {
		r.bad(m.At, "plausible", "found %v; write [lowest, highest]", m.Plausible)
		return
	}
	if m.Most != nil && (*m.Most <= m.Plausible[0] || *m.Most >= m.Plausible[1]) {
		r.bad(m.At, "most", "found %g; it lies within plausible, %v", *m.Most, m.Plausible)
	}
	m.evenly = 1 / (m.Plausible[1] - m.Plausible[0])
	m.of = r.observe(m.At, "of", m.Of)
	m.minus = r.observe(m.At, "minus", m.Minus)
	if m.of.ok {
		r.dimension(m)
		if len(m.Table) > 0 {
			r.bad(m.At, "shows", "a reading comes from an observable (\"of\") or from a table (\"shows\"), not from both")
		}
		return
	}
	if m.Of == "" {
		r.means(m)
	}
}

// dimension checks that the observable is of the reading's kind.
func (r *resolver) dimension(m *ReadingModel) {
	want := ""
	switch unit := m.of.is.Unit(); unit {
	case circuit.TemperatureC:
		want = "temperature"
		if m.minus.ok {
			want = "temperature-difference"
		}
	case circuit.TemperatureDifference:
		want = "temperature-difference"
	case circuit.PressurePa:
		want = "pressure"
	case circuit.Minutes:
		want = "duration"
		m.fromOf = minuteSeconds
	case circuit.Share:
		want = "share"
	default:
		r.bad(m.At, "of", "%s is in %s; no reading is", m.Of, unit)
		return
	}
	if m.minus.ok && m.minus.is.Unit() != m.of.is.Unit() {
		r.bad(m.At, "minus", "%s is in %s and %s in %s", m.Minus, m.minus.is.Unit(), m.Of, m.of.is.Unit())
	}
	if want != m.What {
		r.bad(m.At, "what", "found \"%s\", but %s is a %s", m.What, m.Of, want)
	}
}

// means resolves a reading's table of means.
func (r *resolver) means(m *ReadingModel) {
	m.rowsOf = make([][]int16, len(r.causes.Causes))
	healthy := false
	for i := range m.Table {
		row := &m.Table[i]
		mean, meanSlope := r.ends(row.At, "mean", row.Mean)
		spread, spreadSlope := r.ends(row.At, "spread", row.Spread)
		out := meanRow{mean: mean, meanSlope: meanSlope, spread: spread, spreadSlope: spreadSlope}
		if spread < 0 || spread+spreadSlope < 0 {
			r.bad(row.At, "spread", "found %v; a spread is 0 or more", row.Spread)
		}
		if len(row.Cause) == 0 {
			if healthy {
				r.bad(row.At, "cause", "a second row without a cause; the healthy engine has one")
			}
			healthy = true
			m.healthy = out
			continue
		}
		for _, id := range row.Cause {
			index, f, ok := r.fit(row.At, id, nil, row.States)
			if !ok {
				continue
			}
			out.fit = f
			m.rowsOf[index] = append(m.rowsOf[index], int16(len(m.rows)))
			m.rows = append(m.rows, out)
		}
	}
	if !healthy {
		r.bad(m.At, "shows", "the row without a cause (a healthy engine) is missing")
	}
}

// ends reads one number, or [mild, severe], as value at severity 0 and slope.
func (r *resolver) ends(at sheet.At, field string, n sheet.Numbers) (mild, slope float64) {
	switch len(n) {
	case 1:
		return n[0], 0
	case 2:
		return n[0], n[1] - n[0]
	}
	r.bad(at, field, "found %d numbers; write one, or [mild, severe]", len(n))
	return 0, 0
}

// sign resolves something an owner says.
func (r *resolver) sign(g *Sign) {
	if t := r.word(g.At, "trouble", g.Trouble, troubleWords[:]); t >= 0 {
		g.trouble = Trouble(t)
	}
	r.owner(g.At, g.Said, g.Mistaken)
	g.truth.traits = r.traits
	g.truth.alternatives = r.alternatives(g.Any)
	g.truth.reached = 1
	if g.Reached.Source != "" {
		g.truth.reached = g.Reached.Value
		r.share(g.At, "reached.value", g.Reached.Value)
	}
	g.truth.tabled = len(g.Table) > 0
	if g.truth.tabled {
		g.truth.table = r.table(g.At, g.Table, []string{"so", "not"}, true)
	}
	if len(g.Any) == 0 && !g.truth.tabled {
		r.bad(g.At, "", "say what makes it so: \"any\" or \"shows\"")
	}
}

func (r *resolver) owner(at sheet.At, said, mistaken sheet.Sourced) {
	if mistaken.Value <= 0 || said.Value >= 1 || mistaken.Value > said.Value {
		r.bad(at, "said", "found said %g and mistaken %g; they must lie between 0 and 1, said the larger", said.Value, mistaken.Value)
	}
}

func (r *resolver) alternatives(list []Alternative) [][]condition {
	var out [][]condition
	for _, a := range list {
		out = append(out, r.whens(a.All))
	}
	return out
}
