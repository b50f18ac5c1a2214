package answer

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"weephole/plan"
)

// evenMargin is the share of the expected cost below which two ways are called
// equally good: a plan from a sample of engines tells no less apart. Judgement.
const evenMargin = 0.01

// says tells the plan as a colleague would: cautions, what to do next, why that, what
// each result would do, when to stop checking, and what would change the plan.
func (n *Next) says(car *plan.Car, ask Ask) []string {
	if len(n.Steps) == 0 {
		return []string{"Nothing is left to do that the catalogue knows of."}
	}
	s := &n.Steps[0]
	out := append([]string{}, s.Cautions...)
	line := fmt.Sprintf("Next: %s (%.0f min", s.Name, s.Minutes)
	if s.Wait > 0 {
		line += fmt.Sprintf(", after %s for the engine to get there", Time(s.Wait))
	}
	if s.Kind == "quote" {
		line = fmt.Sprintf("Next: %s (done elsewhere", s.Name)
	}
	out = append(out, line+fmt.Sprintf("; %s).", n.money(s.Cost)))
	if len(s.Lacks) > 0 {
		out = append(out, "It needs what the shop lacks: "+strings.Join(s.Lacks, ", ")+".")
	}
	if s.RestsOn != "" {
		out = append(out, "A costly repair; "+s.RestsOn+".")
	}
	for _, w := range n.Waiting {
		out = append(out, w.Says)
	}
	for _, q := range n.Ask {
		out = append(out, fmt.Sprintf("Meanwhile ask the owner: %s? If yes (%s), %s %s; if no, %s.", q.Name, Per100(q.Yes), q.IfYes[0].Name, Per100(q.IfYes[0].Probability), sameLead(q)))
	}
	for _, x := range n.Together {
		out = append(out, fmt.Sprintf("At the same time, %s: about %s now, %s if it is found to be needed afterwards, which it is in %s.", x.Name, n.money(x.Now), n.money(x.Later), Per100(x.Odds)))
	}
	out = append(out, n.why(car)...)
	out = append(out, n.results()...)
	out = append(out, fmt.Sprintf("From here to a cured car: %s on average; %s if the cause were known for nothing. The rest is the price of not knowing.",
		n.money(s.ExpectedCost), n.money(n.LeastPossible)))
	if f := s.Followed; f != nil {
		out = append(out, fmt.Sprintf("Followed to the end on %d of these engines, this plan cost %s on average (give or take %s), with %.1f checks and %.1f repairs; %s were cured and the others handed on.",
			f.Engines, n.money(f.Cost), n.money(2*f.Error), f.Checks, f.Repairs, Per100(f.Cured)))
	}
	return append(out, n.change(car)...)
}

// Time says minutes, as hours where they are many.
func Time(minutes float64) string {
	if minutes < 120 {
		return fmt.Sprintf("%.0f min", minutes)
	}
	return fmt.Sprintf("%.0f h", minutes/60)
}

func (n *Next) money(v float64) string { return Money(v, n.Currency) }

// rival is the next best way that is not the first step.
func (n *Next) rival() *Step {
	best := -1
	for i := range n.Steps[1:] {
		x := &n.Steps[i+1]
		if x.Do != n.Steps[0].Do && x.Kind != "quote" && (best < 0 || x.ExpectedCost < n.Steps[best].ExpectedCost) {
			best = i + 1
		}
	}
	if best < 0 {
		return nil
	}
	return &n.Steps[best]
}

// sameLead tells what a no would do: to the same cause, where a yes would raise it.
func sameLead(q Question) string {
	for _, l := range q.IfNo {
		if l.Cause == q.IfYes[0].Cause {
			return Per100(l.Probability)
		}
	}
	return fmt.Sprintf("%s %s", q.IfNo[0].Name, Per100(q.IfNo[0].Probability))
}

// why says why the first step comes before the others.
func (n *Next) why(car *plan.Car) []string {
	s := &n.Steps[0]
	for _, w := range n.Waiting {
		if s.Kind == "check" && slices.Contains(w.ShowBy, s.Do) {
			return []string{fmt.Sprintf("It comes first because it shows the cause itself, and that is all that is missing before one may %s.", w.Name)}
		}
	}
	r := n.rival()
	if r == nil {
		return nil
	}
	switch more := r.ExpectedCost - s.ExpectedCost; {
	case more < -evenMargin*s.ExpectedCost:
		return []string{fmt.Sprintf("It is the obvious repair: one more look first (“%s”) is reckoned %s cheaper on average, which is less than such a reckoning can tell.", r.Name, n.money(-more))}
	case more < evenMargin*s.ExpectedCost:
		return []string{fmt.Sprintf("It is as good as “%s”; take whichever is handier.", r.Name)}
	default:
		return []string{fmt.Sprintf("It comes before “%s” because that way costs %s more on average.", r.Name, n.money(more))}
	}
}

// results says what each outcome of a check would do to the odds, the money and the plan.
func (n *Next) results() []string {
	s := &n.Steps[0]
	if s.Kind != "check" {
		if s.Kind == "repair" || s.Kind == "quote" {
			return []string{fmt.Sprintf("The run after it shows a healthy engine in %s; else about %s is still to come.", Per100(s.Outcomes[0].Probability), n.money(s.Outcomes[1].ExpectedCost))}
		}
		return nil
	}
	var out []string
	for _, o := range s.Outcomes {
		var names []string
		for _, l := range o.Leads[:min(2, len(o.Leads))] {
			names = append(names, fmt.Sprintf("%s %d of 100", l.Name, int(math.Round(100*l.Probability))))
		}
		line := fmt.Sprintf("If %s (%s): %s; about %s still to come", o.Says, Per100(o.Probability), strings.Join(names, ", "), n.money(o.ExpectedCost))
		if t := n.Tree.after(o.Is, o.Says); t != nil {
			line += fmt.Sprintf(", and next “%s”", t.Name)
			if t.Kind == "repair" {
				line += ", with no more checks before it"
			}
		}
		out = append(out, line+".")
	}
	return out
}

// change says when to stop checking and what would change the plan.
func (n *Next) change(car *plan.Car) []string {
	s := &n.Steps[0]
	var out []string
	if s.Kind == "check" {
		for i := range n.Steps {
			if x := &n.Steps[i]; x.Kind == "repair" {
				out = append(out, fmt.Sprintf("To stop checking now and %s would cost %s on average; stop when that is the least.", x.Name, n.money(x.ExpectedCost)))
				break
			}
		}
	}
	if r := n.rival(); r != nil && car.Rate > 0 && r.ExpectedCost > s.ExpectedCost*(1+evenMargin) {
		minutes := (r.ExpectedCost - s.ExpectedCost) / car.Rate * 60
		out = append(out, fmt.Sprintf("The plan would change to “%s” if this step cost %s more than reckoned, which is %s of work.",
			r.Name, n.money(r.ExpectedCost-s.ExpectedCost), Time(minutes)))
	}
	return out
}
