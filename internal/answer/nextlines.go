package answer

import (
	"fmt"
	"slices"
	"strings"
)

// evenMargin is the share of the expected cost below which two ways are called
// equally good: a plan from a sample of engines tells no less apart. Judgement.
const evenMargin = 0.01

// writeLines says the plan as a colleague would: cautions, what to do next, why that, what
// each result would do, when to stop checking, and what would change the plan.
func (n *NextFacts) writeLines(t stepWriter) []Line {
	if len(n.Steps) == 0 {
		return []Line{{Doing, "The catalogue has nothing left to do."}}
	}
	s := &n.Steps[0]
	var out []Line
	say := func(k Kind, format string, args ...any) { out = append(out, Line{k, fmt.Sprintf(format, args...)}) }
	for _, c := range s.Cautions {
		say(Caution, "%s", c)
	}
	switch {
	case s.Kind == "quote":
		say(Doing, "Next: %s (done by the other shop, %s).", s.Name, n.money(s.Cost))
	case s.Wait > 0:
		say(Doing, "Next: %s (%s of work after %s of waiting for the engine, %s).", s.Name, Time(s.Minutes), Time(s.Wait), n.price(s))
	default:
		say(Doing, "Next: %s (%s, %s).", s.Name, Time(s.Minutes), n.price(s))
	}
	if s.Again {
		say(Reasoning, "Repeat this check. Its first result does not agree with the rest, or the repair that followed it changed nothing.")
	}
	if s.Kind == "question" {
		say(AskOwner, "%s", s.How)
	}
	if n.Round != nil {
		out = append(out, n.Round.tell(n)...)
	}
	if n.Referred != nil {
		out = append(out, n.Referred.tell()...)
	}
	if len(s.Lacks) > 0 {
		say(Lacking, "The shop does not have what this needs: %s.", And(t.car.Model.Causes.ToolNames(s.Lacks)))
	}
	if s.RestsOn != "" {
		say(Support, "This is a costly repair: %s.", s.RestsOn)
	}
	for _, w := range n.Waiting {
		say(Withheld, "%s", w.Says)
	}
	for i := range n.Ask {
		q := &n.Ask[i]
		say(AskOwner, "Ask the owner: %s, yes or no? If yes (%s), %s. If no, %s.", q.Name, Percent(q.Yes), lead(q.IfYes[0]), q.otherwise())
	}
	for _, x := range n.Bad {
		say(AlsoNow, "Put right on the way, whatever else is wrong: %s (%s). It was found bad: %s.", x.Name, n.money(x.Cost), x.Says)
	}
	for _, x := range n.Together {
		say(AlsoNow, "Worth doing at the same time: %s. It costs about %s now, or %s if it turns out to be needed later (%s).", x.Name, n.money(x.Now), n.money(x.Later), Percent(x.Odds))
	}
	if why := n.why(); why != "" {
		say(Reasoning, "%s", why)
	}
	for _, r := range n.results() {
		say(Result, "%s", r)
	}
	say(Cost, "%s", n.cost(s))
	if f := s.Followed; f != nil {
		say(Cost, "Followed on %d simulated engines, this plan cost %s on average (± %s), with %.1f checks and %.1f repairs. It cured %s; the others were referred.",
			f.Engines, n.money(f.Cost), n.money(2*f.Error), f.Checks, f.Repairs, Percent(f.Cured))
	}
	return append(out, n.change(t)...)
}

func (n *NextFacts) money(v float64) string { return Money(v, n.Currency) }

// price is what a step costs. A repair's figure is more than the repair's bill: it holds the run
// that shows whether it worked.
func (n *NextFacts) price(s *Step) string {
	if s.Kind == "repair" && !s.onlyRuns() {
		return n.money(s.Cost) + " with the run after it"
	}
	return n.money(s.Cost)
}

// cost says what it takes from here, and what part of that the search for the cause is.
func (n *NextFacts) cost(s *Step) string {
	if s.onlyRuns() {
		return fmt.Sprintf("From here until the car is shown to be right: %s on average.", n.money(s.ExpectedCost))
	}
	text := fmt.Sprintf("From here to a cured car: %s on average.", n.money(s.ExpectedCost))
	if s.ExpectedCost-n.LeastPossible <= evenMargin*s.ExpectedCost {
		return text
	}
	return fmt.Sprintf("%s; with the cause known, %s.", strings.TrimSuffix(text, "."), n.money(n.LeastPossible))
}

func lead(l Lead) string { return l.Name + " " + Percent(l.Probability) }

