package answer

import (
	"fmt"
	"math"
	"slices"

	"weephole/internal/work"
	"weephole/plan"
)

// NextFacts is the answer to "what do I do now?".
type NextFacts struct {
	Steps []Step      `json:"steps"` // the one to begin with, then the others, cheapest expected way first
	Quote *QuoteFacts `json:"quote,omitempty"`
	// LeastPossible is the expected cost if the cause were known: no plan can do
	// better.
	LeastPossible float64 `json:"least_possible"`
	Currency      string  `json:"currency"`
	Lines         []Line  `json:"lines"`
	Warnings      []Line  `json:"warnings"`
	// Round is what is asked in the same visit to the engine as the first step.
	Round *Round `json:"round,omitempty"`
	// Waiting lists the costly repairs that wait for a direct check.
	Waiting []Waiting `json:"waiting"`
	// ComesBack is true when nothing fits before the car must leave: the steps are for
	// when it is back.
	ComesBack bool `json:"comes_back,omitempty"`
	// Ask lists what to ask the owner, most telling first.
	Ask []QuestionFacts `json:"ask,omitempty"`
	// Together lists what is worth doing at the same time as the first step.
	Together []Together `json:"together,omitempty"`
	// Bad lists what was found bad and is cheap: it is put right on the way.
	Bad []Bad `json:"found_bad,omitempty"`
	// Referred is what goes with the car where it is referred.
	Referred *ReferredFacts `json:"referred,omitempty"`
	// Tree is the plan some levels deep, if it was asked for.
	Tree *PlanFacts `json:"tree,omitempty"`

	foundBad string // what was seen of the part that the first step puts right
}

// Step is one thing that could be done next.
type Step struct {
	Do           string         `json:"do"`             // id of the check or repair, or "ask-" and a sign; "hand-on", "prove-healthy", "accept-quote"
	With         []string       `json:"with,omitempty"` // repairs done in the same drain, counted in
	Kind         string         `json:"kind"`           // check | question | repair | hand-on | quote
	Name         string         `json:"name"`
	Asks         string         `json:"asks,omitempty"` // of a question: what the owner is asked
	How          string         `json:"how,omitempty"`
	Minutes      float64        `json:"minutes"`       // of work
	Wait         float64        `json:"wait"`          // minutes until the engine is ready for it
	Cost         float64        `json:"cost"`          // of the step itself, waiting and consumables included
	ExpectedCost float64        `json:"expected_cost"` // from now to a cured car, if it is done next
	Least        float64        `json:"least"`         // what any plan that begins so costs at least
	Most         float64        `json:"most"`          // what a plan that begins so, worked out to its end, costs
	Engine       string         `json:"engine"`        // state it needs
	Cautions     []string       `json:"cautions"`      // read before the step
	Tools        []string       `json:"tools"`
	Lacks        []string       `json:"lacks,omitempty"` // tools that the shop does not have
	RestsOn      string         `json:"rests_on,omitempty"`
	Again        bool           `json:"again,omitempty"` // the check was made before, and is doubtful
	Outcomes     []OutcomeFacts `json:"outcomes"`
	// Followed is what it cost on engines that were worked on one by one, if that was asked for.
	Followed *FollowedFacts `json:"followed,omitempty"`
}

// FollowedFacts is what came of following a plan on engines of the lineup.
type FollowedFacts struct {
	Engines int     `json:"engines"`
	Cost    float64 `json:"cost"`  // mean
	Error   float64 `json:"error"` // standard error of the mean
	Cured   float64 `json:"cured"` // share; the others were handed on
	Checks  float64 `json:"checks"`
	Repairs float64 `json:"repairs"`
}

