package paper

import (
	"fmt"
	"slices"
	"strings"

	"weephole/internal/answer"
	"weephole/internal/job"
	"weephole/internal/work"
	"weephole/lineup"
)

func (w *writer) told() Section {
	s := Section{Head: "What you told us"}
	c := &w.Job.Complaint
	if c.Words != "" {
		s.Paras = append(s.Paras, "“"+strings.TrimSpace(c.Words)+"”")
	}
	var signs, when, fine []string
	for _, id := range c.Signs {
		if i := w.Model.Checks.SignIndex(id); i >= 0 {
			signs = append(signs, w.Model.Checks.Signs[i].Name)
		}
	}
	conditions := func(ids []string) (out []string) {
		for _, id := range ids {
			if i := w.Model.Checks.ConditionIndex(id); i >= 0 {
				out = append(out, w.Model.Checks.Conditions[i].Name)
			}
		}
		return out
	}
	when, fine = conditions(c.When), conditions(c.Fine)
	for _, x := range []struct {
		head string
		list []string
	}{{"The signs", signs}, {"When it happens", when}, {"When it does not", fine}} {
		if len(x.list) > 0 {
			s.Rows = append(s.Rows, [2]string{x.head, strings.Join(x.list, "; ")})
		}
	}
	return s
}

// measured lists the findings made before the repair, and draws the run after it.
func (w *writer) measured() Section {
	s := Section{Head: "What we measured"}
	last := len(w.Job.Findings)
	if n := len(w.History.RepairOf); n > 0 {
		last = w.History.RepairOf[0]
	}
	for i := range w.Job.Findings[:last] {
		if what, showed := w.finding(&w.Job.Findings[i]); what != "" {
			s.Rows = append(s.Rows, [2]string{what, showed})
		}
	}
	var bands []work.ProofBand
	if w.Proof != nil {
		bands = w.Proof.Bands
	}
	if s.Chart = answer.Picture(w.Before, bands, w.Style.Units); s.Chart != nil {
		s.Chart.Standalone = true
	}
	return s
}

// finding says a finding in two phrases.
func (w *writer) finding(f *job.Finding) (what, showed string) {
	return answer.Finding(w.Model, w.Style.Units, f, w.Before)
}

func (w *writer) was() Section {
	s := Section{Head: "What it was"}
	o := w.odds(w.cause)
	if o == nil {
		s.Paras = append(s.Paras, "We could not find the cause with certainty. The measurements fit several causes, and none of them reaches 50 %.")
		return s
	}
	c := w.Model.Causes.Cause(w.cause)
	says := answer.Sentence(w.name(w.cause)) + "."
	if !w.sure {
		says = "Most likely: " + w.name(w.cause) + "."
	}
	s.Paras = append(s.Paras, says+" "+c.Tells)
	s.Paras = append(s.Paras, fmt.Sprintf("How we know: we compared your car with %s simulated engines like it, each with a different fault. From what you told us, the probability of this cause was %s. After our measurements it was %s.%s",
		answer.Thousands(w.Odds.Candidates), w.percent(o.Before), w.percent(o.Probability), w.rest(o)))
	for _, r := range o.For[:min(3, len(o.For))] {
		if r.Finding > 0 {
			s.Items = append(s.Items, w.reason(r)+".")
		}
	}
	for i := range w.Odds.Causes {
		x := &w.Odds.Causes[i]
		if x.Cause != w.cause && x.Probability >= supported && w.named(x.Cause) {
			s.Paras = append(s.Paras, fmt.Sprintf("It also had %s (%s).", w.name(x.Cause), w.percent(x.Probability)))
		}
	}
	if w.Job.Closing.Showed != "" {
		s.Paras = append(s.Paras, "When we opened it we saw: "+w.Job.Closing.Showed+".")
	}
	return s
}

func (w *writer) percent(p float64) string { return w.step.Percent(p) }

// rest names what most of the other engines had, where they are many.
func (w *writer) rest(o *lineup.CauseOdds) string {
	if o.Probability >= 0.8 {
		return ""
	}
	for i := range w.Odds.Causes {
		x := &w.Odds.Causes[i]
		if x.Cause == o.Cause || x.Probability < 0.1 {
			continue
		}
		return fmt.Sprintf(" Most of the other matching engines had %s.", w.name(x.Cause))
	}
	return ""
}

