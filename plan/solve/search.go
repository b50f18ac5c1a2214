package solve

import (
	"context"
	"iter"
	"math"
	"sort"

	"weephole/parallel"
)

// Action is one thing to do next: a check, a repair, or handing the car on.
type Action struct {
	Kind  ActionKind
	Index int // of the check or repair
	// Cost of the action itself, in the present state of the engine.
	Cost float64
	// Expected is the expected cost from now to a cured car when it is done next
	// and the best plan found is followed after it; where that plan is not worked
	// out to its end, the rest is estimated.
	Expected float64
	// Lower bounds from below what any plan that begins so costs: the faults are
	// known at no cost after it. Upper is the cost of a plan that begins so and
	// was worked out to its end, so the best one costs no more.
	Lower, Upper float64
	// Outcomes of a check; of a repair: cured (0) and not (1).
	Outcomes []Outcome
	// Followed is what came of following it, if that was done.
	Followed *Followed

	present float64 // of a repair: probability that something it is done for is there
	takes   float64 // and that it takes something away
}

// ActionKind tells checks from repairs.
type ActionKind uint8

// The kinds of action.
const (
	DoCheck ActionKind = iota
	DoRepair
	HandOn
	Undecided // beyond what was looked at
)

// Outcome is what may come of an action.
type Outcome struct {
	Probability float64
	Expected    float64   // cost from there on
	Belief      []float64 // hypothesis weights after it, normalised; of a check
}

// Ranking is every action that may be done next, cheapest expected way first.
type Ranking struct {
	Actions []Action
	// Lower is the expected cost if the faults were known at no cost: no plan
	// costs less. The gap to the first action's Expected is what not knowing costs.
	Lower float64
	// Round counts the passes over the problem, from 1; each looks further.
	Round int
	// Exact is true when the pass left no check out anywhere.
	Exact bool
	// Seen counts the beliefs worked out so far, in all rounds.
	Seen int
}

// Search looks for the action with the least expected cost. It may be used by
// one goroutine at a time.
type Search struct {
	p        *Problem // as given
	q        *Problem // with hypotheses that show nearly the same put together
	full     *atoms   // of p
	sets     *atoms   // of q
	known    [][]float64
	class    []int
	classes  int
	spans    [][2]int  // by class: its hypotheses in q
	perBit   []float64 // by state: what a bit of information costs
	confirms [][][]int // by check, by outcome: the repairs whose cause it shows
	bars     barriers
	rounds   int
	prefer   Preference
}

// New prepares a search. Rank makes enough rounds for a first answer, and so many
// more: each looks further than the one before it.
func New(p *Problem, more int) *Search {
	s := &Search{p: p, q: reduce(p, mostGroups), full: newAtoms(p), rounds: firstRounds + more}
	if p.size() <= small {
		s.rounds += moreIfSmall
	}
	s.bars = newBarriers(p)
	s.prepare()
	s.prepare() // once more with the hypotheses of a class side by side
	s.confirms = make([][][]int, len(p.Checks))
	for c := range p.Checks {
		s.confirms[c] = make([][]int, len(p.Checks[c].P))
	}
	for r := range p.Repairs {
		for _, pr := range p.Repairs[r].Confirmations {
			s.confirms[pr.Check][pr.Outcome] = append(s.confirms[pr.Check][pr.Outcome], r)
		}
	}
	s.priceBits()
	return s
}

// prepare works out what the search needs to know of q, and puts its hypotheses
// in the order of their classes.
func (s *Search) prepare() {
	s.sets = newAtoms(s.q)
	s.known, s.class, s.classes = s.sets.known()
	order := make([]group, len(s.q.Weight))
	for h := range order {
		order[h].members = []int{h}
	}
	class := func(g group) int { return s.class[s.sets.set[g.members[0]]] }
	sort.SliceStable(order, func(i, j int) bool { return class(order[i]) < class(order[j]) })
	s.spans = make([][2]int, s.classes)
	for i, g := range order {
		span := &s.spans[class(g)]
		if span[1] == 0 {
			span[0] = i
		}
		span[1] = i + 1
	}
	s.q = s.q.grouped(order, s.q.Faults)
}

// bitChecks is over how many of the most telling checks the cost of a bit is
// averaged; judgement.
const bitChecks = 8

// priceBits sets what a bit costs from the checks that tell most per cost.
func (s *Search) priceBits() {
	k := s.walker(efforts[0])
	s.sets.gather(s.q.Weight, k.set)
	s.perBit = make([]float64, s.q.States)
	for x := range s.perBit {
		s.perBit[x] = s.priceOfBit(k.rate(s.q.Weight, x), k.start)
	}
}

// size is the number of hypotheses times that of outcomes of all checks.
func (p *Problem) size() int {
	n := 0
	for _, c := range p.Checks {
		n += len(c.P)
	}
	return n * len(p.Weight)
}

// Prefer makes the ranking put the obvious repair first.
func (s *Search) Prefer(p Preference) *Search {
	s.prefer = p
	s.priceBits()
	return s
}

// mostGroups is how many hypotheses the search works with; those of a lineup's
// sample are put together to so many. Design choice: see docs/performance.md.
const mostGroups = 240

// Rank gives every action with its expected cost, cheapest first. Actions that
// tie keep the order checks, repairs, handing on.
func (s *Search) Rank(ctx context.Context, state int) ([]Action, error) {
	var last *Ranking
	for r, err := range s.Better(ctx, state) {
		if err != nil {
			return nil, err
		}
		if last = r; r.Round >= s.rounds {
			break
		}
	}
	return last.Actions, nil
}

