package work

import (
	"context"
	"math"
	"slices"

	"weephole/cause"
	"weephole/internal/job"
	"weephole/lineup"
	"weephole/plan"
	"weephole/plan/solve"
	"weephole/quantity"
)

// Ask is what a plan is asked for.
type Ask struct {
	Shop     plan.Workshop
	Settings *plan.Assumptions
	Rounds   int // of search after the first answer; each looks further
	// Depth is how many actions deep the plan is followed as a tree; 0: not at all.
	Depth int
	// Follow is on how many engines the first few ways are followed to their ends,
	// to see what they really cost; 0: none.
	Follow int
	// SayOn is how many cars' worth of branches the first way is followed into, to say what
	// the plan costs; 0: the search's own estimate is said.
	SayOn int
	// NotKnown are the signs that the owner was asked about and could not tell.
	NotKnown []string
	// The quote, if there is one, by ids.
	QuotePresumes, QuoteRepair string
	QuotePrice                 float64 // 0: not said
}

// Ask is the plain question for the next step of this job.
func (w *Work) Ask() Ask {
	a := Ask{Shop: w.Shop, Settings: w.options.Plan, SayOn: int(w.options.Plan.SayOn.Value)}
	if q := w.Job.Quote; q != nil && q.Presumes != job.Unknown {
		a.QuotePresumes, a.QuoteRepair = q.Presumes, q.Repair
		a.QuotePrice = q.Price.Or(quantity.Money{}).Amount
	}
	for i := range w.Job.Findings {
		if id := w.Job.Findings[i].NotKnown; id != "" && id != job.Unknown {
			a.NotKnown = append(a.NotKnown, id)
		}
	}
	return a
}

// Next is what could be done next, with what it would cost and show.
type Next struct {
	Ask     Ask
	Car     *plan.CarProblem
	Actions []solve.Action // the one to begin with, then the others, cheapest expected way first
	// ComesBack is true when nothing fits before the car must leave: the actions
	// are for when it is back.
	ComesBack bool
	// LeastPossible is the expected cost if the cause were known at no cost.
	LeastPossible float64
	// Round is what is asked in the same visit to the engine, the first action among it.
	Round     []solve.Action
	Questions []plan.Question // for the owner, most telling first
	Together  []plan.Extra    // worth doing along with the first action
	Bad       []plan.FoundBad // found bad and cheap: put right on the way
	Quote     *WeighedQuote   // nil where there is none to weigh
	Tree      *solve.Branch   // nil if it was not asked for
}

// WeighedQuote is another shop's offer, weighed.
type WeighedQuote struct {
	plan.QuoteVerdict
	Presumes int // index of the cause
	Repair   *cause.Repair
	Price    float64
	// Waits is true while the repair waits for a direct check of its cause.
	Waits bool
}

// treeLeast is the share of the cars below which an outcome's branch is left out
// of the tree; judgement: fewer than one in thirty is told when it happens.
const treeLeast = 0.03

// followSeed begins the luck of the engines that a plan is followed on: always the
// same, so that the same question has the same answer.
const followSeed = 1

// NextOf plans from a lineup.
func NextOf(ctx context.Context, l *lineup.Lineup, ask Ask) (*Next, error) {
	car, err := plan.ForLineup(ctx, l, ask.Settings, ask.Shop)
	if err != nil {
		return nil, err
	}
	if err := car.AddQuestions(l.Case(), ask.NotKnown); err != nil {
		return nil, err
	}
	n := &Next{Ask: ask, Car: car}
	state := int(ask.Shop.State)
	search := car.Search(ask.Rounds)
	if n.Actions, err = search.Rank(ctx, state); err != nil {
		return nil, err
	}
	n.ComesBack = ask.Shop.LeavesIn != nil && !slices.ContainsFunc(n.Actions, func(a solve.Action) bool { return a.Kind != solve.HandOn })
	if n.ComesBack { // plan for when the car is back
		car.Problem.Left = nil
		search = car.Search(ask.Rounds)
		if n.Actions, err = search.Rank(ctx, state); err != nil {
			return nil, err
		}
	}
	if ask.Follow > 0 {
		if n.Actions, err = search.ByFollowing(ctx, n.Actions, state, ask.Follow, followSeed); err != nil {
			return nil, err
		}
	}
	n.LeastPossible = search.PerfectInformation(state)
	factor := 1.0
	if ask.SayOn > 0 && len(n.Actions) > 0 && n.Actions[0].Kind != solve.HandOn {
		cost, err := search.Expect(ctx, n.Actions[0], state, ask.SayOn, followSeed)
		if err != nil {
			return nil, err
		}
		factor = solve.Say(n.Actions, cost)
	}
	n.Bad = car.FoundBad(l.Case())
	n.Questions = car.Questions(search)
	if len(n.Actions) == 0 {
		return n, nil
	}
	n.Round = car.Round(search, n.Actions, state)
	if n.Actions[0].Kind == solve.DoRepair {
		n.Together = car.Together(search, n.Actions[0].Index)
	}
	if n.Quote, err = weighQuote(ctx, car, search, n.Actions[0].Expected, factor, ask); err != nil {
		return nil, err
	}
	if ask.Depth > 0 {
		if n.Tree, err = search.Tree(ctx, n.Actions, state, ask.Depth, treeLeast); n.Tree != nil {
			n.Tree.Scale(factor)
		}
	}
	return n, err
}

func weighQuote(ctx context.Context, car *plan.CarProblem, search *solve.Search, byPlan, factor float64, ask Ask) (*WeighedQuote, error) {
	m := car.Model.Causes
	q := &WeighedQuote{Presumes: m.Index(ask.QuotePresumes), Repair: m.Repair(ask.QuoteRepair), Price: ask.QuotePrice}
	if q.Presumes < 0 {
		return nil, nil
	}
	if q.Repair == nil {
		i := m.UsualRepair(cause.Present{Cause: q.Presumes, Site: cause.NoSite})
		if i < 0 {
			return nil, nil
		}
		q.Repair = &m.Repairs[i]
	}
	if q.Price <= 0 {
		q.Price = car.Bill(q.Repair)
	}
	var err error
	if q.QuoteVerdict, err = car.Quote(ctx, search, q.Repair, q.Price, q.Presumes, byPlan); err != nil {
		return nil, err
	}
	if said := q.AfterPlan * factor; q.AfterPlan < q.IfAccepted {
		q.AfterPlan = math.Min(said, q.IfAccepted) // looking first and then taking it is no dearer than taking it now
	}
	if at := slices.Index(car.Repairs, q.Repair); at >= 0 {
		q.Waits = car.Problem.Waits(at) || car.Support[at].Withheld()
	}
	return q, nil
}

// Rises is true when the cause stands lower than it should for such a repair.
func (q *WeighedQuote) Rises() bool { return q.Presumed < q.ToShow }

// BreaksEven tells whether any price would make the quote the better bargain.
func (q *WeighedQuote) BreaksEven() bool { return !math.IsNaN(q.BreakEven) }
