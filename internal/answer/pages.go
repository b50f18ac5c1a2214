package answer

import (
	"fmt"
	"math"
	"unicode/utf8"
)

// worthReasons is the probability below which a page does not say why; judgement.
const worthReasons = 0.05

// causesShown is how many causes a page names before it sums up the rest.
const causesShown = 8

// Odds writes the odds as bars with their reasons. Details adds the weight of each
// finding in decibans.
func (p *Page) Odds(o *OddsFacts, details bool) {
	for _, w := range o.Warnings {
		p.Item("!", w.Text)
	}
	for _, s := range Texts(o.Lines, Leading, Overturn) {
		p.Para("", s)
	}
	p.Line("")
	p.bars(o)
	if len(o.Pairs) > 0 {
		p.Line("")
		for _, x := range o.Pairs[:min(3, len(o.Pairs))] {
			p.Para("", x.Says+".")
		}
	}
	for i, c := range o.Causes {
		if i >= 3 || !c.Shown || i > 0 && c.Probability < worthReasons || len(c.For)+len(c.Against) == 0 {
			continue
		}
		p.Head("Why " + Article(c.Name) + "?")
		reason := func(side string, r ReasonFacts) {
			if details {
				side = fmt.Sprintf("%s %+5.1f dB", side, r.Decibans)
			}
			p.Item("  "+side, r.What+": "+r.Says+".")
		}
		for _, r := range c.For[:min(4, len(c.For))] {
			reason("for    ", r)
		}
		for _, r := range c.Against[:min(3, len(c.Against))] {
			reason("against", r)
		}
	}
	for _, l := range o.Lines {
		if l.Kind == Overturn {
			p.Line("")
			p.Para("", l.Text)
		}
	}
	if len(o.Unweighed) > 0 {
		p.Line("")
		p.Para("", "Kept, but not counted:")
		for _, u := range o.Unweighed {
			p.Item("  -", u.Says+": "+u.Why+".")
		}
	}
}

// bars draws each cause's probability as a length.
func (p *Page) bars(o *OddsFacts) {
	name, number := 0, 0
	for _, c := range o.Causes[:min(causesShown, len(o.Causes))] {
		if c.Shown {
			name, number = max(name, utf8.RuneCountInString(c.Name)), max(number, utf8.RuneCountInString(c.Percent))
		}
	}
	width := max(10, min(30, p.Width-name-number-2))
	rest := 0
	for i, c := range o.Causes {
		if i >= causesShown || !c.Shown {
			rest++
			continue
		}
		p.Line("%*s %s %s", number, c.Percent, p.accent(bar(c.Probability, width)), c.Name)
		for k, s := range c.Sites {
			if k < 3 && len(c.Sites) > 1 && c.Probability > 0.1 && s.Probability > 0.1*c.Probability {
				p.Line("%*s   %s at %s", number+width, "", s.Percent, s.Name)
			}
		}
	}
	if rest > 0 {
		p.Line("The other %d: %s each.", rest, o.others())
	}
}

// others says how probable each of the causes that are not shown is at most.
func (o *OddsFacts) others() string {
	most := 0.0
	for i, c := range o.Causes {
		if i >= causesShown || !c.Shown {
			most = math.Max(most, c.Probability)
		}
	}
	if !o.Precision.Tells(most) {
		return o.Precision.Percent(most)
	}
	return "at most " + o.Precision.Percent(most)
}

// stepsShown is how many ways a page names.
const stepsShown = 5

// Changed writes what a what-if changes, before the plan that it leads to.
func (p *Page) Changed(before, after *NextFacts, says []string) {
	p.Head("What if")
	for _, s := range says {
		p.Item("  -", s)
	}
	if len(before.Steps) == 0 || len(after.Steps) == 0 {
		return
	}
	b, a := &before.Steps[0], &after.Steps[0]
	p.Line("")
	p.Line("%-8s %s (%s to a cured car)", "now:", b.Name, Money(b.ExpectedCost, before.Currency))
	p.Line("%-8s %s (%s to a cured car)", "what if:", a.Name, Money(a.ExpectedCost, after.Currency))
	switch d := a.ExpectedCost - b.ExpectedCost; {
	case a.Do == b.Do && d == 0:
		p.Para("", "Nothing changes.")
	case a.Do == b.Do:
		p.Para("", "The next step stays the same.")
	}
	if q, was := after.Quote, before.Quote; q != nil && was != nil {
		p.Para("", fmt.Sprintf("The quote's cause: %s now, %s then. The whole bill if it is accepted: %s now, %s then.",
			Percent(was.Presumed), Percent(q.Presumed), Money(was.IfAccepted, before.Currency), Money(q.IfAccepted, after.Currency)))
	}
	p.Head("The plan then")
}

