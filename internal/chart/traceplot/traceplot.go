// Package traceplot turns a trace and its events into a chart.
//
// Problem: the command line, the bench and the letter show the same picture of a
// log. Model: coolant against minutes, road speed as a faint dashed line on the
// coolant's own axis (scaled, and said so), events marked where they happen, any
// bands behind. Assumptions: the caller has picked the drives. Where it stops
// being true: a log of several days is better shown drive by drive. Sources: none.
package traceplot

import (
	"fmt"
	"math"

	"weephole/internal/chart"
	"weephole/quantity"
	"weephole/trace"
	"weephole/trace/events"
)

// Plot draws the coolant of t with its events; bands are in minutes and degC and
// come out in the units of u.
func Plot(t *trace.Trace, u quantity.Units, bands ...chart.Band) chart.Plot {
	s := shop{u.TemperatureIn == "°F", u}
	p := chart.Plot{Title: "Coolant: " + t.Name, X: chart.Axis{Label: "minutes"}, Y: chart.Axis{Label: "coolant, " + s.unit()}}
	minutes := make([]float64, len(t.Time))
	cool := make([]float64, len(t.Time))
	for i, at := range t.Time {
		minutes[i] = at / 60
		cool[i] = s.at(t.Signals[trace.Coolant][i])
	}
	// A silence breaks the line.
	var gaps []float64 // their ends, minutes
	for i := 1; i < len(t.Time); i++ {
		if t.Time[i]-t.Time[i-1] > 60+t.Step {
			cool[i-1] = math.NaN()
			gaps = append(gaps, minutes[i])
		}
	}
	for _, b := range bands {
		out := chart.Band{Name: b.Name}
		gap := 0 // of the log
		for i := range b.Low {
			broken := false
			for ; gap < len(gaps) && gaps[gap] <= b.X[i]; gap++ {
				broken = true
			}
			if broken && i > 0 { // nobody logged anything there: the band stops as the line does
				out.X, out.Low, out.High = append(out.X, b.X[i]), append(out.Low, math.NaN()), append(out.High, math.NaN())
			}
			out.X, out.Low, out.High = append(out.X, b.X[i]), append(out.Low, s.at(b.Low[i])), append(out.High, s.at(b.High[i]))
		}
		p.Bands = append(p.Bands, out)
	}
	p.Lines = append(p.Lines, chart.Curve{Name: "coolant", X: minutes, Y: cool, Accent: true})
	s.steady(&p)
	for i, e := range events.InDrives(t) {
		s.events(&p, e)
		if len(t.Drives) > 1 {
			p.Desc += fmt.Sprintf("Drive %d: ", i+1)
		}
		p.Desc += e.Summary(u) + ". "
	}
	return p
}

// Pair lays two logs over each other, each from the start of its engine: of each
// the drive that began coldest. The second is the accented one.
func Pair(a, b *trace.Trace, u quantity.Units) chart.Plot {
	s := shop{u.TemperatureIn == "°F", u}
	p := chart.Plot{Title: "Coolant: " + a.Name + " and " + b.Name, X: chart.Axis{Label: "minutes from the engine's start"}, Y: chart.Axis{Label: "coolant, " + s.unit()}}
	for i, t := range []*trace.Trace{a, b} {
		e := events.InLog(t)
		d := t.Drives[events.MainDrive(t)]
		from := t.Time[d.From]
		if e.Start != nil {
			from = e.Start.At.Value
		}
		clean, _ := events.Clean(t.Time[d.From:d.To], t.Signals[trace.Coolant][d.From:d.To])
		l := chart.Curve{Name: fmt.Sprintf("%c: %s", 'A'+i, t.Name), Dash: i == 0, Accent: i == 1}
		for k, c := range clean {
			l.X, l.Y = append(l.X, (t.Time[d.From+k]-from)/60), append(l.Y, s.at(c))
		}
		p.Lines = append(p.Lines, l)
		p.Desc += fmt.Sprintf("%c: %s. ", 'A'+i, e.Summary(u))
	}
	return p
}

// leastSpan is the least range of temperatures that a chart shows: a steady engine
// must not look like a wild one. Judgement: from a thermostat that opens to a fan that
// starts.
const leastSpan = 25.0 // K

// steady keeps the axis from making much of small changes.
func (s shop) steady(p *chart.Plot) {
	low, high := math.Inf(1), math.Inf(-1)
	see := func(list []float64) {
		for _, y := range list {
			if !math.IsNaN(y) {
				low, high = math.Min(low, y), math.Max(high, y)
			}
		}
	}
	for _, l := range p.Lines {
		see(l.Y)
	}
	for _, b := range p.Bands {
		see(b.Low)
		see(b.High)
	}
	span, step := s.at(leastSpan)-s.at(0), 10.0
	if more := span - (high - low); more > 0 && high >= low {
		p.Y.Min, p.Y.Max = math.Floor((low-more/2)/step)*step, math.Ceil((high+more/2)/step)*step
	}
}

type shop struct {
	fahrenheit bool
	units      quantity.Units
}

func (s shop) unit() string {
	if s.fahrenheit {
		return "°F"
	}
	return "°C"
}

func (s shop) at(c float64) float64 {
	if s.fahrenheit {
		return quantity.Celsius(c).Fahrenheit()
	}
	return c
}

func (s shop) text(c float64) string { return fmt.Sprintf("%.0f %s", s.at(c), s.unit()) }

// events marks what happened, the most telling first where there is much.
func (s shop) events(p *chart.Plot, e events.Events) {
	if e.Verdict == events.NoCoolant {
		return
	}
	mark := func(at, c float64, format string, a ...any) {
		p.Marks = append(p.Marks, chart.Mark{X: at / 60, Y: s.at(c), Label: fmt.Sprintf(format, a...)})
	}
	kind := "start"
	if e.Start.Hot {
		kind = "start, hot"
	}
	mark(e.Start.At.Value, e.Start.C, "%s, %s", kind, s.text(e.Start.C))
	if o := e.Opening; o != nil {
		mark(o.At.Value, o.C.Value, "opens, %s", s.text(o.C.Value))
	}
	if h := e.Plateau; h != nil {
		mark(h.From, h.C.Value, "holds %s", s.text(h.C.Value))
	}
	for i, c := range e.Climbs {
		if i < 4 {
			mark(c.To, c.ToC, "climbs to %s", s.text(c.ToC))
		}
	}
	if b := e.Boiling; b != nil {
		mark(b.From, b.C.Value, "boils, %s", s.text(b.C.Value))
	}
	for i, j := range e.Jumps {
		if i < 4 {
			mark(j.At, j.ToC, "sensor jumps")
		}
	}
	for i, k := range e.Soaks {
		if i < 4 {
			mark(k.From, k.FromC, "shut off, %s", s.text(k.FromC))
		}
	}
	if e.Fan != nil {
		for i, c := range e.Fan.Cycles {
			if i == 0 {
				mark(c.From, c.OnC, "fan on, %s", s.text(c.OnC))
			}
			p.Spans = append(p.Spans, chart.Span{From: c.From / 60, To: c.To / 60, Label: "fan"})
		}
	}
}
