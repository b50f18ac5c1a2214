package answer

import (
	"context"
	"fmt"
	"math"
	"slices"

	"weephole/lineup"
	"weephole/plan"
	"weephole/plan/solve"
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
	// Waiting lists the costly repairs that wait for a direct check.
	Waiting []Waiting `json:"waiting"`
	// ComesBack is true when nothing fits before the car must leave: the steps are for
	// when it is back.
	ComesBack bool `json:"comes_back,omitempty"`
	// Ask lists what to ask the owner, most telling first.
	Ask []Question `json:"ask,omitempty"`
	// Together lists what is worth doing at the same time as the first step.
	Together []Together `json:"together,omitempty"`
	// Tree is the plan some levels deep, if it was asked for.
	Tree *Plan `json:"tree,omitempty"`
}

// Step is one thing that could be done next.
type Step struct {
	Do           string    `json:"do"`   // id of the check or repair; "hand-on", "prove-healthy"
	Kind         string    `json:"kind"` // check | repair | hand-on | quote
	Name         string    `json:"name"`
	How          string    `json:"how,omitempty"`
	Minutes      float64   `json:"minutes"`       // of work
	Wait         float64   `json:"wait"`          // minutes until the engine is ready for it
	Cost         float64   `json:"cost"`          // of the step itself, waiting and consumables included
	ExpectedCost float64   `json:"expected_cost"` // from now to a cured car, if it is done next
	Least        float64   `json:"least"`         // what any plan that begins so costs at least
	Most         float64   `json:"most"`          // what a plan that begins so, worked out to its end, costs
	Engine       string    `json:"engine"`        // state it needs
	Cautions     []string  `json:"cautions"`      // read before the step
	Tools        []string  `json:"tools"`
	Lacks        []string  `json:"lacks,omitempty"` // tools that are not at hand
	RestsOn      string    `json:"rests_on,omitempty"`
	Outcomes     []Outcome `json:"outcomes"`
	// Followed is what it cost on engines that were worked on one by one, if that was asked for.
	Followed *Followed `json:"followed,omitempty"`
}