// Next writes the plan's next step and its rivals.
func (p *Page) Next(n *NextFacts) {
	for _, w := range n.Warnings {
		p.Para("", w.Text)
	}
	how := ""
	if len(n.Steps) > 0 {
		how = n.Steps[0].How
	}
	for _, l := range n.Lines {
		switch l.Kind {
		case Caution:
			p.Item("  !", l.Text)
		case Result:
			p.Item("  -", l.Text)
		case VisitItem:
			p.Item("   ", l.Text)
		default:
			p.Para("", l.Text)
		}
		if l.Kind == Doing && how != "" {
			p.Para("  ", how)
		}
	}
	if len(n.Steps) == 0 {
		return
	}
	p.Line("")
	p.Line("%9s %9s %10s  %s", "total", "this step", "time", "if you do this next")
	for _, x := range n.Steps[:min(stepsShown, len(n.Steps))] {
		p.Line("%9s %9s %10s  %s", Money(x.ExpectedCost, n.Currency), Money(x.Cost, n.Currency), Time(x.Minutes), x.Name)
	}
	p.Line("%9s %20s  %s", Money(n.LeastPossible, n.Currency), "", "if the cause were known already")
	if n.Tree != nil {
		p.Head("The plan from here")
		p.Tree(n.Tree, n.Currency)
	}
	if n.Quote != nil {
		p.Head("The quote")
		for _, l := range n.Quote.Lines {
			p.Para("", l.Text)
		}
	}
}

// Proof writes a proof, cautions first.
func (p *Page) Proof(a *ProofFacts) {
	if len(a.Cautions) > 0 {
		p.Head("Before the run")
		for _, c := range a.Cautions {
			p.Item("!", c)
		}
	}
	p.Head("The proof")
	for _, l := range a.Lines {
		if l.Kind != Checks {
			p.Para("", l.Text)
		}
	}
	if looks := Only(a.Lines, Checks); len(looks) > 0 {
		p.Head("Looks still worth making")
		for _, text := range looks {
			p.Item("-", text)
		}
	}
}

// Tree writes a plan as an indented tree.
func (p *Page) Tree(t *PlanFacts, currency string) {
	if t != nil {
		p.branch("", t, currency)
	}
}

func (p *Page) branch(indent string, t *PlanFacts, currency string) {
	line := t.Name
	switch t.Kind {
	case "check", "question":
		line += fmt.Sprintf(" (%s, %s)", Time(t.Minutes), Money(t.Cost, currency))
	case "repair":
		line = "→ " + line + fmt.Sprintf(" (%s)", Money(t.Cost, currency))
	}
	p.hang(indent, indent, line)
	for i, w := range t.Ways {
		mark, on := "├─ ", "│  "
		if i == len(t.Ways)-1 {
			mark, on = "└─ ", "   "
		}
		text := fmt.Sprintf("%s, %s", w.Says, Percent(w.Probability))
		if len(w.Leads) > 0 {
			text += fmt.Sprintf(": %s %s", w.Leads[0].Name, Percent(w.Leads[0].Probability))
		}
		if w.ExpectedCost > 0 {
			text += fmt.Sprintf("; %s more", Money(w.ExpectedCost, currency))
		}
		p.hang(indent+mark, indent+on, text)
		if w.Then != nil {
			p.branch(indent+on, w.Then, currency)
		}
	}
}

// hang writes a paragraph behind one indent and goes on behind another.
func (p *Page) hang(first, on, text string) {
	lead := first
	for _, line := range Wrap(text, max(20, p.Width-utf8.RuneCountInString(on))) {
		p.Line("%s%s", lead, line)
		lead = on
	}
}
