package answer

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"weephole/internal/work"
)

// QuoteFacts weighs another shop's offer.
type QuoteFacts struct {
	Presumes string  `json:"presumes"`
	Repair   string  `json:"repair"`
	Price    float64 `json:"price"`
	Here     float64 `json:"here"`     // what this shop would take for the same repair
	Presumed float64 `json:"presumed"` // probability that the cause it presumes is there
	Alone    float64 `json:"alone"`    // if it is there: that nothing else is wrong
	Takes    float64 `json:"takes"`    // if it is there: that the repair takes it away at the first try
	Cures    float64 `json:"cures"`    // probability that it leaves the car cured
	// Expected bills: accepted now, accepted where the plan's checks lead to it, by the plan alone.
	IfAccepted float64        `json:"if_accepted"`
	AfterPlan  float64        `json:"after_plan"`
	ByPlan     float64        `json:"by_plan"`
	BreakEven  *float64       `json:"break_even"`      // price at which accepting now and the plan are even; null if none is low enough
	Needed     *float64       `json:"break_even_odds"` // probability of the cause from which accepting now is the better bargain; null if never
	ToShow     float64        `json:"to_show"`         // probability that findings should lift it to
	Showings   []ShowingFacts `json:"shows"`           // findings that would
	// Waits is true while the repair waits for a direct check of its cause.
	Waits bool   `json:"waits"`
	Lines []Line `json:"lines"`
}

// ShowingFacts is what the other shop would have to show.
type ShowingFacts struct {
	Checks   []string `json:"checks"`
	Found    []string `json:"found"`
	Says     string   `json:"says"`
	Presumed float64  `json:"presumed"` // probability of the cause once it is shown
}

func (t stepWriter) quote(v *work.WeighedQuote, first *Step) *QuoteFacts {
	car, causes := t.car, t.car.Model.Causes
	q := &QuoteFacts{
		Presumes: causes.Causes[v.Presumes].ID, Repair: v.Repair.ID, Price: round(v.Price), Here: round(car.Bill(v.Repair)),
		Presumed: v.Presumed, Alone: v.Alone, Takes: v.Takes, Cures: v.Cures,
		IfAccepted: round(v.IfAccepted), AfterPlan: round(v.AfterPlan), ByPlan: round(v.ByPlan),
		BreakEven: known(round(v.BreakEven)), Needed: known(v.Needed), ToShow: v.ToShow, Waits: v.Waits, Showings: []ShowingFacts{},
	}
	for _, x := range v.Shows {
		s := ShowingFacts{Presumed: x.Presumed}
		var says []string
		for i, c := range x.Checks {
			is, said := t.outcome(c, x.Outcomes[i])
			s.Checks, s.Found = append(s.Checks, car.Checks[c].ID), append(s.Found, is)
			says = append(says, fmt.Sprintf("%s: %s", car.Checks[c].Name, said))
		}
		s.Says = strings.Join(says, ", and ")
		q.Showings = append(q.Showings, s)
	}
	q.Lines = q.tell(causes.Causes[v.Presumes].Name, first, t.Style)
	return q
}

// withQuote puts accepting the quote among the steps, by its expected cost; never
// first while its cause is not shown as it should be, for the plan's own step is what
// would show it.
func withQuote(steps []Step, q *QuoteFacts) []Step {
	s := Step{
		Do: "accept-quote", Kind: "quote", Name: "accept the quote as it is", Engine: "any",
		Cost: q.Price, ExpectedCost: q.IfAccepted, Least: q.Price, Most: q.IfAccepted,
		Cautions: []string{}, Tools: []string{}, Outcomes: []OutcomeFacts{
			{Is: "cured", Says: healthyAfter, Probability: q.Cures, Leads: []Lead{}},
			{Is: "not-cured", Says: stillWrong, Probability: 1 - q.Cures, Leads: []Lead{}},
		},
	}
	if q.Cures < 1 {
		s.Outcomes[1].ExpectedCost = round((q.IfAccepted - q.Price) / (1 - q.Cures))
	}
	at := 0
	for at < len(steps) && (steps[at].ExpectedCost <= s.ExpectedCost || at == 0 && (q.Presumed < q.ToShow || q.Waits)) {
		at++
	}
	return slices.Insert(steps, at, s)
}