// Followed is what came of following a plan on engines of the lineup.
type Followed struct {
	Engines int     `json:"engines"`
	Cost    float64 `json:"cost"`  // mean
	Error   float64 `json:"error"` // standard error of the mean
	Cured   float64 `json:"cured"` // share; the others were handed on
	Checks  float64 `json:"checks"`
	Repairs float64 `json:"repairs"`
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

// Waiting is a costly repair that is not recommended yet.
type Waiting struct {
	Repair string   `json:"repair"`
	Name   string   `json:"name"`
	Odds   float64  `json:"odds"` // that what it is done for is there
	ShowBy []string `json:"show_by"`
	Says   string   `json:"says"`
}

// Question is something to ask the owner.
type Question struct {
	Sign  string  `json:"sign"`
	Name  string  `json:"name"`
	Yes   float64 `json:"yes"`   // probability that he says yes
	Worth float64 `json:"worth"` // what finding out as much by checks would cost
	IfYes []Lead  `json:"if_yes"`
	IfNo  []Lead  `json:"if_no"`
}

// tells is true when a yes and a no leave different causes leading, or the same one
// at clearly different odds.
func (q *Question) tells() bool {
	if len(q.IfYes) == 0 || len(q.IfNo) == 0 {
		return false
	}
	return q.IfYes[0].Cause != q.IfNo[0].Cause || math.Abs(q.IfYes[0].Probability-q.IfNo[0].Probability) > clearlyApart
}

// clearlyApart is how far apart odds must be to be worth a question; judgement.
const clearlyApart = 0.15

// mostQuestions is how many questions are worth one call; judgement.
const mostQuestions = 2

// Together is a repair worth doing along with the first step.
type Together struct {
	Repair string  `json:"repair"`
	Name   string  `json:"name"`
	Odds   float64 `json:"odds"` // that it turns out to be needed after the first
	Now    float64 `json:"now"`  // what it costs at the same time
	Later  float64 `json:"later"`
}

// Ask is what a plan is asked for.
type Ask struct {
	Shop     plan.Shop
	Settings *plan.Assumptions
	Units    quantity.Units
	Currency string
	Rounds   int // of search after the first answer; each looks further
	// Depth is how many actions deep the plan is told as a tree; 0: not at all.
	Depth int
	// Follow is on how many engines the first few ways are followed to their ends,
	// to see what they really cost; 0: none.
	Follow int
	// The quote, if there is one.
	QuotePresumes, QuoteRepair string
	QuotePrice                 float64 // 0: not said
}

// treeLeast is the share of the cars below which an outcome's branch is left out
// of the tree; judgement: fewer than one in thirty is told when it happens.
const treeLeast = 0.03

// followSeed begins the luck of the engines that a plan is followed on: always the
// same, so that the same question has the same answer.
const followSeed = 1

// ForNext plans from a lineup.
func ForNext(ctx context.Context, l *lineup.Lineup, ask Ask) (*Next, error) {
	car, err := plan.ForLineup(ctx, l, ask.Settings, ask.Shop)
	if err != nil {
		return nil, err
	}
	state := int(ask.Shop.State)
	search := car.Search(ask.Rounds)
	actions, err := search.Rank(ctx, state)
	if err != nil {
		return nil, err
	}
	late := ask.Shop.LeavesIn != nil && !slices.ContainsFunc(actions, func(a solve.Action) bool { return a.Kind != solve.HandOn })
	if late { // nothing fits: say so, and plan for when the car is back
		car.Problem.Left = nil
		search = car.Search(ask.Rounds)
		if actions, err = search.Rank(ctx, state); err != nil {
			return nil, err
		}
	}
	if ask.Follow > 0 {
		if actions, err = search.ByFollowing(ctx, actions, state, ask.Follow, followSeed); err != nil {
			return nil, err
		}
	}
	n := &Next{LeastPossible: round(search.PerfectInformation(state)), Currency: ask.Currency, Steps: []Step{}}
	for _, a := range actions {
		n.Steps = append(n.Steps, step(car, car.Problem, a, state, ask))
	}
	n.Waiting = waiting(car, ask)
	for _, q := range car.Questions(search, l.Case().Complaint) {
		x := Question{q.Sign.ID, q.Sign.Name, q.Yes, round(q.Worth), leads(car, car.Problem, q.IfYes), leads(car, car.Problem, q.IfNo)}
		if len(n.Ask) < mostQuestions && x.tells() {
			n.Ask = append(n.Ask, x)
		}
	}
	if len(actions) > 0 && actions[0].Kind == solve.DoRepair {
		for _, x := range car.Together(search, actions[0].Index) {
			r := car.Repairs[x.Repair]
			n.Together = append(n.Together, Together{r.ID, r.Name, x.Odds, round(x.Now), round(x.Later)})
		}
	}
	if ask.QuotePresumes != "" {
		if n.Quote, err = quote(ctx, car, search, actions, ask); err != nil {
			return nil, err
		}
	}
	if q := n.Quote; q != nil {
		n.Steps = withQuote(n.Steps, q)
	}
	if ask.Depth > 0 {
		branch, err := search.Tree(ctx, actions, state, ask.Depth, treeLeast)
		if err != nil {
			return nil, err
		}
		n.Tree = tree(car, branch, ask)
	}
	n.Says = n.says(car, ask)
	if late {
		n.Says = append([]string{fmt.Sprintf("Nothing that would help fits into %s: the car would have to come back. When it is here again:", Time(*ask.Shop.LeavesIn))}, n.Says...)
		n.ComesBack = true
	}
	return n, nil
}

// Money prints an amount without cents.
func Money(v float64, currency string) string {
	if currency == "" {
		currency = "USD"
	}
	return quantity.Money{Amount: math.Round(v), Currency: currency}.String()
}

func round(v float64) float64 { return math.Round(v*100) / 100 }