// Better gives one ranking after another, each from a wider and deeper look,
// until one is exact, the last round is done, or ctx ends (which is no error once
// there is a ranking).
func (s *Search) Better(ctx context.Context, state int) iter.Seq2[*Ranking, error] {
	return func(yield func(*Ranking, error) bool) {
		list, seen := s.first(state), 0
		for i, e := range efforts {
			exact, n, err := s.round(ctx, list, state, e)
			seen += n
			if err != nil {
				if i == 0 {
					yield(nil, err)
				}
				return
			}
			s.agree(list, state)
			sort.SliceStable(list, func(i, j int) bool { return list[i].Expected < list[j].Expected })
			r := &Ranking{Actions: append([]Action(nil), list...), Lower: s.PerfectInformation(state), Round: i + 1, Exact: exact, Seen: seen}
			s.preferLikelyRepair(r.Actions)
			s.walkInOrder(r.Actions, state)
			s.seenBeforeChecks(r.Actions)
			s.proveFirst(r.Actions)
			s.seenFirst(r.Actions)
			if !yield(r, nil) || exact {
				return
			}
		}
	}
}

// effort is how hard a round looks.
type effort struct {
	// mass is the share of the cars below which no more checks are looked at, and
	// deep the level below the first action beyond which they are not either.
	mass float64
	deep int
	// widths says how many checks are looked at by level below the first action;
	// the last goes on for all deeper levels. 0 is all.
	widths []int
	// keep is how many of the first actions are looked at beside the repairs,
	// cheapest first by the round before; 0 is all.
	keep int
}

// firstRounds is how many rounds make a first answer, and moreIfSmall how many
// more do where hypotheses times outcomes are no more than small: they cost a few
// milliseconds there. Design choice, measured in docs/performance.md.
const (
	firstRounds = 2
	moreIfSmall = 2
	small       = 1500
)

// efforts of the rounds: design choice, measured in docs/performance.md.
var efforts = []effort{
	{mass: 1, deep: 0, widths: []int{1}},
	{mass: 0.02, deep: 1, widths: []int{3}}, // all pairs that the first of them makes promising
	{mass: 0.01, deep: 2, widths: []int{6, 3}, keep: 10},
	{mass: 0.005, deep: 3, widths: []int{6, 4, 2}, keep: 8},
	{mass: 0.003, deep: 5, widths: []int{8, 5, 3, 2}, keep: 6},
	{mass: 0.001, deep: 8, widths: []int{8, 6, 4, 3, 2}, keep: 6},
	{mass: 0, deep: math.MaxInt, widths: []int{0}},
}

// first lists the actions that may be done now, with their bounds.
func (s *Search) first(state int) []Action {
	w := s.p.Weight
	sets := make([]float64, len(s.full.kinds))
	s.full.gather(w, sets)
	mass := sum(w)
	var list []Action
	k := s.walker(efforts[0])
	for c := range s.q.Checks {
		if s.q.Checks[c].Made || k.barred(c, s.q.Weight) || !s.p.fits(s.q.Checks[c].Minutes, state) {
			continue
		}
		list = append(list, Action{Kind: DoCheck, Index: c, Cost: s.q.Checks[c].Cost[state], Expected: math.Inf(1), Upper: math.Inf(1)})
	}
	for r := range s.q.Repairs {
		rep := &s.p.Repairs[r]
		if !k.free(r, state) {
			continue
		}
		may := s.full.present(r, true, sets) / math.Max(mass, tiny)
		present := s.full.present(r, rep.Confirmed, sets) / math.Max(mass, tiny)
		if s.p.fits(rep.Minutes, state) && rep.Done < s.q.Tries && may > 0 && present >= rep.NeedOdds {
			list = append(list, Action{Kind: DoRepair, Index: r, Cost: rep.Cost[state], Expected: math.Inf(1), Upper: math.Inf(1), present: present,
				takes: 1 - s.full.futileMass(r, w)/math.Max(mass, tiny)})
		}
	}
	if g := dot(s.full.giveUp, sets); !math.IsInf(g, 1) {
		list = append(list, Action{Kind: HandOn, Cost: g, Expected: g, Lower: g, Upper: g})
	}
	return list
}

// round looks at the first actions of the list with the given effort, on all
// cores, and tells whether nothing was left out and how many beliefs it saw. Save that
// count, the figures do not depend on how many cores there are.
func (s *Search) round(ctx context.Context, list []Action, state int, e effort) (exact bool, seen int, err error) {
	todo := make([]*Action, 0, len(list))
	for i := range list {
		// Figures of different rounds do not compare, so repairs are looked at in all.
		if e.keep == 0 || i < e.keep || list[i].Kind == DoRepair {
			todo = append(todo, &list[i])
		}
	}
	n := len(todo)
	var walkers []*walker
	cut := make([]bool, n)
	err = parallel.Each(ctx, 0, n, 1, func() *walker {
		walkers = append(walkers, s.walker(e))
		return walkers[len(walkers)-1]
	}, func(k *walker, i int) {
		k.cut = false
		k.act(ctx, todo[i], state)
		cut[i] = k.cut
	})
	if err != nil {
		return false, 0, err
	}
	for _, k := range walkers {
		seen += k.seen
	}
	exact = n == len(list)
	for _, c := range cut {
		exact = exact && !c
	}
	return exact, seen, nil
}

// PerfectInformation is the expected cost if the faults were known at no cost
// before anything is done: the lower bound of every plan.
func (s *Search) PerfectInformation(state int) float64 {
	belief := make([]float64, len(s.sets.kinds))
	s.sets.gather(s.q.Weight, belief) // the first atoms are the hypotheses
	return dot(s.known[state], belief)
}

func dot(a, b []float64) float64 {
	v := 0.0
	for i, x := range b {
		if x != 0 {
			v += a[i] * x
		}
	}
	return v
}
