package events

import (
	"math"

	"weephole/trace"
	"weephole/trace/internal/contact"
	"weephole/trace/internal/stat"
)

const readingStep = 0.29 // K, standard uncertainty of a whole-degree reading (1/sqrt(12))

// InLog finds what the log shows. Of several drives it takes the one that
// began coldest, which has the warm-up; see InDrives for each.
func InLog(t *trace.Trace) Events {
	all := InDrives(t)
	return all[coldest(all)]
}

// MainDrive is the index of the drive that InLog tells of.
func MainDrive(t *trace.Trace) int { return coldest(InDrives(t)) }

func coldest(all []Events) int {
	best := 0
	for i, e := range all {
		if e.Verdict == NoCoolant {
			continue
		}
		b := all[best]
		if b.Verdict == NoCoolant || (e.Start.C < b.Start.C-10 && e.Duration > 120) {
			best = i
		}
	}
	return best
}

// InDrives finds what each drive of the log shows.
func InDrives(t *trace.Trace) []Events {
	out := make([]Events, len(t.Drives))
	for i, d := range t.Drives {
		out[i] = inDrive(t, d)
	}
	return out
}

// run is one drive being looked at.
type run struct {
	time   []float64
	raw    []float64 // coolant as read
	c      []float64 // jumps masked and bridged
	s      []float64 // smoothed
	v, n   []float64 // nil if unknown
	fan    []float64
	on     []bool // engine running
	h      balance
	events *Events
}

func inDrive(t *trace.Trace, d trace.Drive) Events {
	lim := limits()
	e := Events{Verdict: NoCoolant, Why: "the drive holds no coolant temperature", MaxC: Estimate{nan, nan}, Ambient: Estimate{nan, nan}, EndC: nan}
	cool := t.Signals[trace.Coolant]
	if d.To-d.From < 3 || cool == nil || len(stat.Known(cool[d.From:d.To])) < 3 {
		return e
	}
	r := &run{time: t.Time[d.From:d.To], raw: cool[d.From:d.To], events: &e}
	part := func(s trace.Signal) []float64 {
		if x := t.Signals[s]; x != nil && len(stat.Known(x[d.From:d.To]))*4 > d.To-d.From {
			return x[d.From:d.To]
		}
		return nil
	}
	r.v, r.n, r.fan = part(trace.RoadSpeed), part(trace.EngineSpeed), part(trace.FanState)
	if r.fan == nil {
		r.fan = part(trace.FanCommand)
	}
	r.findJumps()
	r.s = smooth(r.time, r.c, lim.SmoothOver.Value)
	r.on = make([]bool, len(r.time))
	for i := range r.on {
		// Without engine speed the engine is taken to run.
		r.on[i] = r.n == nil || math.IsNaN(r.n[i]) || r.n[i] >= trace.StoppedRevs
	}
	e.Duration = r.time[len(r.time)-1] - r.time[0]
	r.findStart()
	e.Ambient = outside(t, d, e.Start)
	r.h = heatOf(t, d.From, d.To, e.Ambient)
	r.findStops()
	for i, c := range r.c {
		if !math.IsNaN(c) {
			if !(c <= e.MaxC.Value) {
				e.MaxC, e.MaxAt = Estimate{c, readingStep}, r.time[i]
			}
			e.EndC = c
		}
	}
	open := r.findOpening()
	r.findWarmUp(open)
	r.findPlateau(open)
	r.findFan()
	r.findClimbs()
	r.findBoiling()
	until, target := len(r.time), openingC
	if e.Opening != nil {
		until, target = open, e.Opening.C.Value
	}
	e.Heat = r.h.totals(r.time, r.c, until, e.Start.C, target)
	r.judge()
	return e
}

// outside is the ambient temperature: as logged, or the coolest of what must
// have been near it at the start.
func outside(t *trace.Trace, d trace.Drive, s *Start) Estimate {
	if x := t.Signals[trace.Ambient]; x != nil {
		if k := stat.Known(x[d.From:d.To]); len(k) > 0 {
			return Estimate{stat.Quantile(k, 0.5), 2}
		}
	}
	guess := Estimate{15, 12} // degC; judgement: a year of workshop weather
	if x := t.Signals[trace.IntakeAir]; x != nil {
		if k := stat.Known(x[d.From:d.To]); len(k) > 0 {
			guess = Estimate{stat.Quantile(k, 0.05), 6}
		}
	}
	if !s.Hot && s.C < 35 && !(guess.Value < s.C && guess.Sigma < 12) {
		guess = Estimate{s.C - 2, 5} // a cold engine is as warm as its garage, or a little warmer
	}
	return guess
}

