package chart

import (
	"fmt"
	"math"
	"strings"
	"unicode/utf8"
)

// Ranges is a small picture of ranges on one line each, two and more to a row: as a
// car is and as it would be.
type Ranges struct {
	Title, Desc string
	Axis        Axis // Min and Max are the ends that are drawn; what lies beyond is drawn at them
	Names       []string
	Rows        []RangeRow
	// Mark is a value that matters, such as a hot day, drawn through all rows; its
	// name is "" where there is none.
	Mark       float64
	MarkName   string
	Standalone bool
	Width      int // of the SVG; 0 means 360
}

// RangeRow is one row; its spans are in the order of Names.
type RangeRow struct {
	Label string
	Spans []RangeSpan
}

// RangeSpan is a range and its middle.
type RangeSpan struct{ Low, Middle, High float64 }

const (
	rangeWidth  = 360.0
	rangeLine   = 13.0 // height of one span
	rangeGap    = 9.0  // between rows
	rangeKey    = 16.0 // height of a line of the key
	rangeBottom = 34.0
)

func (r *Ranges) describe() string {
	if r.Desc != "" {
		return r.Desc
	}
	var s strings.Builder
	for _, row := range r.Rows {
		fmt.Fprintf(&s, "%s: ", row.Label)
		for i, x := range row.Spans {
			if i > 0 {
				s.WriteString("; ")
			}
			fmt.Fprintf(&s, "%s %.0f, from %.0f to %.0f", r.name(i), x.Middle, x.Low, x.High)
		}
		s.WriteString(". ")
	}
	return strings.TrimSpace(s.String())
}

func (r *Ranges) name(i int) string {
	if i < len(r.Names) {
		return r.Names[i]
	}
	return ""
}

// SVG draws the ranges. The spans of a row differ by their ends and the shape of their
// middle, not by colour.
func (r Ranges) SVG() string {
	w := float64(r.Width)
	if w <= 0 {
		w = rangeWidth
	}
	longest, most := 0, 1
	for _, row := range r.Rows {
		longest, most = max(longest, utf8.RuneCountInString(row.Label)), max(most, len(row.Spans))
	}
	left := math.Min(w*0.45, glyph*1.05*float64(longest)+10)
	top := 6.0
	if r.Title != "" {
		top = 26
	}
	top += rangeKey * float64(len(r.Names))
	rowHeight := rangeLine*float64(most) + rangeGap
	bottom := top + rowHeight*float64(len(r.Rows))
	h := bottom + rangeBottom
	xs := newScale(r.Axis, r.Axis.Min, r.Axis.Max, left, w-14, 5)
	p := Plot{Title: r.Title, Desc: r.describe(), X: r.Axis}
	id := p.id()
	var b strings.Builder
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" class="chart" role="img" aria-labelledby="%s-t %s-d" viewBox="0 0 %g %g" width="100%%" font-family="ui-sans-serif,system-ui,sans-serif" font-size="11" fill="currentColor">`, id, id, w, h)
	fmt.Fprintf(&b, "\n<title id=\"%s-t\">%s</title>\n<desc id=\"%s-d\">%s</desc>\n", id, escape(r.Title), id, escape(p.Desc))
	if r.Standalone {
		b.WriteString(ownInk + "\n")
	}
	if r.Title != "" {
		fmt.Fprintf(&b, `<text x="0" y="15" font-size="13" font-weight="600">%s</text>`+"\n", escape(r.Title))
	}
	for i, name := range r.Names {
		y := top - rangeKey*float64(len(r.Names)-i) + 8
		span(&b, i, 2, 14, 26, y)
		fmt.Fprintf(&b, `<text x="34" y="%.1f">%s</text>`+"\n", y+4, escape(name))
	}
	for _, v := range xs.ticks() {
		fmt.Fprintf(&b, `<path d="M%.1f %.1fV%.1f" stroke="currentColor" stroke-opacity="0.15"/><text x="%.1f" y="%.1f" text-anchor="middle">%s</text>`+"\n", xs.at(v), top, bottom, xs.at(v), bottom+13, tickText(v, xs.tick))
	}
	fmt.Fprintf(&b, `<text x="%.1f" y="%.1f" text-anchor="middle">%s</text>`+"\n", (left+w-14)/2, h-6, escape(r.Axis.Label))
	at := func(v float64) float64 { return xs.at(math.Min(math.Max(v, xs.min), xs.max)) }
	if r.MarkName != "" {
		fmt.Fprintf(&b, `<path d="M%.1f %.1fV%.1f" stroke="var(--accent,currentColor)" stroke-dasharray="4 3"><title>%s</title></path>`+"\n", at(r.Mark), top, bottom, escape(r.MarkName))
	}
	for i, row := range r.Rows {
		y := top + rowHeight*float64(i) + rangeGap/2
		fmt.Fprintf(&b, `<text x="%.1f" y="%.1f" text-anchor="end">%s</text>`+"\n", left-6, y+rangeLine*float64(most)/2+4, escape(row.Label))
		for k, x := range row.Spans {
			if finite(x.Low) && finite(x.Middle) && finite(x.High) {
				span(&b, k, at(x.Low), at(x.Middle), at(x.High), y+rangeLine*(float64(k)+0.5))
			}
		}
	}
	b.WriteString("</svg>\n")
	return b.String()
}

