package chart

import (
	"fmt"
	"math"
	"strings"
	"unicode/utf8"
)

// Bars is a list of values told by length and number.
type Bars struct {
	Title, Desc string
	Items       []Bar
	Max         float64 // value of a full bar; 0 takes the largest
	Format      string  // of the number, such as "%.0f %%"; "" means "%.3g"
	Standalone  bool
	Width       int // of the SVG; 0 means 560
}

// Bar is one value, with the range in which it may lie if Low and High differ.
type Bar struct {
	Label     string
	Value     float64
	Low, High float64
	Note      string
}

func (b *Bars) full() float64 {
	m := b.Max
	if m <= 0 {
		for _, i := range b.Items {
			if finite(i.Value) {
				m = math.Max(m, math.Max(i.Value, i.High))
			}
		}
	}
	if m <= 0 {
		return 1
	}
	return m
}

func (b *Bars) number(v float64) string {
	if !finite(v) {
		return "?"
	}
	if b.Format == "" {
		return fmt.Sprintf("%.3g", v)
	}
	return fmt.Sprintf(b.Format, v)
}

// SVG draws the bars.
func (b Bars) SVG() string {
	w := float64(b.Width)
	if w <= 0 {
		w = 560
	}
	const rowHeight = 22.0
	longest := 0
	for _, i := range b.Items {
		longest = max(longest, utf8.RuneCountInString(i.Label))
	}
	left := math.Min(w*0.5, glyph*1.1*float64(longest)+10)
	top := 8.0
	if b.Title != "" {
		top = 30
	}
	room := math.Max(20, w-left-90)
	h := top + rowHeight*float64(len(b.Items)) + 6
	p := Plot{Title: b.Title, Desc: b.Desc}
	for _, i := range b.Items {
		p.Lines = append(p.Lines, Curve{Name: i.Label, X: []float64{0}, Y: []float64{i.Value}})
		if b.Desc == "" {
			p.Desc += fmt.Sprintf("%s %s. ", i.Label, b.number(i.Value))
		}
	}
	id := p.id()
	var s strings.Builder
	fmt.Fprintf(&s, `<svg xmlns="http://www.w3.org/2000/svg" class="chart" role="img" aria-labelledby="%s-t %s-d" viewBox="0 0 %g %g" width="100%%" font-family="ui-sans-serif,system-ui,sans-serif" font-size="12" fill="currentColor">`, id, id, w, h)
	fmt.Fprintf(&s, "\n<title id=\"%s-t\">%s</title>\n<desc id=\"%s-d\">%s</desc>\n", id, escape(b.Title), id, escape(strings.TrimSpace(p.Desc)))
	if b.Standalone {
		s.WriteString(ownInk + "\n")
	}
	if b.Title != "" {
		fmt.Fprintf(&s, `<text x="0" y="18" font-size="13" font-weight="600">%s</text>`+"\n", escape(b.Title))
	}
	for k, i := range b.Items {
		y := top + rowHeight*float64(k)
		length := 0.0
		if finite(i.Value) {
			length = math.Max(0, math.Min(1, i.Value/b.full())) * room
		}
		fmt.Fprintf(&s, `<text x="%.1f" y="%.1f" text-anchor="end">%s</text><rect x="%.1f" y="%.1f" width="%.1f" height="12" fill-opacity="0.75"><title>%s</title></rect>`, left-6, y+13, escape(i.Label), left, y+3, length, escape(i.Note))
		end := length
		if finite(i.Low) && finite(i.High) && i.High > i.Low {
			a, c := i.Low/b.full()*room, math.Min(1, i.High/b.full())*room
			fmt.Fprintf(&s, `<path d="M%.1f %.1fH%.1fM%.1f %.1fv6M%.1f %.1fv6" stroke="currentColor" fill="none"/>`, left+a, y+9, left+c, left+a, y+6, left+c, y+6)
			end = math.Max(end, c)
		}
		fmt.Fprintf(&s, `<text x="%.1f" y="%.1f">%s</text>`+"\n", left+end+6, y+13, escape(b.number(i.Value)))
	}
	s.WriteString("</svg>\n")
	return s.String()
}

// Text draws the bars in eighths of a character.
func (b Bars) Text(t Terminal) string {
	if t.Width <= 0 {
		t.Width = 80
	}
	longest, numbers := 0, 0
	for _, i := range b.Items {
		longest = max(longest, utf8.RuneCountInString(i.Label))
		numbers = max(numbers, utf8.RuneCountInString(b.number(i.Value)))
	}
	room := max(8, t.Width-longest-numbers-3)
	var s strings.Builder
	if b.Title != "" {
		fmt.Fprintf(&s, "%s\n", b.Title)
	}
	for _, i := range b.Items {
		eighths := 0
		if finite(i.Value) {
			eighths = int(math.Round(math.Max(0, math.Min(1, i.Value/b.full())) * float64(room*8)))
		}
		bar := strings.Repeat("█", eighths/8)
		if eighths%8 > 0 {
			bar += string(rune(0x2590 - eighths%8)) // ▏ to ▉
		}
		line := fmt.Sprintf("%s%s %*s %s", i.Label, strings.Repeat(" ", longest-utf8.RuneCountInString(i.Label)), numbers, b.number(i.Value), bar)
		if i.Note != "" && utf8.RuneCountInString(line)+utf8.RuneCountInString(i.Note)+2 <= t.Width {
			line += "  " + i.Note
		}
		s.WriteString(line + "\n")
	}
	return s.String()
}