// otherwise tells what a no would do: to the same cause, where a yes would raise it.
func (q *QuestionFacts) otherwise() string {
	for _, l := range q.IfNo {
		if l.Cause == q.IfYes[0].Cause {
			return Percent(l.Probability)
		}
	}
	return lead(q.IfNo[0])
}

// rival is the next best way that is not the first step.
func (n *NextFacts) rival() *Step {
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

// why says why the first step comes before the others.
func (n *NextFacts) why() string {
	s := &n.Steps[0]
	for _, w := range n.Waiting {
		if s.Kind == "check" && slices.Contains(w.ShowBy, s.Do) {
			return fmt.Sprintf("This comes first because it shows the cause directly. Only that is missing before the repair “%s”.", w.Name)
		}
	}
	r := n.rival()
	if r == nil {
		return ""
	}
	switch more := r.ExpectedCost - s.ExpectedCost; {
	case more < -evenMargin*s.ExpectedCost && n.foundBad != "":
		return fmt.Sprintf("It was found bad: %s. It is put right whatever else is wrong, so waiting saves nothing of its price.", n.foundBad)
	case more < -evenMargin*s.ExpectedCost && s.Kind == "repair" && r.learns():
		return fmt.Sprintf("Checking first (“%s”) would save about %s, less than the estimate's error. Do the repair.", r.Name, n.money(-more))
	case more < -evenMargin*s.ExpectedCost:
		return fmt.Sprintf("“%s” first would save about %s, less than the estimate's error.", r.Name, n.money(-more))
	case more < evenMargin*s.ExpectedCost && s.Kind == "repair" && r.learns():
		return fmt.Sprintf("Checking first (“%s”) would not make it cheaper. Do the repair.", r.Name)
	case more < evenMargin*s.ExpectedCost:
		return fmt.Sprintf("“%s” is just as good. Take whichever is easier.", r.Name)
	default:
		return fmt.Sprintf("The next best step, “%s”, would cost %s more on average.", r.Name, n.money(more))
	}
}

// lastCost is what is still to be spent after a step's last outcome.
func lastCost(s *Step) float64 {
	if len(s.Outcomes) == 0 {
		return 0
	}
	return s.Outcomes[len(s.Outcomes)-1].ExpectedCost
}

// results says what each outcome of a check would do to the odds, the money and the plan.
func (n *NextFacts) results() []string {
	s := &n.Steps[0]
	if !s.learns() {
		more := "Otherwise expect about " + n.money(lastCost(s)) + " more."
		switch {
		case s.onlyRuns():
			return []string{fmt.Sprintf("It shows a healthy engine in %s of cases. %s", Percent(s.Outcomes[0].Probability), more)}
		case s.Kind == "repair" || s.Kind == "quote":
			return []string{fmt.Sprintf("This cures the car in %s of cases. %s", Percent(s.Outcomes[0].Probability), more)}
		}
		return nil
	}
	var out []string
	for _, o := range s.Outcomes {
		var names []string
		for _, l := range o.Leads[:min(2, len(o.Leads))] {
			names = append(names, lead(l))
		}
		line := fmt.Sprintf("If %s (%s): %s; about %s more to spend.", o.Says, Percent(o.Probability), strings.Join(names, ", "), n.money(o.ExpectedCost))
		switch then := n.Tree.after(o.Is, o.Says); {
		case then == nil:
		case then.Kind == "repair":
			line += fmt.Sprintf(" Then repair without more checks: %s.", then.Name)
		default:
			line += fmt.Sprintf(" Then: %s.", then.Name)
		}
		out = append(out, line)
	}
	return out
}

// change says when to stop checking and what would change the plan.
func (n *NextFacts) change(t stepWriter) []Line {
	s := &n.Steps[0]
	var out []Line
	if s.learns() {
		for i := range n.Steps {
			if x := &n.Steps[i]; x.Kind == "repair" && !x.onlyRuns() {
				out = append(out, Line{StopAt, fmt.Sprintf("Repairing now without more checks (%s) would cost %s on average. Stop checking when that is the lowest figure.", x.Name, n.money(x.ExpectedCost))})
				break
			}
		}
	}
	if r := n.rival(); r != nil && t.car.Rate > 0 && r.ExpectedCost > s.ExpectedCost*(1+evenMargin) {
		more := r.ExpectedCost - s.ExpectedCost
		out = append(out, Line{Switch, fmt.Sprintf("“%s” would come first if this step cost %s more, or took %s longer.", r.Name, n.money(more), Time(more/t.car.Rate*60))})
	}
	return out
}
