package solve

import (
	"maps"
	"math"
	"slices"
)

// Preference lets the obvious repair go first. One whose cause has at least the
// probability Likely goes before ways that cost less by no more than the share Within. A
// sample of engines does not tell so little apart, and there would always be one more
// look before the obvious repair.
type Preference struct {
	Likely, Within float64
	// Seen holds the repairs of what was seen bad and is cheap, with the bill of each. They are
	// done whatever else is wrong, so their bills are spent in any case.
	Seen map[int]float64
	// Inefficiency is how many bits of the most telling checks a bit really takes,
	// for noisy checks overlap; 0 for plainInefficiency.
	Inefficiency float64
	// Back is what it costs at most to bring the engine back to the state in which a
	// check found it.
	Back float64
	// Order ranks the checks by state, from 1, in the order in which they are made
	// where nothing else decides: of ways that cost less than the best by no more than
	// the share Within, the lowest rank goes first, if it is worth its cost. 0 is for
	// checks without a rank, which come last. Once enough checks of a rank have been
	// made, the rest of that rank has no precedence. Before counts, by rank, those
	// made before the problem begins.
	Order [][]int
	// AtOnce says by state of which checks the answer is there in a few minutes, without
	// any wait. No check that has to wait goes before the best one if that is of these.
	AtOnce [][]bool
	Before map[int]int
	Enough int
}

// plainInefficiency is for problems of which nothing more is known; judgement.
const plainInefficiency = 2.0

// evenChance is how likely the obvious repair must be to take something away.
const evenChance = 0.5

// preferLikelyRepair puts a repair first that is likely enough and costs hardly
// more than the cheapest way.
func (s *Search) preferLikelyRepair(list []Action) {
	if s.prefer.Likely == 0 || len(list) == 0 {
		return
	}
	for i, a := range list {
		if a.Expected > list[0].Expected*(1+s.prefer.Within) {
			return
		}
		if a.Kind == DoRepair && a.present >= s.prefer.Likely && a.takes >= evenChance {
			copy(list[1:i+1], list[:i])
			list[0] = a
			return
		}
	}
}

// seenFirst puts a repair first whose part was seen bad, where it is as likely as not to be the
// trouble: done later it would cost as much.
func (s *Search) seenFirst(list []Action) {
	s.lead(list, func(a Action) bool { return a.present >= evenChance })
}

// seenBeforeChecks puts it before a check as well where it is less likely to be the trouble: the
// bill is spent on either way, and without it the repair costs hardly more than the check's way.
func (s *Search) seenBeforeChecks(list []Action) {
	if len(list) == 0 || list[0].Kind != DoCheck {
		return
	}
	most := list[0].Expected * (1 + s.prefer.Within)
	s.lead(list, func(a Action) bool { return a.Expected-s.prefer.Seen[a.Index] <= most })
}

// lead puts the first repair of what was seen bad first that is so.
func (s *Search) lead(list []Action, so func(Action) bool) {
	for i, a := range list {
		if _, seen := s.prefer.Seen[a.Index]; seen && a.Kind == DoRepair && so(a) {
			copy(list[1:i+1], list[:i])
			list[0] = a
			return
		}
	}
}

// walkInOrder puts the check of the lowest rank first among the ways that cost hardly
// more than the best one. A check that costs more than what it tells is left behind.
func (s *Search) walkInOrder(list []Action, state int) {
	if len(s.prefer.Order) == 0 || len(list) == 0 || list[0].Kind != DoCheck {
		return
	}
	made := maps.Clone(s.prefer.Before)
	for c := range s.p.Checks {
		if s.p.Checks[c].Made {
			made[s.prefer.Order[state][c]]++
		}
	}
	rank := func(a Action) int {
		if r := s.prefer.Order[state][a.Index]; r > 0 && made[r] < s.prefer.Enough {
			return r
		}
		return math.MaxInt
	}
	best, least := 0, rank(list[0])
	for i, a := range list {
		if a.Expected > list[0].Expected*(1+s.prefer.Within) {
			break
		}
		if a.Kind == DoCheck && rank(a) < least && !(s.atOnce(list[0], state) && !s.atOnce(a, state)) && s.Worth(a.Index, a.Cost, state) >= 1 {
			best, least = i, rank(a)
		}
	}
	a := list[best]
	copy(list[1:best+1], list[:best])
	list[0] = a
}

func (s *Search) atOnce(a Action, state int) bool {
	return len(s.prefer.AtOnce) > 0 && s.prefer.AtOnce[state][a.Index]
}

// Worth is how often over a check that costs so much pays for what it tells: what as
// many bits cost by the most telling checks, over that cost.
func (s *Search) Worth(c int, cost float64, state int) float64 {
	k := s.walker(efforts[0])
	s.sets.gather(s.q.Weight, k.set)
	k.classify()
	bits := k.information(s.q.Weight, c) / math.Ln2 / k.start
	return bits * s.perBit[state] / math.Max(cost, tiny)
}

// proveFirst puts the check first that is to show the cause of a costly repair,
// where that is all the repair waits for: its cause is likely enough, and only a
// direct check may let it be done. Of several the cheapest way goes first, and those
// for which the tools are at hand before the others.
func (s *Search) proveFirst(list []Action) {
	waits := make([]bool, len(s.p.Repairs))
	for r := range waits {
		waits[r] = s.p.Waits(r)
	}
	shows := func(c int) bool {
		return slices.ContainsFunc(s.p.ShownBy(c), func(r int) bool { return waits[r] })
	}
	// Where a rule bars the check, what takes the rule away comes first.
	lifts := func(c int) bool {
		return slices.ContainsFunc(s.p.Barriers, func(b Barrier) bool {
			return b.Stands && slices.Contains(b.Lifted, c) && slices.ContainsFunc(b.Checks, shows)
		})
	}
	for _, wanted := range []func(int) bool{shows, lifts} {
		for _, far := range []bool{false, true} {
			for i, a := range list {
				if a.Kind == DoCheck && s.p.Checks[a.Index].Far == far && wanted(a.Index) {
					copy(list[1:i+1], list[:i])
					list[0] = a
					return
				}
			}
		}
	}
}

// Waits is true for a repair that is likely enough to be what is needed, and only
// waits for a check that shows its cause directly.
func (p *Problem) Waits(r int) bool {
	rep := &p.Repairs[r]
	if rep.Confirmed || len(rep.Unconfirmed) == 0 || rep.Done >= p.Tries {
		return false
	}
	counts := rep.reasons()
	mass, before, after := 0.0, 0.0, 0.0
	for h, w := range p.Weight {
		mass += w
		if slices.ContainsFunc(p.Faults[h], func(k int) bool { return counts[0][k] }) {
			before += w
		}
		if slices.ContainsFunc(p.Faults[h], func(k int) bool { return counts[1][k] }) {
			after += w
		}
	}
	return after >= rep.NeedOdds*mass && before < rep.NeedOdds*mass
}

// ShownBy lists the repairs whose cause a check may show directly.
func (p *Problem) ShownBy(check int) (repairs []int) {
	for r := range p.Repairs {
		if slices.ContainsFunc(p.Repairs[r].Confirmations, func(pr Confirmation) bool { return pr.Check == check }) {
			repairs = append(repairs, r)
		}
	}
	return repairs
}
