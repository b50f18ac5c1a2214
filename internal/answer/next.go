package answer

import (
	"context"
	"fmt"
	"math"
	"sort"
	"strings"

	"weephole/cause"
	"weephole/lineup"
	"weephole/plan"
	"weephole/quantity"
)

// Next is the answer to "what do I do now?".
type Next struct {
	Steps []Step `json:"steps"` // cheapest expected way to a cured car first
	Quote *Quote `json:"quote,omitempty"`
	// LeastPossible is the expected cost if the cause were known for nothing:
	// no plan can do better.
	LeastPossible float64  `json:"least_possible"`
	Currency      string   `json:"currency"`
	Says          []string `json:"says"`
}

// Step is one thing that could be done next.
type Step struct {
	Do           string    `json:"do"`   // id of the check or repair; "hand-on", "prove-healthy"
	Kind         string    `json:"kind"` // check | repair | hand-on
	Name         string    `json:"name"`
	How          string    `json:"how,omitempty"`
	Minutes      float64   `json:"minutes"`       // of work
	Wait         float64   `json:"wait"`          // minutes until the engine is ready for it
	Cost         float64   `json:"cost"`          // of the step itself, waiting and consumables included
	ExpectedCost float64   `json:"expected_cost"` // from now to a cured car, if it is done next
	Engine       string    `json:"engine"`        // state it needs
	Cautions     []string  `json:"cautions"`      // read before the step
	Tools        []string  `json:"tools"`
	Lacks        []string  `json:"lacks,omitempty"` // tools that are not at hand
	Outcomes     []Outcome `json:"outcomes"`
}

// Outcome is what may come of a step and what it would do to the odds.
type Outcome struct {
	Is           string  `json:"is"`
	Says         string  `json:"says"`
	Probability  float64 `json:"probability"`
	ExpectedCost float64 `json:"expected_cost"` // from there on
	Leads        []Lead  `json:"leads"`         // the likeliest causes then
}

// Lead is a cause and its probability.
type Lead struct {
	Cause       string  `json:"cause"`
	Name        string  `json:"name"`
	Probability float64 `json:"probability"`
}

// Quote weighs another shop's offer.
type Quote struct {
	Presumes   string   `json:"presumes"`
	Repair     string   `json:"repair"`
	Price      float64  `json:"price"`
	Presumed   float64  `json:"presumed"`    // probability that the cause it presumes is there
	Cures      float64  `json:"cures"`       // probability that it cures the car
	IfAccepted float64  `json:"if_accepted"` // expected bill when accepted now
	ByPlan     float64  `json:"by_plan"`     // expected bill by the plan
	BreakEven  *float64 `json:"break_even"`  // price at which both are even; null if none is low enough
	Says       string   `json:"says"`
}

// Ask is what a plan is asked for.
type Ask struct {
	Shop     plan.Shop
	Settings *plan.Settings
	Units    quantity.Units
	Currency string
	Beams    []int // how far the search looks ahead; nil: one step
	// The quote, if there is one.
	QuotePresumes, QuoteRepair string
	QuotePrice                 float64 // 0: not said
}

// ForNext plans from a lineup.
func ForNext(ctx context.Context, l *lineup.Lineup, ask Ask) (*Next, error) {
	car, err := plan.ForLineup(ctx, l, ask.Settings, ask.Shop)
	if err != nil {
		return nil, err
	}
	search := car.Search(ask.Beams...)
	actions, err := search.Rank(ctx, int(ask.Shop.State))
	if err != nil {
		return nil, err
	}
	n := &Next{LeastPossible: round(search.PerfectInformation(int(ask.Shop.State))), Currency: ask.Currency, Steps: []Step{}}
	for _, a := range actions {
		n.Steps = append(n.Steps, step(car, a, ask))
	}
	if ask.QuotePresumes != "" {
		n.Quote = quote(car, search, actions, ask)
	}
	n.Says = n.says(ask)
	return n, nil
}

