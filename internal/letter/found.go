package letter

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"weephole/internal/aftercare"
	"weephole/internal/answer"
	"weephole/internal/job"
	"weephole/lineup"
	"weephole/quantity"
	"weephole/trace"
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
	var b strings.Builder
	if len(signs) > 0 {
		b.WriteString("In our words: " + and(signs) + ".")
	}
	if len(when) > 0 {
		b.WriteString(" It happens: " + and(when) + ".")
	}
	if len(fine) > 0 {
		b.WriteString(" It does not happen: " + and(fine) + ".")
	}
	if b.Len() > 0 {
		s.Paras = append(s.Paras, strings.TrimSpace(b.String()))
	}
	return s
}

// measured lists the findings made before the repair, and draws the run after it.
func (w *writer) measured() Section {
	s := Section{Head: "What we measured"}
	last := len(w.Job.Findings)
	if n := len(w.Parted.RepairOf); n > 0 {
		last = w.Parted.RepairOf[0]
	}
	for i := range w.Job.Findings[:last] {
		if what, showed := w.finding(&w.Job.Findings[i]); what != "" {
			s.Rows = append(s.Rows, [2]string{what, showed})
		}
	}
	var bands []aftercare.Band
	if w.Proof != nil {
		bands = w.Proof.Bands
	}
	if s.Chart = aftercare.Picture(w.Before, bands, w.Units); s.Chart != nil {
		s.Chart.Standalone = true
	}
	return s
}

// Finding says a finding of a job in two phrases: what was done, and what it
// showed.
func Finding(m *lineup.Model, u quantity.Units, f *job.Finding) (what, showed string) {
	w := writer{Facts: Facts{Model: m, Units: u}}
	return w.finding(f)
}

// finding says a finding in two phrases.
func (w *writer) finding(f *job.Finding) (what, showed string) {
	if f.Repair != "" {
		if r := w.Model.Causes.Repair(f.Repair); r != nil {
			changed := map[string]string{"nothing": "changed nothing", "better": "made it better", "worse": "made it worse", "cured": "seemed to cure it"}[f.Changed]
			return "Tried: " + r.Name, changed
		}
		return "", ""
	}
	c := w.Model.Checks.Check(f.Check)
	if c == nil {
		return "", ""
	}
	var says []string
	if f.Found != "" && f.Found != job.Unknown {
		if i := c.WordIndex(f.Found); i >= 0 {
			says = append(says, c.Words[i].Says)
		}
	}
	for _, r := range f.Read {
		if k := c.ReadingIndex(r.ID); k >= 0 && r.Known() {
			says = append(says, c.Readings[k].Name+" "+answer.Amount(w.Units, c.Readings[k].What, r.Value))
		}
	}
	if f.Trace != "" {
		says = append(says, w.logged(f.Trace))
	}
	if len(says) == 0 {
		return "", ""
	}
	return sentence(c.Name), strings.Join(says, "; ")
}

// logged says of a log how hot it got, where it is at hand.
func (w *writer) logged(name string) string {
	if w.Before == nil || w.Before.Name != name {
		return "logged"
	}
	hottest := math.Inf(-1)
	for _, c := range w.Before.Signals[trace.Coolant] {
		if c > hottest { // false for a gap
			hottest = c
		}
	}
	if math.IsInf(hottest, 0) {
		return "logged"
	}
	return "logged; the hottest was " + w.Units.Temperature(quantity.Temperature(hottest))
}

