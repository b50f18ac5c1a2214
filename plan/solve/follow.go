package solve

import (
	"context"
	"math"
	"math/rand/v2"

	"weephole/sample"
)

// Followed is what came of following a plan on engines of the sample.
type Followed struct {
	Engines int
	// Cost is the mean cost, and Error its standard error.
	Cost, Error float64
	// Said is the mean with what the engines' faults would cost if they were known
	// taken out and put back for all engines, not only those followed (a control
	// variate), and SaidError its standard error: the same mean from fewer engines.
	Said, SaidError float64
	// Cured is the share of engines that were cured; the others were handed on.
	Cured float64
	// Checks and Repairs are the mean numbers of each.
	Checks, Repairs float64

	costs []float64 // by engine
}

// mostSteps is how many actions are followed before the car is handed on; judgement:
// no owner waits for more.
const mostSteps = 40

// oneAhead is how a followed plan is made after each result: one check ahead, over
// the most promising ones.
var oneAhead = effort{deep: 1, widths: []int{12}}

// followedWays is how many first actions are followed, and surelyCheaper how many
// standard errors a later one must be cheaper by to go first; judgement.
const (
	followedWays  = 3
	surelyCheaper = 2
)

// ByFollowing follows the first few ways of a ranking on n engines each, and puts
// one first that is surely cheaper there: the base policy improved by rollout. A check
// that a costly repair waits for stays first all the same.
func (s *Search) ByFollowing(ctx context.Context, list []Action, state, n int, seed uint64) ([]Action, error) {
	out := append([]Action(nil), list...)
	ways := 0
	for i := range out {
		if out[i].Kind == HandOn || ways == followedWays {
			continue
		}
		f, err := s.Follow(ctx, out[i], state, n, seed)
		if err != nil {
			return nil, err
		}
		out[i].Followed = &f
		ways++
	}
	if len(out) == 0 || out[0].Followed == nil || s.waiting() {
		return out, nil
	}
	best := 0
	for i := range out {
		if f := out[i].Followed; f != nil && f.Cost < out[best].Followed.Cost {
			best = i
		}
	}
	if by, err := out[best].Followed.CheaperBy(out[0].Followed); best > 0 && by > surelyCheaper*err {
		a := out[best]
		copy(out[1:best+1], out[:best])
		out[0] = a
	}
	return out, nil
}

// waiting is true while a likely costly repair waits for a direct check.
func (s *Search) waiting() bool {
	for r := range s.p.Repairs {
		if s.p.Waits(r) {
			return true
		}
	}
	return false
}

// Follow takes n engines of the sample, begins on each with the action first, and
// follows the plan, planned again one check ahead after each result: a rollout. An engine
// answers the same check the same way whatever came before it, so two plans followed
// with the same seed differ by what they do, not by luck.
func (s *Search) Follow(ctx context.Context, first Action, state, n int, seed uint64) (Followed, error) {
	f := Followed{Engines: n, costs: make([]float64, n)}
	memo := make(map[place]choice)
	sum2, over, over2 := 0.0, 0.0, 0.0
	for i, at := range sample.Systematic(len(s.q.Weight), func(h int) float64 { return s.q.Weight[h] }, n, 0.5) {
		if err := ctx.Err(); err != nil {
			return f, err
		}
		e := engine{s: s, k: s.walker(oneAhead), memo: memo, hypothesis: at, number: uint64(i), seed: seed, state: state}
		e.run(choice{first.Kind, first.Index})
		f.costs[i] = e.cost
		f.Cost += e.cost / float64(n)
		sum2 += e.cost * e.cost / float64(n)
		more := e.cost - s.known[state][s.sets.set[at]]
		over += more / float64(n)
		over2 += more * more / float64(n)
		f.Checks += float64(e.checks) / float64(n)
		f.Repairs += float64(e.repairs) / float64(n)
		if e.cured {
			f.Cured += 1 / float64(n)
		}
	}
	f.Said, f.SaidError = s.PerfectInformation(state)+over, math.Sqrt(math.Max(0, over2-over*over)/float64(n))
	f.Error = math.Sqrt(math.Max(0, sum2-f.Cost*f.Cost) / float64(n))
	return f, nil
}

