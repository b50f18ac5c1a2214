package chart

import (
	"fmt"
	"hash/fnv"
	"math"
	"slices"
	"strings"
)

// Sizes in SVG units.
const (
	svgWidth, svgHeight = 760, 340
	usualText           = 11.0
	// All below are for lettering of the usual size, and grow with it.
	marginLeft   = 52.0
	marginRight  = 96.0 // room for the lines' names at their end
	marginBottom = 44.0
	marginTop    = 34.0
	markRow      = 13.0
	glyph        = 6.2  // mean width of a letter
	hair         = 0.01 // what rounding may make of a distance
)

// in scales a size for the usual lettering to the plot's own.
func (p *Plot) in(size float64) float64 {
	if p.Lettering <= 0 {
		return size
	}
	return size * p.Lettering / usualText
}

// ownInk is the ink of a chart that stands alone: dark on light, the reverse
// where the reader prefers it, black in print.
const ownInk = `<style>.chart{color:#1d1b18;background:#fff;--accent:#a3341d}@media (prefers-color-scheme:dark){.chart{color:#ece7dd;background:#161513;--accent:#ee8a6f}}@media print{.chart{color:#000;background:none;--accent:#000}}</style>`

// escape makes any text safe within XML, which has no words for control codes.
func escape(s string) string {
	var b strings.Builder
	for _, r := range strings.ToValidUTF8(s, "?") {
		switch {
		case r == '&':
			b.WriteString("&amp;")
		case r == '<':
			b.WriteString("&lt;")
		case r == '>':
			b.WriteString("&gt;")
		case r == '"':
			b.WriteString("&quot;")
		case r < 0x20 || r == 0xfffe || r == 0xffff:
			b.WriteByte(' ')
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}

// SVG draws the plot. The text is the same for the same data.
func (p Plot) SVG() string {
	p.drop()
	w, h := float64(p.Width), float64(p.Height)
	if w <= 0 {
		w = svgWidth
	}
	if h <= 0 {
		h = svgHeight
	}
	x0, x1, y0, y1 := p.limits()
	if p.X.Min == p.X.Max && finite(x0) && x1 > x0 {
		p.X.Min, p.X.Max = x0, x1 // time needs no round ends
	}
	rows := p.markRows(w)
	top := p.in(marginTop) + p.in(markRow)*float64(len(rows))
	xs := newScale(p.X, x0, x1, p.in(marginLeft), w-p.in(marginRight), p.ticksOver(w))
	ys := newScale(p.Y, y0, y1, h-p.in(marginBottom), top, 6)
	var b strings.Builder
	id := p.id()
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" class="chart" role="img" aria-labelledby="%s-t %s-d" viewBox="0 0 %g %g" width="100%%" font-family="ui-sans-serif,system-ui,sans-serif" font-size="%g" fill="currentColor" stroke="none">`, id, id, w, h, p.in(usualText))
	fmt.Fprintf(&b, "\n<title id=\"%s-t\">%s</title>\n<desc id=\"%s-d\">%s</desc>\n", id, escape(p.Title), id, escape(p.describe()))
	if p.Standalone {
		b.WriteString(ownInk + "\n")
	}
	if p.Title != "" {
		fmt.Fprintf(&b, `<text x="%g" y="18" font-size="%g" font-weight="600">%s</text>`+"\n", p.in(marginLeft), p.in(13), escape(p.Title))
	}
	fmt.Fprintf(&b, `<clipPath id="%s-c"><rect x="%.1f" y="%.1f" width="%.1f" height="%.1f"/></clipPath>`+"\n", id, xs.from, top, xs.to-xs.from, ys.from-top)
	p.svgAxes(&b, xs, ys, w, h)
	fmt.Fprintf(&b, `<g clip-path="url(#%s-c)">`+"\n", id)
	for _, s := range p.Spans {
		fmt.Fprintf(&b, `<rect x="%.1f" y="%.1f" width="%.1f" height="%.1f" fill-opacity="0.07"><title>%s</title></rect>`+"\n", xs.at(s.From), top, math.Max(1, xs.at(s.To)-xs.at(s.From)), ys.from-top, escape(s.Label))
	}
	for i, d := range p.Bands {
		p.svgBand(&b, d, xs, ys, i)
	}
	if p.Diagonal {
		lo, hi := math.Max(xs.min, ys.min), math.Min(xs.max, ys.max)
		fmt.Fprintf(&b, `<path d="M%.1f %.1fL%.1f %.1f" stroke="currentColor" stroke-opacity="0.5" stroke-dasharray="2 3" fill="none"/>`+"\n", xs.at(lo), ys.at(lo), xs.at(hi), ys.at(hi))
	}
	for i, l := range p.Lines {
		style := `stroke="currentColor" stroke-width="1.6"`
		if l.Accent {
			style = `stroke="var(--accent,currentColor)" stroke-width="2"`
		}
		if l.Dash {
			style += fmt.Sprintf(` stroke-dasharray="%d 3"`, 6-2*(i%3))
		}
		fmt.Fprintf(&b, `<path d="%s" fill="none" %s stroke-linejoin="round"><title>%s</title></path>`+"\n", pathOf(l.X, l.Y, xs, ys), style, escape(l.Name))
	}
	for i, d := range p.Dots {
		svgPoints(&b, d, xs, ys, i)
	}
	b.WriteString("</g>\n")
	p.svgMarks(&b, rows, xs, ys)
	p.svgNames(&b, xs, ys)
	b.WriteString("</svg>\n")
	return b.String()
}

// id keeps the ids of several charts on one page apart.
func (p *Plot) id() string {
	h := fnv.New32a()
	fmt.Fprint(h, p.Title, p.Desc, p.X.Label, len(p.Lines), len(p.Marks))
	if p.Lettering > 0 { // the same chart may stand on a page in two sizes
		fmt.Fprint(h, p.Width, p.Lettering)
	}
	for _, l := range p.Lines {
		fmt.Fprint(h, l.Name, len(l.X))
		if len(l.Y) > 0 {
			fmt.Fprint(h, l.Y[0], l.Y[len(l.Y)-1])
		}
	}
	return fmt.Sprintf("c%08x", h.Sum32())
}

// ticksOver is about how many ticks the X axis of a picture so wide can carry.
func (p *Plot) ticksOver(w float64) int {
	if p.Lettering <= 0 {
		return 8
	}
	return max(3, int(w/p.in(90)))
}

func (p *Plot) svgAxes(b *strings.Builder, xs, ys scale, w, h float64) {
	for _, v := range ys.ticks() {
		y := ys.at(v)
		fmt.Fprintf(b, `<path d="M%.1f %.1fH%.1f" stroke="currentColor" stroke-opacity="0.15"/><text x="%.1f" y="%.1f" text-anchor="end">%s</text>`+"\n", xs.from, y, xs.to, xs.from-6, y+4, tickText(v, ys.tick))
	}
	for _, v := range xs.ticks() {
		x := xs.at(v)
		fmt.Fprintf(b, `<path d="M%.1f %.1fv4" stroke="currentColor"/><text x="%.1f" y="%.1f" text-anchor="middle">%s</text>`+"\n", x, ys.from, x, ys.from+p.in(16), tickText(v, xs.tick))
	}
	fmt.Fprintf(b, `<path d="M%.1f %.1fH%.1f" stroke="currentColor"/>`+"\n", xs.from, ys.from, xs.to)
	fmt.Fprintf(b, `<text x="%.1f" y="%.1f" text-anchor="middle">%s</text>`+"\n", (xs.from+xs.to)/2, h-8, escape(p.X.Label))
	fmt.Fprintf(b, `<text transform="translate(13 %.1f) rotate(-90)" text-anchor="middle">%s</text>`+"\n", (ys.from+ys.to)/2, escape(p.Y.Label))
}

func (p *Plot) svgBand(b *strings.Builder, d Band, xs, ys scale, i int) {
	n := min(len(d.X), len(d.Low), len(d.High))
	for from := 0; from < n; {
		if !finite(d.X[from]) || !finite(d.Low[from]) || !finite(d.High[from]) {
			from++
			continue
		}
		to := from
		for to+1 < n && finite(d.X[to+1]) && finite(d.Low[to+1]) && finite(d.High[to+1]) {
			to++
		}
		var path strings.Builder
		step := max(1, (to-from)/400)
		for k := from; k <= to; k += step {
			fmt.Fprintf(&path, "%s%.1f %.1f", map[bool]string{true: "M", false: "L"}[k == from], xs.at(d.X[k]), ys.at(d.High[k]))
		}
		fmt.Fprintf(&path, "L%.1f %.1fL%.1f %.1f", xs.at(d.X[to]), ys.at(d.High[to]), xs.at(d.X[to]), ys.at(d.Low[to]))
		for k := to; k >= from; k -= step {
			fmt.Fprintf(&path, "L%.1f %.1f", xs.at(d.X[k]), ys.at(d.Low[k]))
		}
		fmt.Fprintf(&path, "L%.1f %.1f", xs.at(d.X[from]), ys.at(d.Low[from]))
		fmt.Fprintf(b, `<path d="%sZ" fill-opacity="%.2f" stroke="currentColor" stroke-opacity="0.35" stroke-width="0.7" stroke-dasharray="%d 2"><title>%s</title></path>`+"\n", path.String(), 0.16-0.05*float64(i%3), 1+2*(i%3), escape(d.Name))
		from = to + 1
	}
}

func svgPoints(b *strings.Builder, d Points, xs, ys scale, i int) {
	for k := range min(len(d.X), len(d.Y)) {
		if !finite(d.X[k]) || !finite(d.Y[k]) {
			continue
		}
		x, y := xs.at(d.X[k]), ys.at(d.Y[k])
		if k < len(d.Low) && k < len(d.High) && finite(d.Low[k]) && finite(d.High[k]) {
			fmt.Fprintf(b, `<path d="M%.1f %.1fV%.1f" stroke="currentColor" stroke-opacity="0.6"/>`, x, ys.at(d.Low[k]), ys.at(d.High[k]))
		}
		if i%2 == 0 {
			fmt.Fprintf(b, `<circle cx="%.1f" cy="%.1f" r="3"/>`+"\n", x, y)
		} else {
			fmt.Fprintf(b, `<rect x="%.1f" y="%.1f" width="5" height="5" fill="none" stroke="currentColor"/>`+"\n", x-2.5, y-2.5)
		}
	}
}

// markRows stacks the labels of events so that they do not overlap: for each
// row, the indices of its marks.
func (p *Plot) markRows(w float64) [][]int {
	x0, x1, _, _ := p.limits()
	xs := newScale(p.X, x0, x1, p.in(marginLeft), w-p.in(marginRight), p.ticksOver(w))
	var rows [][]int
	taken := func(row int, from, to float64) bool {
		return slices.ContainsFunc(rows[row], func(i int) bool {
			left, right, _ := p.markSpan(&p.Marks[i], xs)
			return left < to && from < right
		})
	}
	for i := range p.Marks {
		from, to, _ := p.markSpan(&p.Marks[i], xs)
		row := 0
		for row < len(rows) && row < mostMarkRows-1 && taken(row, from, to) {
			row++
		}
		if row == len(rows) {
			rows = append(rows, nil)
		}
		rows[row] = append(rows[row], i)
	}
	return rows
}

// mostMarkRows is how many rows of labels stand above the curve: judgement. What finds
// no room in them overlaps in the last.
const mostMarkRows = 6

// markSpan is where a mark's label lies, with a gap behind it. It stands to the left of
// its mark where there is no room to the right.
func (p *Plot) markSpan(m *Mark, xs scale) (from, to float64, toTheLeft bool) {
	x, long := xs.at(m.X), p.in(glyph)*float64(len([]rune(m.Label)))
	if x+3+long > xs.to+p.in(marginRight) {
		return x - 3 - long - 5, x, true
	}
	return x, x + 3 + long + 5, false
}

func (p *Plot) svgMarks(b *strings.Builder, rows [][]int, xs, ys scale) {
	for r, row := range rows {
		for _, i := range row {
			m := p.Marks[i]
			x, y := xs.at(m.X), p.in(marginTop)+p.in(markRow)*float64(r)+2
			foot := ys.from
			if finite(m.Y) {
				foot = ys.at(m.Y)
				fmt.Fprintf(b, `<circle cx="%.1f" cy="%.1f" r="3.2" fill="none" stroke="currentColor" stroke-width="1.4"/>`, x, foot)
				foot -= 3.2
			}
			anchor, tx := "start", x+3
			if _, _, left := p.markSpan(&m, xs); left {
				anchor, tx = "end", x-3
			}
			fmt.Fprintf(b, `<path d="M%.1f %.1fV%.1f" stroke="currentColor" stroke-opacity="0.55" stroke-width="0.8"/><text x="%.1f" y="%.1f" text-anchor="%s">%s</text>`+"\n", x, y-8, foot, tx, y, anchor, escape(m.Label))
		}
	}
}

// svgNames writes each line's and band's name at its right end, apart from one another.
func (p *Plot) svgNames(b *strings.Builder, xs, ys scale) {
	type name struct {
		text string
		y    float64
	}
	var names []name
	end := func(text string, x, y []float64) {
		for i := min(len(x), len(y)) - 1; i >= 0 && text != ""; i-- {
			if finite(y[i]) && finite(x[i]) {
				names = append(names, name{text, math.Min(math.Max(ys.at(y[i]), ys.to+8), ys.from-2)})
				return
			}
		}
	}
	for _, l := range p.Lines {
		end(l.Name, l.X, l.Y)
	}
	for _, d := range p.Bands {
		mid := make([]float64, min(len(d.Low), len(d.High)))
		for i := range mid {
			mid[i] = (d.Low[i] + d.High[i]) / 2
		}
		end(d.Name, d.X, mid)
	}
	for i := range names {
		for moved := true; moved; {
			moved = false
			for _, o := range names[:i] {
				if math.Abs(o.y-names[i].y) < p.in(12)-hair {
					names[i].y = o.y - p.in(12)
					moved = true
				}
			}
		}
		fmt.Fprintf(b, `<text x="%.1f" y="%.1f">%s</text>`+"\n", xs.to+5, names[i].y+4, escape(names[i].text))
	}
}

// pathOf draws a line; where many points share a pixel, its lowest and highest
// are kept, so that no peak is lost.
func pathOf(x, y []float64, xs, ys scale) string {
	var b strings.Builder
	pen := false
	put := func(px, py float64) {
		if pen {
			fmt.Fprintf(&b, "L%.1f %.1f", px, py)
		} else {
			fmt.Fprintf(&b, "M%.1f %.1f", px, py)
			pen = true
		}
	}
	n := min(len(x), len(y))
	for i := 0; i < n; {
		if !finite(x[i]) || !finite(y[i]) {
			pen = false
			i++
			continue
		}
		px := xs.at(x[i])
		lo, hi, k := i, i, i
		for k+1 < n && finite(y[k+1]) && finite(x[k+1]) && xs.at(x[k+1]) < px+0.8 {
			k++
			if y[k] < y[lo] {
				lo = k
			}
			if y[k] > y[hi] {
				hi = k
			}
		}
		a, c := min(lo, hi), max(lo, hi)
		put(px, ys.at(y[a]))
		if y[c] != y[a] {
			put(px, ys.at(y[c]))
		}
		i = k + 1
	}
	return b.String()
}
