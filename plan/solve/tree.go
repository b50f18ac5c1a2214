package solve

import (
	"context"
	"math"
	"slices"
)

// Branch is what the plan does at one point, and what it does after each outcome.
type Branch struct {
	// Problem is the problem as it stands there: what is still possible, what has
	// been made and done. Checks and repairs keep their numbers.
	Problem *Problem
	State   int
	Action  Action
	// Margin is by how much the next best way costs more; infinite if there is none.
	Margin float64
	// Then is the branch after each outcome; nil where the car is cured or handed
	// on, where the outcome is too rare, and beyond the depth asked for.
	Then []*Branch
}

// Tree follows the plan from a ranking's first action: depth actions deep, into
// outcomes that at least the share least of the cars have. At every branch the plan
// is made again from what is known there.
func (s *Search) Tree(ctx context.Context, list []Action, state, depth int, least float64) (*Branch, error) {
	if len(list) == 0 || depth <= 0 {
		return nil, nil
	}
	b := &Branch{Problem: s.p, State: state, Action: list[0], Margin: math.Inf(1)}
	if len(list) > 1 {
		b.Margin = list[1].Expected - list[0].Expected
	}
	return b, s.grow(ctx, b, depth-1, least, 1)
}

func (s *Search) grow(ctx context.Context, b *Branch, depth int, least, share float64) error {
	b.Then = make([]*Branch, len(b.Action.Outcomes))
	for o, out := range b.Action.Outcomes {
		if depth <= 0 || b.Action.Kind == HandOn || out.Probability*share < least || b.Action.Kind == DoRepair && o == 0 {
			continue
		}
		p, state := b.Problem.After(b.Action, o, b.State)
		sub := New(p, 0).Prefer(s.prefer)
		list, err := sub.Rank(ctx, state)
		if err != nil {
			return err
		}
		if len(list) == 0 {
			continue
		}
		if b.Then[o], err = sub.Tree(ctx, list, state, 1, least); err != nil {
			return err
		}
		if err := sub.grow(ctx, b.Then[o], depth-1, least, share*out.Probability); err != nil {
			return err
		}
	}
	return nil
}

// After is the problem once an action has had an outcome, and the engine's state.
func (p *Problem) After(a Action, o, state int) (*Problem, int) {
	if a.Kind == DoCheck {
		return p.afterCheck(a.Index, o, state)
	}
	return p.afterRepair(a.Index, state)
}

// afterCheck weighs the hypotheses by an outcome of a check.
func (p *Problem) afterCheck(c, o, state int) (*Problem, int) {
	q := *p
	q.Checks = slices.Clone(p.Checks)
	ch := &q.Checks[c]
	ch.Made = true
	q.Weight = make([]float64, len(p.Weight))
	for h, w := range p.Weight {
		q.Weight[h] = w * ch.P[o][h]
	}
	total := sum(q.Weight)
	for h := range q.Weight {
		q.Weight[h] /= total
	}
	q.Repairs = slices.Clone(p.Repairs)
	for r := range q.Repairs {
		if slices.Contains(q.Repairs[r].Confirmations, Confirmation{c, o}) {
			q.Repairs[r].Confirmed = true
		}
	}
	q.Barriers = raisedBy(p.Barriers, c, o)
	q.pass(ch.Minutes, state)
	return &q, ch.Then[state]
}

// afterRepair has the hypotheses that a repair leaves: those that it did not cure, and
// what is left of those that it cured in part.
func (p *Problem) afterRepair(r, state int) (*Problem, int) {
	q := *p
	q.Repairs = slices.Clone(p.Repairs)
	rep := &q.Repairs[r]
	rep.Done++
	atoms := newAtoms(p)
	left := make([]float64, len(atoms.row))
	atoms.repairAtoms(r, p.Weight, left)
	total := sum(left)
	q.Weight, q.Faults = nil, nil
	var rows []int
	for at, w := range left {
		if w > 0 {
			q.Weight = append(q.Weight, w/total)
			q.Faults = append(q.Faults, atoms.kinds[atoms.set[at]])
			rows = append(rows, atoms.row[at])
		}
	}
	q.Checks = slices.Clone(p.Checks)
	for c := range q.Checks {
		ch := &q.Checks[c]
		ch.P = make([][]float64, len(ch.P))
		for o := range ch.P {
			ch.P[o] = take(p.Checks[c].P[o], rows)
		}
		if ch.Hurt != nil {
			ch.Hurt = take(ch.Hurt, rows)
		}
	}
	q.Barriers = liftedBy(p.Barriers, r)
	q.pass(rep.Minutes, state)
	return &q, rep.Then[state]
}

// take is x at the given places.
func take(x []float64, at []int) []float64 {
	out := make([]float64, len(at))
	for i, h := range at {
		out[i] = x[h]
	}
	return out
}

// pass takes the minutes of an action off what is left.
func (p *Problem) pass(minutes []float64, state int) {
	if p.Left != nil && minutes != nil {
		p.Left = new(math.Max(*p.Left-minutes[state], 0))
	}
}
