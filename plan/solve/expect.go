package solve

import (
	"context"
	"math"
	"math/rand/v2"
)

// Expect is the expected cost of beginning with an action and following the plan, planned
// again one check ahead after each result, on the engines of the sample. It follows beliefs and not
// engines: the chances of results, cures and handing on are summed, not drawn. Branches where fewer than
// one of n cars would come are sampled, so the mean is that of Follow, with less chance in it.
func (s *Search) Expect(ctx context.Context, first Action, state, n int, seed uint64) (float64, error) {
	c := crowd{s: s, k: s.walker(oneAhead), memo: make(map[place]choice), ctx: ctx, luck: rand.New(rand.NewPCG(seed, 0x5eed))}
	belief := make([]float64, len(s.sets.row))
	copy(belief, s.q.Weight)
	scale(belief, 1/sum(belief))
	cost := c.cost(choice{first.Kind, first.Index}, place{state: state}, belief, float64(n), 0)
	return cost, ctx.Err()
}

// crowd is many engines that are worked on alike.
type crowd struct {
	s    *Search
	k    *walker
	memo map[place]choice
	ctx  context.Context
	luck *rand.Rand
}

// cost is the expected cost of doing so and going on, for cars that stand like this.
// The belief sums to one, and so many cars have it.
func (c *crowd) cost(do choice, at place, belief []float64, cars float64, step int) float64 {
	if step == mostSteps || c.ctx.Err() != nil {
		do = choice{kind: HandOn}
	}
	switch do.kind {
	case DoCheck:
		return c.check(do.index, at, belief, cars, step)
	case DoRepair:
		return c.repair(do.index, at, belief, cars, step)
	}
	v := 0.0
	for a, w := range belief {
		v += w * c.s.sets.giveUp[c.s.sets.set[a]]
	}
	return v
}

func (c *crowd) check(i int, at place, belief []float64, cars float64, step int) float64 {
	k, ch := c.k, &c.s.q.Checks[i]
	k.used[i] = true
	v, list := ch.Cost[at.state], make([]branch, 0, len(ch.P))
	for o := range ch.P {
		next := make([]float64, len(belief))
		p := c.s.sets.condition(belief, ch.P[o], next)
		if p <= 0 {
			continue
		}
		list = append(list, branch{outcome: o, at: place{key: at.key.outcome(i, o), state: ch.Then[at.state]}, p: p, belief: next})
	}
	v += c.split(list, cars, func(b *branch, cars float64) float64 {
		undo := k.show(i, b.outcome)
		k.raise(i, b.outcome, 1)
		cost := c.onward(b, cars, step)
		k.raise(i, b.outcome, -1)
		k.hide(undo)
		return cost
	})
	k.used[i] = false
	return v
}

func (c *crowd) repair(r int, at place, belief []float64, cars float64, step int) float64 {
	k, rep := c.k, &c.s.q.Repairs[r]
	v := rep.Cost[at.state] + rep.Wrong*c.s.sets.futileMass(r, belief)
	next := make([]float64, len(belief))
	c.s.sets.repairAtoms(r, belief, next)
	if left := sum(next); left > tiny {
		k.done[r]++
		v += c.split([]branch{{at: place{key: at.key.repair(r), state: rep.Then[at.state]}, p: left, belief: next}}, cars, func(b *branch, cars float64) float64 {
			return c.onward(b, cars, step)
		})
		k.done[r]--
	}
	return v
}

// branch is what may come of an action, with its share p of the cars.
type branch struct {
	outcome int
	at      place
	p       float64
	belief  []float64
}

func (c *crowd) onward(b *branch, cars float64, step int) float64 {
	return c.cost(c.k.onePlan(c.memo, b.at, b.belief), b.at, b.belief, cars, step+1)
}

// split is what so many cars cost on average beyond an action, from each of what may come of it.
// Branches that at least one car takes are followed. Of the thinner ones systematic sampling follows as many
// as there are cars in them. A guess at the cost is counted for all branches, and only what is
// missing from it for those that are followed (a control variate): the guess need not be right.
func (c *crowd) split(list []branch, cars float64, follow func(b *branch, cars float64) float64) float64 {
	v, u := 0.0, c.luck.Float64()
	for i := range list {
		b := &list[i]
		scale(b.belief, 1/b.p)
		guess := c.guess(b)
		v += b.p * guess
		switch n := cars * b.p; {
		case n >= 1:
			v += b.p * (follow(b, n) - guess)
		default:
			if u -= n; u < 0 {
				u++
				v += (follow(b, 1) - guess) / cars
			}
		}
	}
	return v
}

// guess is what a branch may cost: the faults, if they were known, and what finding out costs by
// the price of a bit, or handing it on, whichever is less.
func (c *crowd) guess(b *branch) float64 {
	k := c.k
	c.s.sets.gather(b.belief, k.set)
	k.bit = c.s.perBit[b.at.state]
	return math.Min(dot(c.s.known[b.at.state], k.set)+k.findOut(), dot(c.s.sets.giveUp, k.set))
}

// onePlan is what the plan does next from a belief, looking one check ahead.
func (k *walker) onePlan(memo map[place]choice, at place, belief []float64) choice {
	if c, ok := memo[at]; ok {
		return c
	}
	k.start = sum(belief)
	k.s.sets.gather(belief, k.set)
	k.bit = k.s.priceOfBit(k.rate(belief, at.state), k.start)
	_, c := k.decide(k.copyOf(belief), k.start, at.state, 1, at.key)
	clear(k.memo)
	memo[at] = c
	return c
}

func scale(x []float64, by float64) {
	for i := range x {
		x[i] *= by
	}
}