// findJumps takes the loose contact's readings out and notes the steps.
func (r *run) findJumps() {
	r.c, r.events.Contact = Clean(r.time, r.raw)
	if r.events.Contact.Jumps == 0 {
		return
	}
	last := -1
	for i, c := range r.raw {
		if math.IsNaN(c) {
			continue
		}
		if last >= 0 && contact.Leaps(r.raw[last], c, r.time[i]-r.time[last]) {
			r.events.Jumps = append(r.events.Jumps, Jump{At: r.time[i], FromC: r.raw[last], ToC: c, Seconds: r.time[i] - r.time[last]})
		}
		last = i
	}
}

// smooth is the mean over a window of the given width around each row.
func smooth(time, x []float64, width float64) []float64 {
	out := make([]float64, len(x))
	lo, hi, sum, n := 0, 0, 0.0, 0
	for i := range x {
		for hi < len(x) && time[hi] <= time[i]+width/2 {
			if !math.IsNaN(x[hi]) {
				sum += x[hi]
				n++
			}
			hi++
		}
		for time[lo] < time[i]-width/2 {
			if !math.IsNaN(x[lo]) {
				sum -= x[lo]
				n--
			}
			lo++
		}
		if out[i] = nan; n > 0 {
			out[i] = sum / float64(n)
		}
	}
	return out
}

func (r *run) findStart() {
	lim := limits()
	at := 0
	for i := range r.on {
		if r.on[i] {
			at = i
			break
		}
	}
	s := &Start{At: Estimate{r.time[at], 1}, C: nan, Running: at == 0 && (r.n == nil || !math.IsNaN(r.n[0]) && r.n[0] > trace.StoppedRevs)}
	for i := at; i < len(r.c); i++ {
		if !math.IsNaN(r.c[i]) {
			s.C = r.c[i]
			break
		}
	}
	if s.Running {
		s.At.Sigma = 30 // the log begins some time after the key; judgement
	}
	s.Hot = s.C >= lim.HotStart.Value
	r.events.Start = s
}

// findWarmUp measures the rise through its middle: from 10 K above the start to
// 10 K below its end, where neither cold iron nor the opening bends it.
func (r *run) findWarmUp(open int) {
	e := r.events
	if e.Start.Hot {
		return
	}
	end := open
	if end < 0 {
		for i := range r.s {
			if end < 0 || r.s[i] > r.s[end] || math.IsNaN(r.s[end]) {
				end = i
			}
		}
	}
	top := r.s[max(end, 0)]
	if end < 1 || top-e.Start.C < 12 {
		return
	}
	from, to := -1, end
	for i := 0; i < end; i++ {
		if from < 0 && r.s[i] >= e.Start.C+math.Min(10, (top-e.Start.C)/4) {
			from = i
		}
		if r.s[i] <= top-math.Min(10, (top-e.Start.C)/4) {
			to = i
		}
	}
	if from < 0 || to-from < 5 {
		return
	}
	_, rate, sigma := stat.Line(r.time[from:to+1], r.s[from:to+1], limits().LineApart.Value)
	e.WarmUp = &WarmUp{Span: Span{r.time[from], r.time[to]}, FromC: r.s[from], ToC: r.s[to], Rate: Estimate{rate, sigma}}
}

// findPlateau measures the hold after the opening, engine running.
func (r *run) findPlateau(open int) {
	lim := limits()
	e := r.events
	from := 0
	switch {
	case open >= 0:
		from = r.ahead(open, lim.Settle.Value)
	case !e.Start.Hot:
		return
	}
	var hold []float64
	last := from
	for i := from; i < len(r.c); i++ {
		if r.on[i] && !math.IsNaN(r.c[i]) {
			hold = append(hold, r.c[i])
			last = i
		}
	}
	if r.time[last]-r.time[from] < 60 || len(hold) < 5 {
		return
	}
	k := stat.Known(hold)
	sd := stat.Deviation(hold)
	e.Plateau = &Plateau{Span: Span{r.time[from], r.time[last]}, C: Estimate{stat.Quantile(k, 0.5), math.Hypot(readingStep, sd/math.Sqrt(math.Max(1, (r.time[last]-r.time[from])/60)))}, Spread: sd, LowC: stat.Quantile(k, 0.1), TopC: stat.Quantile(k, 0.9)}
	if e.Opening != nil {
		e.Opening.Overshoot = e.Opening.PeakC - e.Plateau.C.Value
	}
}
