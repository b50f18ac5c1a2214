package answer

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"weephole/cause"
	"weephole/plan"
	"weephole/plan/solve"
)

// Quote weighs another shop's offer.
type Quote struct {
	Presumes string  `json:"presumes"`
	Repair   string  `json:"repair"`
	Price    float64 `json:"price"`
	Here     float64 `json:"here"`     // what this shop would take for the same repair
	Presumed float64 `json:"presumed"` // probability that the cause it presumes is there
	Alone    float64 `json:"alone"`    // if it is there: that nothing else is wrong
	Takes    float64 `json:"takes"`    // if it is there: that the repair takes it away at the first try
	Cures    float64 `json:"cures"`    // probability that it leaves the car cured
	// Expected bills: accepted now, accepted where the plan's checks lead to it, by the plan alone.
	IfAccepted float64  `json:"if_accepted"`
	AfterPlan  float64  `json:"after_plan"`
	ByPlan     float64  `json:"by_plan"`
	BreakEven  *float64 `json:"break_even"`      // price at which accepting now and the plan are even; null if none is low enough
	Needed     *float64 `json:"break_even_odds"` // probability of the cause from which accepting now is the better bargain; null if never
	ToShow     float64  `json:"to_show"`         // probability that findings should lift it to
	Shows      []Shows  `json:"shows"`           // findings that would
	// Waits is true while the repair waits for a direct check of its cause.
	Waits bool   `json:"waits"`
	Says  string `json:"says"`
}

// Shows is what the other shop would have to show.
type Shows struct {
	Checks   []string `json:"checks"`
	Found    []string `json:"found"`
	Says     string   `json:"says"`
	Presumed float64  `json:"presumed"` // probability of the cause once it is shown
}

func quote(ctx context.Context, car *plan.Car, search *solve.Search, actions []solve.Action, ask Ask) (*Quote, error) {
	m := car.Model.Causes
	presumes := m.Index(ask.QuotePresumes)
	if presumes < 0 || len(actions) == 0 {
		return nil, nil
	}
	repair := m.Repair(ask.QuoteRepair)
	if repair == nil {
		i := m.UsualRepair(cause.Present{Cause: presumes, Site: cause.NoSite})
		if i < 0 {
			return nil, nil
		}
		repair = &m.Repairs[i]
	}
	price := ask.QuotePrice
	if price <= 0 {
		price = car.Bill(repair)
	}
	v, err := car.Quote(ctx, search, repair, price, presumes, actions[0].Expected)
	if err != nil {
		return nil, err
	}
	q := &Quote{
		Presumes: ask.QuotePresumes, Repair: repair.ID, Price: round(price), Here: round(car.Bill(repair)),
		Presumed: v.Presumed, Alone: v.Alone, Takes: v.Takes, Cures: v.Cures,
		IfAccepted: round(v.IfAccepted), AfterPlan: round(v.AfterPlan), ByPlan: round(v.ByPlan),
		BreakEven: known(round(v.BreakEven)), Needed: known(v.Needed), ToShow: v.ToShow, Shows: []Shows{},
	}
	for _, x := range v.Shows {
		s := Shows{Presumed: x.Presumed}
		var says []string
		for i, c := range x.Checks {
			is, said := outcomeSays(car, c, x.Outcomes[i], ask)
			s.Checks, s.Found = append(s.Checks, car.Checks[c].ID), append(s.Found, is)
			says = append(says, fmt.Sprintf("%s: %s", car.Checks[c].Name, said))
		}
		s.Says = strings.Join(says, ", and ")
		q.Shows = append(q.Shows, s)
	}
	if at := slices.Index(car.Repairs, repair); at >= 0 {
		q.Waits = car.Problem.Waits(at) || car.Support[at].Withheld()
	}
	q.Says = quoteSays(q, m.Causes[presumes].Name, repair.Name, ask)
	return q, nil
}

// withQuote puts accepting the quote among the steps, by its expected cost; never
// first while its cause is not shown as it should be, for the plan's own step is what
// would show it.
func withQuote(steps []Step, q *Quote) []Step {
	s := Step{
		Do: "accept-quote", Kind: "quote", Name: "accept the quote as it is", Engine: "any",
		Cost: q.Price, ExpectedCost: q.IfAccepted, Least: q.Price, Most: q.IfAccepted,
		Cautions: []string{}, Tools: []string{}, Outcomes: []Outcome{
			{Is: "cured", Says: "the run after it shows a healthy engine", Probability: q.Cures, Leads: []Lead{}},
			{Is: "not-cured", Says: "something is still wrong", Probability: 1 - q.Cures, Leads: []Lead{}},
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

// bornOut is the probability of the presumed cause from which findings are said
// to bear a quote out; judgement.
const bornOut = 0.75

// quoteSays keeps three things apart: whether the cause is there, whether it is all
// that is wrong, and whether the repair takes at the first try. Run together they
// read like a refusal of a quote that is right.
func quoteSays(q *Quote, presumed, repair string, ask Ask) string {
	money := func(v float64) string { return Money(v, ask.Currency) }
	var s []string
	if q.Presumed >= bornOut {
		s = append(s, fmt.Sprintf("What has been found bears the quote out: %s engines that still fit have %s.", Per100(q.Presumed), article(presumed)))
	} else {
		s = append(s, fmt.Sprintf("The quote presumes %s: %s engines that still fit have it.", article(presumed), Per100(q.Presumed)))
	}
	if Per100(q.Presumed) != Per100(0) {
		if q.Alone > allAlone {
			s = append(s, "Where it is there, it is all that is wrong.")
		} else {
			s = append(s, fmt.Sprintf("Where it is there, it is all that is wrong in %s; in the others something else wants putting right as well, often what brought it about.", Per100(q.Alone)))
		}
		s = append(s, fmt.Sprintf("The repair takes it away at the first try in %s; bad parts, botched work and faults that go deeper are the rest.", Per100(q.Takes)))
	}
	s = append(s, fmt.Sprintf("Asked to %s: %s; this shop would take about %s.", repair, money(q.Price), money(q.Here)))
	bills := fmt.Sprintf("On average the whole bill comes to %s if it is accepted now, %s if the plan's checks are made first and the other shop does it where they lead to it, and %s by the plan here.",
		money(q.IfAccepted), money(q.AfterPlan), money(q.ByPlan))
	s = append(s, bills)
	switch {
	case q.IfAccepted <= q.ByPlan*(1+sameBill):
		s = append(s, "Accepted now it costs no more than the plan.")
	case q.BreakEven != nil:
		s = append(s, fmt.Sprintf("It would have to cost less than %s to be the better bargain today.", money(*q.BreakEven)))
	default:
		s = append(s, "No price is low enough to make it the better bargain today.")
	}
	if len(q.Shows) > 0 {
		var list []string
		for _, x := range q.Shows {
			list = append(list, fmt.Sprintf("%s (then %s)", x.Says, Per100(x.Presumed)))
		}
		s = append(s, fmt.Sprintf("To be sound, the cause would have to stand at %s or more. The other shop would have to show one of these: %s.", Per100(q.ToShow), strings.Join(list, "; ")))
	} else if q.Presumed < q.ToShow {
		s = append(s, fmt.Sprintf("To be sound, the cause would have to stand at %s or more, and no one or two findings would lift it there.", Per100(q.ToShow)))
	}
	return strings.Join(s, " ")
}

// sameBill is the share by which two expected bills may differ and still be called
// the same, and allAlone the share of engines from which a cause is called all that
// is wrong; judgement: a plan's figures are not better than that.
const (
	sameBill = 0.02
	allAlone = 0.97
)
