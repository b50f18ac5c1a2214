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

func (t stepWriter) quote(v *work.WeighedQuote) *QuoteFacts {
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
	q.Lines = q.writeLines(causes.Causes[v.Presumes].Name, v.Repair.Name, t.Style)
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

// writeLines keeps three things apart: whether the cause is there, whether it is all that
// is wrong, and whether the repair works at the first try. Run together they read
// like a refusal of a quote that is right.
func (q *QuoteFacts) writeLines(presumed, repair string, s Style) []Line {
	var out []Line
	say := func(k Kind, format string, args ...any) { out = append(out, Line{k, fmt.Sprintf(format, args...)}) }
	if q.Presumed >= supported {
		say(Verdict, "The findings support the quote: the probability of %s is %s.", Article(presumed), Percent(q.Presumed))
	} else {
		say(Verdict, "The quote assumes %s. By the findings so far its probability is %s.", Article(presumed), Percent(q.Presumed))
	}
	if Usual.Tells(q.Presumed) {
		if q.Alone > allAlone {
			say(Surplus, "If this cause is there, nothing else is wrong.")
		} else {
			say(Surplus, "If this cause is there, it is the only fault in %s of cases. In the others a second fault needs repair too, often the one that caused it.", Percent(q.Alone))
		}
		say(Surplus, "The repair removes it at the first try in %s of cases. The rest are bad parts, mistakes and deeper damage.", Percent(q.Takes))
	}
	say(Offer, "The quote to %s is %s. This shop would charge about %s.", repair, s.money(q.Price), s.money(q.Here))
	say(Bills, "Expected total bill: %s if it is accepted now; %s if the plan's checks come first and the quote is accepted where they support it; %s by the plan here.",
		s.money(q.IfAccepted), s.money(q.AfterPlan), s.money(q.ByPlan))
	switch {
	case q.IfAccepted <= q.ByPlan*(1+sameBill):
		say(Bills, "Accepting it now costs no more than the plan.")
	case q.BreakEven != nil:
		say(Bills, "Accepting it now pays off only below %s.", s.money(*q.BreakEven))
	default:
		say(Bills, "At no price would accepting it now be cheaper than the plan.")
	}
	switch {
	case len(q.Showings) > 0:
		var list []string
		for _, x := range q.Showings {
			list = append(list, fmt.Sprintf("%s (then %s)", x.Says, Percent(x.Presumed)))
		}
		say(Needed, "The quote makes sense from %s confidence up. The other shop could show one of these: %s.", Percent(q.ToShow), strings.Join(list, "; "))
	case q.Presumed < q.ToShow:
		say(Needed, "The quote makes sense from %s confidence up. No one or two findings would raise it that far.", Percent(q.ToShow))
	}
	return out
}
