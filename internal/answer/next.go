package answer

import (
	"context"
	"fmt"
	"math"
	"sort"
	"strings"

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
	Says       string   `json:"says"`
}

// Shows is what the other shop would have to show.
type Shows struct {
	Checks   []string `json:"checks"`
	Found    []string `json:"found"`
	Says     string   `json:"says"`
	Presumed float64  `json:"presumed"` // probability of the cause once it is shown
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
		if n.Quote, err = quote(ctx, car, search, actions, ask); err != nil {
			return nil, err
		}
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
			is, says := outcomeSays(car, a.Index, o, ask)
			s.Outcomes = append(s.Outcomes, Outcome{Is: is, Says: says, Probability: out.Probability, ExpectedCost: round(out.Expected), Leads: leads(car, out.Belief)})
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

// outcomeSays is a check's outcome as its word or reading, and in words.
func outcomeSays(car *plan.Car, check, outcome int, ask Ask) (is, says string) {
	r := car.Results[check][outcome]
	if r.Reading != "" {
		return r.Reading, fmt.Sprintf("%s %s", spaced(r.Reading), Span(ask.Units, r.What, [2]float64{r.From, r.To}))
	}
	return r.Word, r.Says
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
