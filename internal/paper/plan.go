package paper

import (
	"bufio"
	"fmt"
	"html"
	"io"
	"math"
	"strings"

	"weephole/internal/answer"
)

// Sizes of the drawing in SVG units.
const (
	stepWide   = 214.0 // column of steps
	wayWide    = 244.0 // column of outcomes
	lineHigh   = 15.0
	wayHigh    = 78.0 // least room for an outcome
	planMargin = 18.0
	headHigh   = 34.0
	stepChars  = 25 // letters that fit a step's line at 12 px
	wayChars   = 34 // letters that fit an outcome's line at 11 px
	leadChars  = 26 // letters of the likeliest cause's name, before its odds
	thickest   = 7.0
	thinnest   = 0.8
	pad        = 8.0
	wayIndent  = 26.0
	textBelow  = 13.0
	mostOfName = 3 // lines of a step's name
	mostOfWay  = 2 // lines of an outcome's words
)

// ink of a drawing that stands alone: dark on light, the reverse where the reader
// prefers it, black in print.
const ink = `<style>.plan{color:#1d1b18;background:#fff;--accent:#a3341d}@media (prefers-color-scheme:dark){.plan{color:#ece7dd;background:#161513;--accent:#ee8a6f}}@media print{.plan{color:#000;background:none;--accent:#000}}</style>`

// node is a step placed on the drawing.
type node struct {
	plan  *answer.PlanFacts
	name  []string
	below []*node // by way; nil where nothing follows
	top   []float64
	high  float64 // room it takes with all that follows
}

// PlanSVG draws the plan's tree. A plan without a tree is drawn as its first step.
func PlanSVG(w io.Writer, n *answer.NextFacts) error {
	b := bufio.NewWriter(w)
	root := n.Tree
	if root == nil {
		root = &answer.PlanFacts{Name: "the catalogue has nothing left to do"}
		if len(n.Steps) > 0 {
			s := &n.Steps[0]
			root = &answer.PlanFacts{Do: s.Do, Kind: s.Kind, Name: s.Name, Minutes: s.Minutes, Cost: s.Cost, ExpectedCost: s.ExpectedCost}
		}
	}
	t := place(root)
	wide, high := 2*planMargin+float64(depth(t))*(stepWide+wayWide), t.high+2*planMargin+headHigh
	fmt.Fprintf(b, `<svg xmlns="http://www.w3.org/2000/svg" class="plan" role="img" viewBox="0 0 %.0f %.0f" width="%.0f" font-family="'DejaVu Sans',Verdana,system-ui,sans-serif" font-size="11" fill="currentColor" stroke="none">`+"\n", wide, high, wide)
	fmt.Fprintf(b, "<title>%s</title>\n<desc>%s</desc>\n%s\n", escape("The plan: "+root.Name), escape(describe(root, n.Currency)), ink)
	fmt.Fprintf(b, `<text x="%.0f" y="%.0f" font-size="14" font-weight="600">%s</text>`+"\n", planMargin, planMargin+6, escape("The plan from here: "+answer.Money(root.ExpectedCost, n.Currency)+" to a cured car on average"))
	d := planDrawing{b, n.Currency}
	d.step(t, planMargin, planMargin+headHigh)
	fmt.Fprintln(b, "</svg>")
	return b.Flush()
}

// place works out how high each step stands.
func place(p *answer.PlanFacts) *node {
	t := &node{plan: p, name: wrap(p.Name, stepChars, mostOfName)}
	y := 0.0
	for i := range p.Ways {
		high := wayHigh
		var below *node
		if then := p.Ways[i].Then; then != nil {
			below = place(then)
			high = math.Max(high, below.high)
		}
		t.below, t.top = append(t.below, below), append(t.top, y)
		y += high
	}
	t.high = math.Max(y, t.boxHigh()+lineHigh)
	return t
}

func (t *node) boxHigh() float64 { return lineHigh*float64(len(t.name)+1) + 2*pad }

func depth(t *node) int {
	d := 0
	for _, b := range t.below {
		if b != nil {
			d = max(d, depth(b))
		}
	}
	return d + 1
}

type planDrawing struct {
	w        io.Writer
	currency string
}

