package paper

import (
	"fmt"
	"math"
	"slices"

	"codeberg.org/go-pdf/fpdf"

	"weephole/internal/chart"
)

// frame maps the plot's numbers to the page, mm.
type frame struct {
	x, y, w, h     float64
	x0, x1, y0, y1 float64
}

func (r frame) at(x, y float64) (float64, float64) {
	return r.x + r.w*(x-r.x0)/(r.x1-r.x0), r.y + r.h*(r.y1-y)/(r.y1-r.y0)
}

// drawPlot draws a plot with the page's own lines and text: it stays sharp in
// print, and its words can be searched.
func drawPlot(f *fpdf.Fpdf, p *chart.Plot) {
	room(f, chartMM+14)
	f.Ln(1.5)
	r := frame{x: margin + 10, y: f.GetY() + 4, w: pageMM - 2*margin - 36, h: chartMM - 12}
	r.x0, r.x1, r.y0, r.y1 = extent(p)
	f.SetFont("text", "", 7)
	f.Text(margin, r.y-1.5, p.Y.Label)
	grid(f, r, p.X.Label)
	ends := make([]float64, 0, len(p.Lines)+len(p.Bands))
	for _, b := range p.Bands {
		if at := drawBand(f, r, b); !math.IsNaN(at) {
			ends = append(ends, at)
		}
	}
	for _, l := range p.Lines {
		ends = append(ends, drawLine(f, r, l, ends))
	}
	f.SetDashPattern(nil, 0)
	f.SetDrawColor(0, 0, 0)
	f.SetLineWidth(0.1)
	f.SetXY(margin, r.y+r.h+8)
	f.SetFont("text", "", 7.5)
	f.MultiCell(0, 3.6, p.Desc, "", "L", false)
	f.SetFont("text", "", textPt)
}

// extent is the plot's range, opened to round numbers.
func extent(p *chart.Plot) (x0, x1, y0, y1 float64) {
	x0, x1, y0, y1 = math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)
	see := func(xs []float64, yss ...[]float64) {
		for i, x := range xs {
			for _, ys := range yss {
				if i < len(ys) && !math.IsNaN(ys[i]) {
					x0, x1, y0, y1 = math.Min(x0, x), math.Max(x1, x), math.Min(y0, ys[i]), math.Max(y1, ys[i])
				}
			}
		}
	}
	for _, b := range p.Bands {
		see(b.X, b.Low, b.High)
	}
	for _, l := range p.Lines {
		see(l.X, l.Y)
	}
	if !(x1 > x0) {
		x0, x1 = 0, 1
	}
	if !(y1 > y0) {
		y0, y1 = y0-1, y0+1
	}
	step := tick(y1 - y0)
	return x0, x1, math.Floor(y0/step) * step, math.Ceil(y1/step) * step
}

// tick is a round step that cuts a range into about five.
func tick(span float64) float64 {
	raw := span / 5
	base := math.Pow(10, math.Floor(math.Log10(raw)))
	for _, m := range []float64{1, 2, 5, 10} {
		if m*base >= raw {
			return m * base
		}
	}
	return 10 * base
}

func grid(f *fpdf.Fpdf, r frame, label string) {
	f.SetDrawColor(200, 195, 185)
	f.SetLineWidth(0.1)
	step := tick(r.y1 - r.y0)
	for v := r.y0; v <= r.y1+step/2; v += step {
		x, y := r.at(r.x0, v)
		f.Line(x, y, x+r.w, y)
		text := fmt.Sprintf("%.0f", v)
		f.Text(x-1.5-f.GetStringWidth(text), y+1, text)
	}
	step = tick(r.x1 - r.x0)
	for v := math.Ceil(r.x0/step) * step; v <= r.x1+1e-9; v += step {
		x, y := r.at(v, r.y0)
		f.Line(x, y, x, y+1)
		text := fmt.Sprintf("%.0f", v)
		f.Text(x-f.GetStringWidth(text)/2, y+4, text)
	}
	f.Text(r.x+r.w-f.GetStringWidth(label), r.y+r.h+7, label)
}

// drawBand draws a band with its name at its end, and gives where that went.
func drawBand(f *fpdf.Fpdf, r frame, b chart.Band) float64 {
	var up, down []fpdf.PointType
	for i := range b.X {
		if math.IsNaN(b.Low[i]) || math.IsNaN(b.High[i]) {
			continue
		}
		x, y := r.at(b.X[i], b.High[i])
		up = append(up, fpdf.PointType{X: x, Y: y})
		x, y = r.at(b.X[i], b.Low[i])
		down = append(down, fpdf.PointType{X: x, Y: y})
	}
	for i := len(down) - 1; i >= 0; i-- {
		up = append(up, down[i])
	}
	if len(up) < 3 {
		return math.NaN()
	}
	f.SetFillColor(226, 221, 210)
	f.Polygon(up, "F")
	last := down[len(down)-1]
	f.Text(last.X+1.5, last.Y-1, b.Name)
	return last.Y - 1
}

// drawLine draws a line with its name at its end, moved off the names already
// set, and gives where the name went.
func drawLine(f *fpdf.Fpdf, r frame, l chart.Curve, taken []float64) float64 {
	f.SetDrawColor(60, 56, 50)
	f.SetLineWidth(0.35)
	f.SetDashPattern(nil, 0)
	if l.Accent {
		f.SetDrawColor(163, 52, 29)
		f.SetLineWidth(0.7)
	}
	if l.Dash {
		f.SetDashPattern([]float64{1.6, 1.2}, 0)
	}
	lastX, lastY, pen := math.NaN(), math.NaN(), false
	for i := range l.X {
		if math.IsNaN(l.Y[i]) {
			pen = false
			continue
		}
		x, y := r.at(l.X[i], l.Y[i])
		if pen {
			f.Line(lastX, lastY, x, y)
		}
		lastX, lastY, pen = x, y, true
	}
	if math.IsNaN(lastX) {
		return math.Inf(-1)
	}
	at := free(lastY+1, taken)
	f.Text(lastX+1.5, at, l.Name)
	return at
}

// free is the nearest place above a wanted one that keeps its distance from the
// names already set. Each name is stepped over at most once, since one moves only
// upwards.
func free(at float64, taken []float64) float64 {
	const apart = 3.2 // mm between two names
	sorted := slices.Clone(taken)
	slices.Sort(sorted)
	for _, t := range slices.Backward(sorted) {
		if math.Abs(at-t) < apart {
			at = t - apart
		}
	}
	return at
}
