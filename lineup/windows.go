package lineup

import (
	"math"

	"weephole/sheet"
)

// A log is weighed by what its stretches of some minutes say: the mean of each
// and the spread within it, top less bottom. Point by point a fan that cycles
// out of step with the model's, or a valve that hunts, would count as evidence
// against every engine that cycles at all; minutes long, only what lasts counts.

// window is one stretch of the log's readings.
type window struct {
	from, to int
	spread   float64 // K, of the log's coolant; NaN where it has too few readings
}

// cut divides a log's coolant readings, degC, taken every step seconds and NaN
// in gaps, into windows of about so many seconds each. A window needs the share `least` of its
// readings to tell a spread.
func cut(coolant []float64, step, seconds, least float64) []window {
	n := max(1, int(math.Round(step*float64(len(coolant))/seconds)))
	list := make([]window, 0, n)
	for i := range n {
		w := window{from: i * len(coolant) / n, to: (i + 1) * len(coolant) / n, spread: math.NaN()}
		top, bottom, have := math.Inf(-1), math.Inf(1), 0
		for _, c := range coolant[w.from:w.to] {
			if !math.IsNaN(c) {
				top, bottom, have = math.Max(top, c), math.Min(bottom, c), have+1
			}
		}
		if have > 0 && float64(have) >= least*float64(w.to-w.from) {
			w.spread = top - bottom
		}
		list = append(list, w)
	}
	return list
}

// hottest is the highest mean of a window, degC.
func hottest(windows []window, coolant []float64) float64 {
	top := math.Inf(-1)
	for _, w := range windows {
		sum, n := 0.0, 0.0
		for _, c := range coolant[w.from:w.to] {
			if !math.IsNaN(c) {
				sum, n = sum+c, n+1
			}
		}
		if n > 0 {
			top = math.Max(top, sum/n)
		}
	}
	return top
}

// misses appends, for every window, by how much the log's mean lies above the
// candidate's, K, and then for every window by how much the log's spread does.
// The candidate's reading swings by so much to either side. Only where the log has
// a reading is the candidate looked at.
func misses(windows []window, coolant, candidate, swings, into []float64) []float64 {
	for _, w := range windows {
		sum, n := 0.0, 0.0
		for i := w.from; i < w.to; i++ {
			if !math.IsNaN(coolant[i]) {
				sum, n = sum+coolant[i]-candidate[i], n+1
			}
		}
		if math.IsNaN(w.spread) {
			n = 0
		}
		into = append(into, sum/n)
	}
	for _, w := range windows {
		top, bottom := math.Inf(-1), math.Inf(1)
		for i := w.from; i < w.to; i++ {
			if !math.IsNaN(coolant[i]) {
				top, bottom = math.Max(top, candidate[i]+swings[i]), math.Min(bottom, candidate[i]-swings[i])
			}
		}
		into = append(into, w.spread-(top-bottom))
	}
	return into
}

// windowModel is how a right model's windows depart from a real log's: the
// means wander slowly and have noise of their own (ErrorModel), the spreads are
// independent normals of standard deviation SpreadSD, K.
type windowModel struct {
	means    ErrorModel
	spreadSD float64
	step     float64 // s from window to window
}

func (m windowModel) times(f float64) windowModel {
	m.means.ModelSD *= f
	m.spreadSD *= f
	return m
}

// logLikelihood is the log density of misses: the means first, then the spreads.
func (m windowModel) logLikelihood(misses []float64) float64 {
	n := len(misses) / 2
	sum := m.means.LogLikelihood(misses[:n], m.step)
	for _, d := range misses[n:] {
		if !math.IsNaN(d) {
			u := d / m.spreadSD
			sum -= 0.5*(u*u+math.Log(2*math.Pi)) + math.Log(m.spreadSD)
		}
	}
	return sum
}

// whiten writes misses as independent standard normals, were the model right.
func (m windowModel) whiten(misses []float64) []float64 {
	n := len(misses) / 2
	out := m.means.Whiten(misses[:n], m.step, make([]float64, 0, len(misses)))
	for _, d := range misses[n:] {
		u := 0.0
		if !math.IsNaN(d) {
			u = d / m.spreadSD
		}
		out = append(out, u)
	}
	return out
}

// grade is one of the error models that a run may have, with its log share.
type grade struct {
	logShare float64
	model    windowModel
}

// grades are how well a model may fit a run: how far it errs differs from car
// to car and from run to run.
func grades(s *Settings, m windowModel) []grade {
	var list []grade
	for _, g := range []struct{ times, share sheet.Sourced }{
		{s.TraceFineTimes, s.TraceFineShare}, {s.TraceMiddleTimes, s.TraceMiddleShare}, {s.TraceRoughTimes, s.TraceRoughShare},
	} {
		list = append(list, grade{math.Log(g.share.Value), m.times(g.times.Value)})
	}
	return list
}

// StrangeLog is a log that hardly any engine of the lineup could have made: of
// another car, or with a column or unit taken for another.
type StrangeLog struct {
	Finding int     `json:"finding"` // 1 is the first event
	What    string  `json:"what"`
	Chance  float64 `json:"chance"`  // that the log is not what it is said to be, 0..1
	ApartK  float64 `json:"apart_k"` // K between the log and the engines that come closest, in the worst window
}

// strangeLogs finds the logs that the alternative for wrong logs explains better
// than the engines do.
func (l *Lineup) strangeLogs() (list []StrangeLog) {
	p, at := l.pop, 0
	for j := range l.evidence {
		e := &l.evidence[j]
		at += len(e.readings)
		if e.log == nil {
			continue
		}
		n := 2 * len(e.log.windows)
		chance, apart := 0.0, 0.0
		row := make([]float64, n)
		for i, w := range p.weights {
			if w == 0 || len(p.misfit[i]) < at+n {
				continue
			}
			worst := 0.0
			for k := range row {
				row[k] = float64(p.misfit[i][at+k])
				if k < n/2 && !math.IsNaN(row[k]) {
					worst = math.Max(worst, math.Abs(row[k]))
				}
			}
			chance += w * e.log.strange(row)
			apart += w * worst
		}
		if chance > l.model.Settings.TraceStrange.Value {
			list = append(list, StrangeLog{Finding: e.finding(), What: e.label, Chance: chance, ApartK: apart})
		}
		at += n
	}
	return list
}

// strange is the chance that the log is not what it is said to be, given what
// one engine misses.
func (r *replay) strange(misses []float64) float64 {
	fits, astray := r.either(misses)
	return 1 / (1 + math.Exp(fits-astray))
}