// known is nil for what is not a number.
func known(v float64) *float64 {
	if math.IsNaN(v) {
		return nil
	}
	return &v
}

// supported is the probability of the presumed cause from which the findings are
// said to support a quote; judgement.
const supported = 0.75

// sameBill is the share by which two expected bills may differ and still be called
// the same, and allAlone the share of engines from which a cause is called all that
// is wrong; judgement: a plan's figures are not better than that.
const (
	sameBill = 0.02
	allAlone = 0.97
)

// samePrice is the share by which two shops' prices may differ and still be called the same.
// highPrice is how many times our own a price is called high. Judgement.
const (
	samePrice = 0.05
	highPrice = 1.5
)

// tell says a quote in at most three lines: what it is worth, what it would come to,
// and what to do or to see before it is taken.
func (q *QuoteFacts) tell(presumed string, first *Step, s Style) []Line {
	lines := []Line{{Verdict, q.verdict(presumed, s)}, {Bills, q.bills(s)}}
	if text := q.before(first); text != "" {
		lines = append(lines, Line{Needed, text})
	}
	return lines
}

// verdict says whether the cause is the right one, and the price a fair one. That the
// cause is there, that it is all that is wrong and that the repair works at once
// are three things; run together they read like a refusal of a quote that is right.
func (q *QuoteFacts) verdict(presumed string, s Style) string {
	if q.Presumed < supported {
		return fmt.Sprintf("The quote assumes %s. By the findings so far its probability is %s.", Article(presumed), Percent(q.Presumed))
	}
	text := fmt.Sprintf("The findings support the quote: the probability of %s is %s.", Article(presumed), Percent(q.Presumed))
	if q.Waits {
		return text + " It is not shown directly yet."
	}
	near := "about our price"
	switch more := q.Price - q.Here; {
	case more > samePrice*q.Here:
		near = s.money(more) + " above our price"
	case more < -samePrice*q.Here:
		near = s.money(-more) + " below our price"
	}
	if q.Price > highPrice*q.Here {
		return fmt.Sprintf("%s Right repair, high price: %s is %s.", text, s.money(q.Price), near)
	}
	return fmt.Sprintf("%s Fair: right repair, %s.", text, near)
}

// bills sets accepting it now beside the plan.
func (q *QuoteFacts) bills(s Style) string {
	text := fmt.Sprintf("Expected bill: %s accepted now, %s after the plan's checks, %s by the plan here.", s.money(q.IfAccepted), s.money(q.AfterPlan), s.money(q.ByPlan))
	switch {
	case q.IfAccepted <= q.ByPlan*(1+sameBill):
		return text + " Accepting it costs no more than the plan."
	case q.BreakEven != nil:
		return fmt.Sprintf("%s Accepting it now pays off below %s.", text, s.money(*q.BreakEven))
	}
	return text + " No price would make accepting it now cheaper."
}

// before says what must be seen first, or what else may be wrong.
func (q *QuoteFacts) before(first *Step) string {
	switch {
	case len(q.Showings) > 0:
		x := q.Showings[0]
		return fmt.Sprintf("Ask the other shop to show it. This would raise the probability to %s: %s.", Percent(x.Presumed), x.Says)
	case q.Presumed < q.ToShow:
		return fmt.Sprintf("Accepting it makes sense once that probability is %s or more. No two results would raise it that far.", Percent(q.ToShow))
	case first != nil && first.learns():
		return fmt.Sprintf("But first: %s (%s).", first.Name, Time(first.Minutes))
	case Usual.Tells(q.Presumed) && q.Alone <= allAlone:
		return fmt.Sprintf("It is the only fault in %s of cases; the repair removes it at the first try in %s.", Percent(q.Alone), Percent(q.Takes))
	case Usual.Tells(q.Presumed):
		return fmt.Sprintf("Nothing else is wrong then; the repair works at the first try in %s of cases.", Percent(q.Takes))
	}
	return ""
}