func step(car *plan.Car, a plan.Action, ask Ask) Step {
	s := Step{Cost: round(a.Cost), ExpectedCost: round(a.Expected), Cautions: []string{}, Tools: []string{}, Outcomes: []Outcome{}}
	m := car.Model
	switch a.Kind {
	case plan.DoCheck:
		k := car.Checks[a.Index]
		s.Do, s.Kind, s.Name, s.How = k.ID, "check", k.Name, k.How
		s.Minutes, s.Engine, s.Tools = k.Minutes.Typical, k.State, append(s.Tools, k.Tools...)
		s.Wait = car.Wait(k, ask.Shop.State)
		s.Lacks = car.Lacking[a.Index]
		s.Cautions = cautions(m, k.Hazards)
		for o, out := range a.Outcomes {
			if out.Probability <= 0 {
				continue
			}
			r := car.Results[a.Index][o]
			x := Outcome{Is: r.Word, Says: r.Says, Probability: out.Probability, ExpectedCost: round(out.Expected), Leads: leads(car, out.Belief)}
			if r.Reading != "" {
				x.Is = r.Reading
				x.Says = fmt.Sprintf("%s %s", spaced(r.Reading), Span(ask.Units, r.What, [2]float64{r.From, r.To}))
			}
			s.Outcomes = append(s.Outcomes, x)
		}
	case plan.DoRepair:
		if r := car.Repairs[a.Index]; r != nil {
			s.Do, s.Kind, s.Name, s.How = r.ID, "repair", r.Name, r.How
			s.Minutes, s.Engine, s.Tools = r.Minutes.Typical, r.State, append(s.Tools, r.Tools...)
			s.Cautions = append(cautions(m, r.Hazards), r.Cautions...)
		} else {
			s.Do, s.Kind, s.Name, s.Engine = "prove-healthy", "repair", "run it as the owner does, and show that nothing is wrong", "any"
			s.Minutes = car.Settings.ProofRun.Value
		}
		s.Outcomes = append(s.Outcomes,
			Outcome{Is: "cured", Says: "the run after it shows a healthy engine", Probability: a.Outcomes[0].Probability, Leads: []Lead{}},
			Outcome{Is: "not-cured", Says: "something is still wrong", Probability: a.Outcomes[1].Probability, ExpectedCost: round(a.Outcomes[1].Expected), Leads: []Lead{}})
	default:
		s.Do, s.Kind, s.Name, s.Engine = "hand-on", "hand-on", "hand the car on to a specialist", "any"
	}
	return s
}

// cautions are the sentences that must be read before a step.
func cautions(m *lineup.Model, hazards []string) []string {
	out := []string{}
	for _, id := range hazards {
		for _, h := range m.Causes.Hazards {
			if h.ID == id {
				out = append(out, h.Caution)
			}
		}
	}
	return out
}

// leadsShown is how many causes are worth naming after an outcome.
const leadsShown = 3

func leads(car *plan.Car, belief []float64) []Lead {
	by := make(map[int]float64)
	for h, w := range belief {
		seen := map[int]bool{}
		for _, k := range car.Problem.Faults[h] {
			if c := car.Kinds[k].Cause; !seen[c] {
				seen[c] = true
				by[c] += w
			}
		}
	}
	var ids []int
	for c := range by {
		ids = append(ids, c)
	}
	sort.Slice(ids, func(i, j int) bool {
		if by[ids[i]] != by[ids[j]] {
			return by[ids[i]] > by[ids[j]]
		}
		return ids[i] < ids[j]
	})
	out := []Lead{}
	for _, c := range ids[:min(leadsShown, len(ids))] {
		k := &car.Model.Causes.Causes[c]
		out = append(out, Lead{k.ID, k.Name, math.Round(by[c]*1e4) / 1e4})
	}
	return out
}