// because is the finding that speaks most clearly, in the words of the findings; empty
// where no finding does.
func (w *writer) because(list []lineup.Reason) string {
	for _, r := range list {
		if i := r.Finding - 1; i >= 0 && i < len(w.History.BeforeOf) {
			if what, showed := w.finding(&w.Job.Findings[w.History.BeforeOf[i]]); what != "" {
				return answer.Lower(what) + " (" + showed + ")"
			}
		}
	}
	return ""
}

// reason says a reason with what was found.
func (w *writer) reason(r lineup.Reason) string {
	what := r.What
	if i := r.Finding - 1; i >= 0 && i < len(w.History.BeforeOf) {
		if a, b := w.finding(&w.Job.Findings[w.History.BeforeOf[i]]); a != "" {
			what = answer.Lower(a) + " (" + b + ")"
		}
	}
	return answer.Sentence(answer.Strength(r.Decibans)) + " for it: " + what
}

func (w *writer) wasNot() Section {
	s := Section{Head: "What it was not, and how we know"}
	list := slices.Clone(w.Odds.Causes)
	slices.SortStableFunc(list, func(a, b lineup.CauseOdds) int {
		switch {
		case a.Before > b.Before:
			return -1
		case a.Before < b.Before:
			return 1
		}
		return 0
	})
	small := false
	for i := range list {
		o := &list[i]
		if o.Cause == w.cause || o.Probability > ruledOut || o.Before < wasLikely || !w.named(o.Cause) || len(s.Items) == mostRuled {
			continue
		}
		if o.Probability > fell*o.Before {
			small = true // it was hardly likelier before anything was measured
			continue
		}
		from, to := w.percent(o.Before), w.percent(o.Probability)
		if why := w.because(o.Against); why != "" {
			s.Items = append(s.Items, fmt.Sprintf("Not %s. What speaks against it: %s. Our measurements took its probability from %s to %s.", w.name(o.Cause), why, from, to))
			continue
		}
		s.Items = append(s.Items, fmt.Sprintf("Not %s. All our measurements together took its probability from %s to %s.", w.name(o.Cause), from, to))
	}
	if small && len(s.Items) == 0 {
		s.Paras = append(s.Paras, "Our measurements have ruled nothing out yet.")
	}
	return s
}

func (w *writer) quote() Section {
	s := Section{Head: "The repair that was quoted"}
	q := w.Job.Quote
	if q == nil {
		return s
	}
	by := q.By
	if by == "" {
		by = "another shop"
	}
	what := "a repair"
	if r := w.Model.Causes.Repair(q.Repair); r != nil {
		what = "to " + r.Name
	}
	price := ""
	if q.Price.Known() {
		price = " for " + w.Style.Units.Money(q.Price.Value)
	}
	s.Paras = append(s.Paras, fmt.Sprintf("You brought a quote from %s: %s%s.", by, what, price))
	o := w.odds(q.Presumes)
	if o == nil {
		s.Paras = append(s.Paras, "It does not say which cause it is for, so we cannot judge it.")
		return s
	}
	n := w.percent(o.Probability)
	switch {
	case q.Presumes == w.cause:
		s.Paras = append(s.Paras, fmt.Sprintf("They were right about the cause: it was %s. Our own measurements say the same.", w.name(q.Presumes)))
	case o.Probability >= supported:
		s.Paras = append(s.Paras, fmt.Sprintf("Our measurements support it: the probability of %s was %s.", w.name(q.Presumes), n))
	case o.Probability > ruledOut:
		s.Paras = append(s.Paras, fmt.Sprintf("Our measurements neither support it nor rule it out: the probability of %s was %s. That is too little to begin with the most expensive repair.", w.name(q.Presumes), n))
	default:
		s.Paras = append(s.Paras, fmt.Sprintf("Our measurements do not support it: the probability of %s was %s. From what you told them it was a reasonable guess (%s at that point). It took measurements to tell.", w.name(q.Presumes), n, w.percent(o.Before)))
	}
	return s
}

// named is true of a fault that the catalogue knows.
func (w *writer) named(id string) bool {
	i := w.Model.Causes.Index(id)
	return i != w.Model.Causes.NoFault() && i != w.Model.Causes.Unnamed()
}