// span draws one range: the first kind thin and dashed with an open square, the others
// strong with a dot.
func span(b *strings.Builder, kind int, low, middle, high, y float64) {
	if kind == 0 {
		fmt.Fprintf(b, `<path d="M%.1f %.1fH%.1f" stroke="currentColor" stroke-dasharray="3 2"/><path d="M%.1f %.1fv6M%.1f %.1fv6" stroke="currentColor"/><rect x="%.1f" y="%.1f" width="7" height="7" fill="none" stroke="currentColor"/>`+"\n", low, y, high, low, y-3, high, y-3, middle-3.5, y-3.5)
		return
	}
	fmt.Fprintf(b, `<path d="M%.1f %.1fH%.1f" stroke="currentColor" stroke-width="3" stroke-opacity="0.55"/><circle cx="%.1f" cy="%.1f" r="4"/>`+"\n", low, y, high, middle, y)
}

// Text draws the ranges in characters: the first kind as "|--[]--|", the others as
// "(==o==)".
func (r Ranges) Text(t Terminal) string {
	if t.Width <= 0 {
		t.Width = 80
	}
	longest := 0
	for _, row := range r.Rows {
		longest = max(longest, utf8.RuneCountInString(row.Label))
	}
	room := max(12, t.Width-longest-2)
	at := func(v float64) int {
		x := (v - r.Axis.Min) / (r.Axis.Max - r.Axis.Min)
		return int(math.Round(math.Min(math.Max(x, 0), 1) * float64(room-1)))
	}
	var b strings.Builder
	if r.Title != "" {
		fmt.Fprintf(&b, "%s\n", r.Title)
	}
	shapes := [2][4]rune{{'|', '-', '|', '#'}, {'(', '=', ')', 'o'}}
	for i, name := range r.Names {
		s := shapes[min(i, 1)]
		fmt.Fprintf(&b, "%s  %c%c%c%c%c %s\n", strings.Repeat(" ", longest), s[0], s[1], s[3], s[1], s[2], name)
	}
	for _, row := range r.Rows {
		for k, x := range row.Spans {
			line := []rune(strings.Repeat(" ", room))
			if r.MarkName != "" {
				line[at(r.Mark)] = ':'
			}
			s := shapes[min(k, 1)]
			if finite(x.Low) && finite(x.Middle) && finite(x.High) {
				for c := at(x.Low); c <= at(x.High); c++ {
					line[c] = s[1]
				}
				line[at(x.Low)], line[at(x.High)] = s[0], s[2]
				line[at(x.Middle)] = s[3]
			}
			label := ""
			if k == 0 {
				label = row.Label
			}
			fmt.Fprintf(&b, "%s%s  %s\n", label, strings.Repeat(" ", longest-utf8.RuneCountInString(label)), strings.TrimRight(string(line), " "))
		}
	}
	ends := []rune(strings.Repeat(" ", room))
	put := func(v float64, text string) {
		c := min(max(at(v)-utf8.RuneCountInString(text)/2, 0), room-utf8.RuneCountInString(text))
		copy(ends[c:], []rune(text))
	}
	put(r.Axis.Min, fmt.Sprintf("%.0f", r.Axis.Min))
	put(r.Axis.Max, fmt.Sprintf("%.0f", r.Axis.Max))
	if r.MarkName != "" {
		put(r.Mark, fmt.Sprintf("%.0f", r.Mark))
	}
	fmt.Fprintf(&b, "%s  %s\n", strings.Repeat(" ", longest), strings.TrimRight(string(ends), " "))
	if r.Axis.Label != "" {
		fmt.Fprintf(&b, "%s  %s\n", strings.Repeat(" ", longest), r.Axis.Label)
	}
	return b.String()
}