func quote(car *plan.Car, search *plan.Search, actions []plan.Action, ask Ask) *Quote {
	m := car.Model.Causes
	presumes := m.Index(ask.QuotePresumes)
	if presumes < 0 || len(actions) == 0 {
		return nil
	}
	repair := m.Repair(ask.QuoteRepair)
	if repair == nil {
		i := m.UsualRepair(cause.Present{Cause: presumes, Site: cause.NoSite})
		if i < 0 {
			return nil
		}
		repair = &m.Repairs[i]
	}
	price := ask.QuotePrice
	if price <= 0 {
		price = car.Bill(repair)
	}
	v := car.Quote(search, repair, price, presumes, actions[0].Expected)
	q := &Quote{
		Presumes: ask.QuotePresumes, Repair: repair.ID, Price: round(price), Presumed: v.Presumed, Cures: v.Cures,
		IfAccepted: round(v.IfAccepted), ByPlan: round(v.ByPlan),
	}
	if !math.IsNaN(v.BreakEven) {
		b := round(v.BreakEven)
		q.BreakEven = &b
	}
	q.Says = quoteSays(q, m.Causes[presumes].Name, repair.Name, car.Bill(repair), ask)
	return q
}

// bornOut is the probability of the presumed cause from which findings are said
// to bear a quote out; judgement.
const bornOut = 0.75

func quoteSays(q *Quote, presumed, repair string, own float64, ask Ask) string {
	money := func(v float64) string { return Money(v, ask.Currency) }
	hundred := func(p float64) int { return int(math.Round(100 * p)) }
	var s string
	if q.Presumed >= bornOut {
		s = fmt.Sprintf("What has been found bears the quote out: %d of 100 engines that still fit have %s. To %s, done alone, would cure %d of 100; what else is wrong with the others the run after it shows. Asked: %s; this shop would do it for about %s.",
			hundred(q.Presumed), article(presumed), repair, hundred(q.Cures), money(q.Price), money(own))
	} else {
		s = fmt.Sprintf("The quote presumes %s: %d of 100 engines that still fit have it, and to %s for %s would leave %d of 100 cured.",
			article(presumed), hundred(q.Presumed), repair, money(q.Price), hundred(q.Cures))
	}
	if q.IfAccepted-q.ByPlan > 0.02*q.ByPlan {
		s += fmt.Sprintf(" Accepted now, the bill comes to %s on average; by the plan, to %s.", money(q.IfAccepted), money(q.ByPlan))
		if q.BreakEven != nil {
			s += fmt.Sprintf(" It would have to cost less than %s to be the better bargain today.", money(*q.BreakEven))
		}
		return s
	}
	return s + fmt.Sprintf(" Accepted, the bill comes to %s on average, beside %s by the plan.", money(q.IfAccepted), money(q.ByPlan))
}

// says puts the first step into sentences.
func (n *Next) says(ask Ask) []string {
	if len(n.Steps) == 0 {
		return []string{"Nothing is left to do that the catalogue knows of."}
	}
	s := n.Steps[0]
	out := []string{}
	out = append(out, s.Cautions...)
	line := fmt.Sprintf("Next: %s (%.0f min", s.Name, s.Minutes)
	if s.Wait > 0 {
		line += fmt.Sprintf(", after %.0f min for the engine to get there", s.Wait)
	}
	line += fmt.Sprintf("; %s). From here to a cured car: %s on average.", Money(s.Cost, n.Currency), Money(s.ExpectedCost, n.Currency))
	out = append(out, line)
	if len(s.Lacks) > 0 {
		out = append(out, "It needs what the shop lacks: "+strings.Join(s.Lacks, ", ")+".")
	}
	for _, o := range s.Outcomes {
		if s.Kind != "check" {
			break
		}
		var names []string
		for _, l := range o.Leads[:min(2, len(o.Leads))] {
			names = append(names, fmt.Sprintf("%s %d of 100", l.Name, int(math.Round(100*l.Probability))))
		}
		out = append(out, fmt.Sprintf("If %s (%d of 100): %s.", o.Says, int(math.Round(100*o.Probability)), strings.Join(names, ", ")))
	}
	for _, other := range n.Steps[1:] {
		if other.Do != s.Do {
			out = append(out, fmt.Sprintf("Before %s because that way costs %s on average.", other.Name, Money(other.ExpectedCost, n.Currency)))
			break
		}
	}
	return out
}

// Money prints an amount without cents.
func Money(v float64, currency string) string {
	if currency == "" {
		currency = "USD"
	}
	return quantity.Money{Amount: math.Round(v), Currency: currency}.String()
}

func round(v float64) float64 { return math.Round(v*100) / 100 }
