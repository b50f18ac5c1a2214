package chart

import (
	"fmt"
	"math"
	"slices"
	"strconv"
)

// Plot is a chart of lines, points, bands and marked events on linear axes.
// All numbers are in the units shown. The zero value of a field leaves it out.
type Plot struct {
	Title string // also the picture's accessible name
	Desc  string // what there is to see, for those who cannot; a sentence or two
	X, Y  Axis
	Bands []Band   // drawn first
	Spans []Span   // stretches of X, drawn behind lines
	Lines []Curve  // in order
	Dots  []Points // over the lines
	Marks []Mark   // over all
	// Diagonal draws y = x: what perfect calibration would be.
	Diagonal bool
	// Width and Height of the SVG in its own units; 0 means 760 by 340.
	Width, Height int
	// Lettering is the size of the lettering, in the SVG's own units; 0 means 11.
	Lettering float64
	// Standalone adds the ink, light and dark, that a page would otherwise give.
	Standalone bool
}

// Axis is one axis. If Min and Max are equal, they are taken from the data.
type Axis struct {
	Label    string // with its unit: "coolant, °C"
	Min, Max float64
}

// Curve is a curve; NaN in Y breaks it.
type Curve struct {
	Name   string
	X, Y   []float64
	Dash   bool
	Accent bool // the one line that matters
}

// Band is the space between two curves over X, such as the middle 80 % of what
// candidates would have shown. NaN breaks it.
type Band struct {
	Name         string
	X, Low, High []float64
}

// Points are scattered values, with error bars where Low and High are given.
type Points struct {
	Name      string
	X, Y      []float64
	Low, High []float64 // as long as Y, or nil
}

// Mark is an event at X. With NaN in Y it is a line across the whole height.
type Mark struct {
	X, Y  float64
	Label string
}

// Span is a marked stretch of X, such as a run of the fan.
type Span struct {
	From, To float64
	Label    string
}

// scale maps data to a stretch of the picture.
type scale struct {
	min, max    float64
	from, to    float64
	tick, tick0 float64
}

func (s scale) at(v float64) float64 {
	return s.from + (v-s.min)/(s.max-s.min)*(s.to-s.from)
}

// ticks are the values that get a label.
func (s scale) ticks() []float64 {
	var t []float64
	for i := 0; i < 100; i++ {
		v := s.tick0 + float64(i)*s.tick
		if v > s.max+s.tick*1e-6 {
			break
		}
		t = append(t, v)
	}
	return t
}

// newScale finds round limits and ticks, about n of them.
func newScale(a Axis, low, high, from, to float64, n int) scale {
	fixed := a.Min != a.Max
	if fixed {
		low, high = a.Min, a.Max
	}
	if !(low <= high) || math.IsInf(low, 0) || math.IsInf(high, 0) {
		low, high = 0, 1
	}
	if low == high {
		low, high = low-1, high+1
	}
	step := niceStep((high - low) / float64(max(n, 2)))
	s := scale{min: low, max: high, from: from, to: to, tick: step}
	if !fixed {
		s.min, s.max = math.Floor(low/step)*step, math.Ceil(high/step)*step
	}
	s.tick0 = math.Ceil(s.min/step-1e-9) * step
	return s
}

// niceStep rounds up to 1, 2 or 5 times a power of ten.
func niceStep(x float64) float64 {
	if !(x > 0) {
		return 1
	}
	p := math.Pow(10, math.Floor(math.Log10(x)))
	for _, m := range []float64{1, 2, 5} {
		if x <= m*p*(1+1e-9) {
			return m * p
		}
	}
	return 10 * p
}

// tickText prints a tick without needless digits.
func tickText(v, step float64) string {
	d := 0
	for s := step; d < 6 && math.Abs(s-math.Round(s)) > 1e-6*s; s *= 10 {
		d++
	}
	if math.Abs(v) < step*1e-9 {
		v = 0
	}
	return strconv.FormatFloat(v, 'f', d, 64)
}

// limits are the extent of everything drawn.
func (p *Plot) limits() (x0, x1, y0, y1 float64) {
	x0, x1, y0, y1 = math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)
	see := func(x, y float64) {
		if finite(x) && finite(y) {
			x0, x1, y0, y1 = math.Min(x0, x), math.Max(x1, x), math.Min(y0, y), math.Max(y1, y)
		}
	}
	all := func(x, y []float64) {
		for i := range min(len(x), len(y)) {
			see(x[i], y[i])
		}
	}
	for _, l := range p.Lines {
		all(l.X, l.Y)
	}
	for _, b := range p.Bands {
		all(b.X, b.Low)
		all(b.X, b.High)
	}
	for _, d := range p.Dots {
		all(d.X, d.Y)
		all(d.X, d.Low)
		all(d.X, d.High)
	}
	for _, m := range p.Marks {
		see(m.X, m.Y)
	}
	return
}

// drop leaves out events that happen nowhere.
func (p *Plot) drop() {
	p.Marks = slices.DeleteFunc(slices.Clone(p.Marks), func(m Mark) bool { return !finite(m.X) })
	p.Spans = slices.DeleteFunc(slices.Clone(p.Spans), func(s Span) bool { return !finite(s.From) || !finite(s.To) })
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// describe is the picture in words, if the caller gave none.
func (p *Plot) describe() string {
	if p.Desc != "" {
		return p.Desc
	}
	_, _, y0, y1 := p.limits()
	if !finite(y0) {
		return "no data"
	}
	s := fmt.Sprintf("%s from %.4g to %.4g over %s.", p.Y.Label, y0, y1, p.X.Label)
	for _, m := range p.Marks {
		s += " " + m.Label + "."
	}
	return s
}