func (w *writer) was() Section {
	s := Section{Head: "What it was"}
	o := w.odds(w.cause)
	if o == nil {
		s.Paras = append(s.Paras, "We could not find it out with certainty. What was measured fits several causes; none of them reaches even odds.")
		return s
	}
	c := w.Model.Causes.Cause(w.cause)
	says := sentence(w.name(w.cause)) + "."
	if !w.sure {
		says = "Most likely: " + w.name(w.cause) + "."
	}
	s.Paras = append(s.Paras, says+" "+c.Tells)
	s.Paras = append(s.Paras, fmt.Sprintf("How we know: we compared your car with %d simulated engines like it, each with something else wrong. From what you told us, %s of every 200 that would act like yours had this; after what we measured, %s of 200.%s",
		w.Odds.Candidates, count(o.Before, 200), count(o.Probability, 200), w.rest(o)))
	for _, r := range o.For[:min(3, len(o.For))] {
		if r.Finding > 0 {
			s.Items = append(s.Items, "What spoke for it: "+w.reason(r)+".")
		}
	}
	for i := range w.Odds.Causes {
		x := &w.Odds.Causes[i]
		if x.Cause != w.cause && x.Probability >= supported && x.Cause != "no-fault" && x.Cause != "something-else" {
			s.Paras = append(s.Paras, fmt.Sprintf("It also had %s: %s of 200.", w.name(x.Cause), count(x.Probability, 200)))
		}
	}
	if w.Job.Closing.Showed != "" {
		s.Paras = append(s.Paras, "When it was open we saw: "+w.Job.Closing.Showed+".")
	}
	return s
}

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
		return fmt.Sprintf(" Most of the others had %s.", w.name(x.Cause))
	}
	return ""
}

// reason says a reason with what was found.
func (w *writer) reason(r lineup.Reason) string {
	times := math.Pow(10, math.Abs(r.Decibans)/10)
	much := "somewhat more"
	switch {
	case times >= 50:
		much = "very much more"
	case times >= 8:
		much = "much more"
	}
	if r.Decibans < 0 {
		much = strings.Replace(much, "more", "less", 1)
	}
	what := r.What
	if i := r.Finding - 1; i >= 0 && i < len(w.findingOf()) {
		if a, b := w.finding(&w.Job.Findings[w.findingOf()[i]]); a != "" {
			what = lower(a) + " (" + b + ")"
		}
	}
	return fmt.Sprintf("%s. One sees that %s often on cars with this fault than on others", what, much)
}

// findingOf maps the events of the case before the repair to findings.
func (w *writer) findingOf() []int { return w.Parted.BeforeOf }

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
	for i := range list {
		o := &list[i]
		if o.Cause == w.cause || o.Probability > ruledOut || o.Before < wasLikely || o.Cause == "something-else" || len(s.Items) == mostRuled {
			continue
		}
		if o.Cause == "no-fault" {
			continue
		}
		why := ""
		for _, r := range o.Against {
			if r.Finding > 0 {
				why = " What spoke against it: " + w.reason(r) + "."
				break
			}
		}
		s.Items = append(s.Items, fmt.Sprintf("Not %s: %s of every 200 engines that fit have it; at first it was %s.%s",
			w.name(o.Cause), count(o.Probability, 200), count(o.Before, 200), why))
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
		price = " for " + w.Units.Money(q.Price.Value)
	}
	s.Paras = append(s.Paras, fmt.Sprintf("You brought a quote from %s: %s%s.", by, what, price))
	o := w.odds(q.Presumes)
	if o == nil {
		s.Paras = append(s.Paras, "It does not say which cause it is for, so we cannot weigh it.")
		return s
	}
	n := count(o.Probability, 200)
	switch {
	case q.Presumes == w.cause:
		s.Paras = append(s.Paras, fmt.Sprintf("They were right about the cause: it was %s. Our own measurements say the same.", w.name(q.Presumes)))
	case o.Probability >= supported:
		s.Paras = append(s.Paras, fmt.Sprintf("What we measured supports it: of every 200 engines that fit, %s have %s.", n, w.name(q.Presumes)))
	case o.Probability > ruledOut:
		s.Paras = append(s.Paras, fmt.Sprintf("What we measured neither supports it nor rules it out: of every 200 engines that fit, %s have %s. That is too few to begin with the dearest repair.", n, w.name(q.Presumes)))
	default:
		s.Paras = append(s.Paras, fmt.Sprintf("What we measured does not support it: of every 200 engines that fit, %s have %s. From what you told them it was not a foolish guess (%s of 200 at that point); it takes measurements to tell.", n, w.name(q.Presumes), count(o.Before, 200)))
	}
	return s
}