// CheaperBy is by how much one plan cost less than another that was followed on the
// same engines with the same seed, and the standard error of that.
func (f *Followed) CheaperBy(other *Followed) (mean, err float64) {
	n := float64(len(f.costs))
	sum2 := 0.0
	for i, c := range f.costs {
		d := other.costs[i] - c
		mean += d / n
		sum2 += d * d / n
	}
	return mean, math.Sqrt(math.Max(0, sum2-mean*mean) / n)
}

// engine is one engine that is worked on.
type engine struct {
	s          *Search
	k          *walker
	memo       map[place]choice
	hypothesis int
	number     uint64
	seed       uint64
	state      int

	belief          []float64
	key             past
	cost            float64
	checks, repairs int
	cured           bool
}

// run works on the engine until it is cured or handed on.
func (e *engine) run(do choice) {
	s := e.s
	e.belief = make([]float64, len(s.sets.row))
	copy(e.belief, s.q.Weight)
	atom := e.hypothesis
	for step := 0; ; step++ {
		if step > 0 {
			do = e.k.onePlan(e.memo, place{e.key, e.state, 0}, e.belief)
		}
		if step == mostSteps {
			do = choice{kind: HandOn}
		}
		switch do.kind {
		case DoCheck:
			e.check(do.index)
		case DoRepair:
			if atom = e.repair(do.index, atom); atom < 0 {
				e.cured = true
				return
			}
		default:
			e.cost += s.sets.giveUp[s.sets.set[atom]]
			return
		}
	}
}

// copyOf puts weights into the scratch of the level above the first.
func (k *walker) copyOf(w []float64) []float64 {
	into := k.room(0, len(w))
	copy(into, w)
	return into
}

// luck is the engine's own chance, from 0 to 1, in a matter of its own.
func (e *engine) luck(matter uint64) float64 {
	return rand.New(rand.NewPCG(e.seed, mix(e.number<<32|matter))).Float64()
}

func (e *engine) check(c int) {
	ch := &e.s.q.Checks[c]
	e.cost += ch.Cost[e.state]
	e.state = ch.Then[e.state]
	e.checks++
	u, o := e.luck(uint64(c)), 0
	for ; o < len(ch.P)-1; o++ {
		if u -= ch.P[o][e.hypothesis]; u < 0 {
			break
		}
	}
	next := make([]float64, len(e.belief))
	mass := e.s.sets.condition(e.belief, ch.P[o], next)
	for i := range next {
		next[i] /= mass
	}
	e.belief = next
	e.k.used[c] = true
	e.k.show(c, o)
	e.k.raise(c, o, 1)
	e.key = e.key.outcome(c, o)
}

// repair does a repair on the engine as it is, and gives what is left; -1: cured.
func (e *engine) repair(r, atom int) int {
	rep := &e.s.q.Repairs[r]
	e.cost += rep.Cost[e.state]
	e.state = rep.Then[e.state]
	e.repairs++
	const tries, kinds = 8, 4
	mask, try := 0, uint64(e.k.done[r])
	had := e.s.sets.kinds[e.s.sets.set[atom]]
	for b, k := range had {
		matter := 1<<20 | (uint64(r)*tries+try)*kinds + uint64(b)
		if e.luck(matter) >= rep.Cures[k] {
			mask |= 1 << b
		}
	}
	e.k.done[r]++
	if mask == 0 {
		return -1
	}
	if mask == 1<<len(had)-1 {
		e.cost += rep.Wrong
	}
	next := make([]float64, len(e.belief))
	e.s.sets.repairAtoms(r, e.belief, next)
	mass := sum(next)
	for i := range next {
		next[i] /= mass
	}
	e.belief = next
	e.key = e.key.repair(r)
	return e.s.sets.left[atom][mask]
}