func (d planDrawing) step(t *node, x, y float64) {
	p := t.plan
	high, stroke, width := t.boxHigh(), "currentColor", 1.2
	if p.Kind == "repair" {
		stroke, width = "var(--accent)", 2.4 // a repair is framed heavily as well as in the accent
	}
	fmt.Fprintf(d.w, `<g><title>%s</title>`+"\n", escape(strings.Join(p.Cautions, " ")))
	fmt.Fprintf(d.w, `<rect x="%.1f" y="%.1f" width="%.1f" height="%.1f" fill="none" stroke="%s" stroke-width="%.1f"/>`+"\n", x, y, stepWide-pad, high, stroke, width)
	for i, line := range t.name {
		fmt.Fprintf(d.w, `<text x="%.1f" y="%.1f" font-size="12" font-weight="600">%s</text>`+"\n", x+pad, y+pad+textBelow+lineHigh*float64(i)-1, escape(line))
	}
	fmt.Fprintf(d.w, `<text x="%.1f" y="%.1f">%s</text></g>`+"\n", x+pad, y+pad+textBelow+lineHigh*float64(len(t.name))-1, escape(d.takes(p)))
	from := y + high/2
	for i := range p.Ways {
		w := &p.Ways[i]
		at := y + t.top[i] + wayHigh/2
		if i == 0 {
			at = from
		}
		d.way(w, x+stepWide-pad, from, x+stepWide+wayWide-pad, at, t.below[i] != nil)
		if b := t.below[i]; b != nil {
			top := y + t.top[i]
			if i > 0 {
				top = at - b.boxHigh()/2
			}
			d.step(b, x+stepWide+wayWide, math.Max(top, y+t.top[i]))
		}
	}
}

func (d planDrawing) takes(p *answer.PlanFacts) string {
	s := answer.Money(p.Cost, d.currency)
	if p.Minutes > 0 {
		s = answer.Time(p.Minutes) + ", " + s
	}
	if p.Wait > 0 {
		s += ", after " + answer.Time(p.Wait)
	}
	return s
}

// way draws the line to an outcome, as thick as it is likely, and its words.
func (d planDrawing) way(w *answer.WayFacts, x0, y0, x1, y1 float64, on bool) {
	bend := x0 + wayIndent/2
	end := x1
	if !on {
		end = x1 - wayIndent
	}
	fmt.Fprintf(d.w, `<path d="M%.1f %.1fH%.1fV%.1fH%.1f" fill="none" stroke="currentColor" stroke-opacity="0.55" stroke-width="%.1f"/>`+"\n",
		x0, y0, bend, y1, end, thinnest+(thickest-thinnest)*w.Probability)
	x := bend + wayIndent/2
	lines := wrap(w.Says, wayChars, mostOfWay)
	for i, line := range lines {
		fmt.Fprintf(d.w, `<text x="%.1f" y="%.1f">%s</text>`+"\n", x, y1-6-lineHigh*float64(len(lines)-1-i)+2, escape(line))
	}
	fmt.Fprintf(d.w, `<text x="%.1f" y="%.1f" font-weight="600">%s</text>`+"\n", x, y1+textBelow+3, escape(answer.Percent(w.Probability)))
	if len(w.Leads) > 0 {
		lead := cut(w.Leads[0].Name, leadChars) + ": " + answer.Percent(w.Leads[0].Probability)
		fmt.Fprintf(d.w, `<text x="%.1f" y="%.1f" font-style="italic">%s</text>`+"\n", x, y1+textBelow+lineHigh+1, escape(lead))
	}
}

// describe tells the first step and its outcomes, for who cannot see the drawing.
func describe(p *answer.PlanFacts, currency string) string {
	var s []string
	for _, w := range p.Ways {
		line := fmt.Sprintf("if %s (%s), about %s more to spend", w.Says, answer.Percent(w.Probability), answer.Money(w.ExpectedCost, currency))
		if w.Then != nil {
			line += ", then " + w.Then.Name
		}
		s = append(s, line)
	}
	return p.Name + ": " + strings.Join(s, "; ") + "."
}

// wrap breaks text into at most n lines of so many letters.
func wrap(text string, chars, n int) []string {
	lines := answer.Wrap(text, chars)
	if len(lines) > n {
		lines = lines[:n]
		lines[n-1] = cut(lines[n-1]+" …", chars)
	}
	for i := range lines {
		lines[i] = cut(lines[i], chars)
	}
	return lines
}

func cut(text string, chars int) string {
	if r := []rune(text); len(r) > chars {
		return string(r[:chars-1]) + "…"
	}
	return text
}

// escape makes any text safe within XML, which has no words for control codes.
func escape(s string) string {
	s = strings.Map(func(r rune) rune {
		if r < ' ' || r == 0xfffe || r == 0xffff {
			return ' '
		}
		return r
	}, strings.ToValidUTF8(s, "?"))
	return html.EscapeString(s)
}