// OutcomeFacts is what may come of a step and what it would do to the odds.
type OutcomeFacts struct {
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

// learns is true of a step that only finds something out: a check, or a question to the owner.
func (s *Step) learns() bool { return s.Kind == "check" || s.Kind == "question" }

// ProveHealthy is the id of the step of a car on which nothing may be wrong any more.
const ProveHealthy = "prove-healthy"

// onlyRuns is true of the step that repairs nothing: it runs the car, to show that it is right.
func (s *Step) onlyRuns() bool { return s.Do == ProveHealthy }

// asks is true where the first step, or its round, asks the owner about the sign.
func (n *NextFacts) asks(sign string) bool {
	if n.Round != nil && slices.ContainsFunc(n.Round.Questions, func(q RoundQuestion) bool { return plan.Asks(q.Do) == sign }) {
		return true
	}
	return len(n.Steps) > 0 && plan.Asks(n.Steps[0].Do) == sign
}

// QuestionFacts is something to ask the owner.
type QuestionFacts struct {
	Sign  string  `json:"sign"`
	Name  string  `json:"name"`
	Yes   float64 `json:"yes"`   // probability of a yes
	Worth float64 `json:"worth"` // what finding out as much by checks would cost
	IfYes []Lead  `json:"if_yes"`
	IfNo  []Lead  `json:"if_no"`
}

// tells is true when a yes and a no leave different causes leading, or the same one
// at clearly different odds.
func (q *QuestionFacts) tells() bool {
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

// Bad is a part that was looked at and found bad.
type Bad struct {
	Check  string  `json:"check"`
	Found  string  `json:"found"`
	Says   string  `json:"says"`
	Repair string  `json:"repair"`
	Name   string  `json:"name"`
	Cost   float64 `json:"cost"`
}

// ForNext puts a plan into words.
func ForNext(w *work.Next, s Style) *NextFacts {
	n := &NextFacts{LeastPossible: round(w.LeastPossible), Currency: s.Currency, Steps: []Step{}, ComesBack: w.ComesBack, Warnings: []Line{}}
	state := int(w.Ask.Shop.State)
	t := stepWriter{w.Car, s}
	for _, a := range w.Actions {
		s := t.step(w.Car.Problem, a, state)
		same := func(x Step) bool { return x.Do == s.Do && x.Kind == s.Kind }
		if !slices.ContainsFunc(n.Steps, same) { // alone and in one drain with another: the better way
			n.Steps = append(n.Steps, s)
		}
	}
	n.Waiting = t.waiting()
	n.Round = t.round(w.Round, state)
	for _, q := range w.Questions {
		x := QuestionFacts{q.Sign.ID, q.Sign.Name, q.Yes, round(q.Worth), t.leads(w.Car.Problem, q.IfYes), t.leads(w.Car.Problem, q.IfNo)}
		if len(n.Ask) < mostQuestions && x.tells() && !n.asks(x.Sign) {
			n.Ask = append(n.Ask, x)
		}
	}
	for _, x := range w.Together {
		r := w.Car.Repairs[x.Repair]
		n.Together = append(n.Together, Together{r.ID, r.Name, x.Odds, round(x.Now), round(x.Later)})
	}
	for _, x := range w.Bad {
		if len(n.Steps) > 0 && (n.Steps[0].Do == x.Repair.ID || slices.Contains(n.Steps[0].With, x.Repair.ID)) {
			n.foundBad = x.Says // that is the step itself
			continue
		}
		n.Bad = append(n.Bad, Bad{x.Check, x.Word, x.Says, x.Repair.ID, x.Repair.Name, round(x.Cost)})
	}
	if w.Quote != nil {
		var first *Step
		if len(n.Steps) > 0 {
			first = &n.Steps[0]
		}
		n.Quote = t.quote(w.Quote, first)
		n.Steps = withQuote(n.Steps, n.Quote)
	}
	if n.Round != nil && len(n.Steps) > 0 && n.Steps[0].learns() {
		n.Steps[0].Cautions = n.Round.Cautions
	} else {
		n.Round = nil
	}
	if len(n.Steps) > 0 && n.Steps[0].Kind == "hand-on" {
		n.Referred = t.referred()
	}
	n.Tree = t.tree(w.Tree)
	n.Lines = n.writeLines(t)
	if n.ComesBack {
		n.Warnings = append(n.Warnings, Line{ComesBack, fmt.Sprintf("No useful step fits into %s, so the car has to come back. This plan is for then.", Time(*w.Ask.Shop.LeavesIn))})
	}
	return n
}
