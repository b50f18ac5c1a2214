package answer

import (
	"fmt"
	"io"
	"math"
	"strings"
	"unicode/utf8"
)

// Page writes an account to a terminal or a file.
type Page struct {
	W     io.Writer
	Width int
	Color bool
	err   error
}

// Err is the first error of writing.
func (p *Page) Err() error { return p.err }

func (p *Page) printf(format string, args ...any) {
	if p.err == nil {
		_, p.err = fmt.Fprintf(p.W, format, args...)
	}
}

// Line writes one line.
func (p *Page) Line(format string, args ...any) { p.printf(format+"\n", args...) }

// Head writes a heading, underlined.
func (p *Page) Head(text string) {
	p.printf("\n%s\n%s\n", p.bold(text), strings.Repeat("─", min(utf8.RuneCountInString(text), p.Width)))
}

// Para writes a paragraph broken at the page's width, indented.
func (p *Page) Para(indent, text string) {
	room := max(20, p.Width-utf8.RuneCountInString(indent))
	line := ""
	for _, word := range strings.Fields(text) {
		switch {
		case line == "":
			line = word
		case utf8.RuneCountInString(line)+1+utf8.RuneCountInString(word) > room:
			p.printf("%s%s\n", indent, line)
			line = word
		default:
			line += " " + word
		}
	}
	if line != "" {
		p.printf("%s%s\n", indent, line)
	}
}

// Item writes a paragraph behind a mark.
func (p *Page) Item(mark, text string) {
	pad := strings.Repeat(" ", utf8.RuneCountInString(mark)+1)
	var b strings.Builder
	inner := Page{W: &b, Width: p.Width}
	inner.Para(pad, text)
	s := b.String()
	if len(s) >= len(pad) {
		s = mark + " " + s[len(pad):]
	}
	p.printf("%s", s)
}

func (p *Page) bold(s string) string {
	if p.Color {
		return "\x1b[1m" + s + "\x1b[0m"
	}
	return s
}

func (p *Page) accent(s string) string {
	if p.Color {
		return "\x1b[36m" + s + "\x1b[0m"
	}
	return s
}

// bar is a length in eighths of a character cell: length and number tell the
// odds, never colour alone.
func bar(share float64, width int) string {
	eighths := int(math.Round(share * float64(width) * 8))
	full, part := eighths/8, eighths%8
	s := strings.Repeat("█", full)
	if part > 0 {
		s += string([]rune(" ▏▎▍▌▋▊▉")[part])
	} else if full == 0 && share > 0 {
		s = "▏"
	}
	return s + strings.Repeat(" ", max(0, width-utf8.RuneCountInString(s)))
}

// causesShown is how many causes a page names before it sums up the rest.
const causesShown = 8

// Odds writes the odds as bars with their reasons.
func (p *Page) Odds(o *Odds) {
	for _, s := range o.Says {
		p.Para("", s)
	}
	p.Line("")
	name := 0
	for _, c := range o.Causes[:min(causesShown, len(o.Causes))] {
		name = max(name, utf8.RuneCountInString(c.Name))
	}
	count := len(fmt.Sprint(o.Of))
	width := max(10, min(30, p.Width-name-2*count-8))
	rest := 0.0
	for i, c := range o.Causes {
		if i >= causesShown || c.Count == 0 {
			rest = math.Max(rest, c.Probability)
			continue
		}
		p.Line("%*d of %d %s %s", count, c.Count, o.Of, p.accent(bar(c.Probability, width)), c.Name)
		for k, s := range c.Sites {
			if k < 3 && len(c.Sites) > 1 && c.Probability > 0.1 && s.Probability > 0.1*c.Probability {
				p.Line("%*s %d of them: %s", count+3+count+2, "", o.count(s.Probability), s.Name)
			}
		}
	}
	if rest > 0 {
		p.Line("%s", "the others: fewer than "+fmt.Sprint(max(1, int(math.Ceil(rest*float64(o.Of)))))+" each")
	}
	if len(o.Pairs) > 0 {
		p.Line("")
		p.Para("", "Two at once: "+pairsText(o)+".")
	}
	for i, c := range o.Causes {
		if i >= 3 || c.Count == 0 || len(c.For)+len(c.Against) == 0 {
			continue
		}
		p.Head("Why " + article(c.Name) + "?")
		for _, r := range c.For[:min(4, len(c.For))] {
			p.Item(fmt.Sprintf("  for     %+5.1f dB", r.Decibans), r.What+": "+r.Says+".")
		}
		for _, r := range c.Against[:min(3, len(c.Against))] {
			p.Item(fmt.Sprintf("  against %+5.1f dB", r.Decibans), r.What+": "+r.Says+".")
		}
	}
}

func pairsText(o *Odds) string {
	var out []string
	for _, x := range o.Pairs[:min(3, len(o.Pairs))] {
		out = append(out, x.Says)
	}
	return strings.Join(out, "; ")
}

// stepsShown is how many ways a page names.
const stepsShown = 5

// Changed writes what a what-if changes, before the plan that it leads to.
func (p *Page) Changed(before, after *Next, says []string) {
	p.Head("What if")
	for _, s := range says {
		p.Item("  -", s)
	}
	if len(before.Steps) == 0 || len(after.Steps) == 0 {
		return
	}
	b, a := &before.Steps[0], &after.Steps[0]
	p.Line("")
	p.Line("%-9s %s (%s to a cured car)", "as it is:", b.Name, Money(b.ExpectedCost, before.Currency))
	p.Line("%-9s %s (%s to a cured car)", "then:", a.Name, Money(a.ExpectedCost, after.Currency))
	switch d := a.ExpectedCost - b.ExpectedCost; {
	case a.Do == b.Do && d == 0:
		p.Para("", "Nothing changes.")
	case a.Do == b.Do:
		p.Para("", "The next step stays the same.")
	}
	if q, was := after.Quote, before.Quote; q != nil && was != nil {
		p.Para("", fmt.Sprintf("The quote's cause: %s before, %s then; the whole bill if it is accepted: %s before, %s then.",
			Per100(was.Presumed), Per100(q.Presumed), Money(was.IfAccepted, before.Currency), Money(q.IfAccepted, after.Currency)))
	}
	p.Head("The plan then")
}

// Next writes the plan's next step and its rivals.
func (p *Page) Next(n *Next) {
	if len(n.Steps) == 0 {
		p.Para("", n.Says[0])
		return
	}
	s, said := n.Steps[0], n.Says
	if n.ComesBack {
		p.Para("", said[0])
		said = said[1:]
	}
	for _, c := range s.Cautions {
		p.Item("  !", c)
	}
	for _, line := range said[len(s.Cautions):] {
		p.Para("", line)
	}
	if s.How != "" {
		p.Para("  ", s.How)
	}
	p.Line("")
	p.Line("%-9s %9s %9s  %s", "from here", "the step", "minutes", "if you do this next")
	for i, x := range n.Steps {
		if i >= stepsShown {
			break
		}
		p.Line("%9s %9s %9.0f  %s", Money(x.ExpectedCost, n.Currency), Money(x.Cost, n.Currency), x.Minutes, x.Name)
	}
	p.Line("%9s %29s", Money(n.LeastPossible, n.Currency), "if the cause were known")
	if n.Tree != nil {
		p.Head("The plan from here")
		p.Tree(n.Tree, n.Currency)
	}
	if n.Quote != nil {
		p.Head("The quote")
		p.Para("", n.Quote.Says)
	}
}
