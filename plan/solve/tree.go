package solve

import (
	"context"
	"math"
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
	q := *p
	switch a.Kind {
	case DoCheck:
		q.Checks = append([]CheckAction(nil), p.Checks...)
		ch := &q.Checks[a.Index]
		q.Weight = make([]float64, len(p.Weight))
		total := 0.0
		for h, w := range p.Weight {
			q.Weight[h] = w * ch.P[o][h]
			total += q.Weight[h]
		}
		for h := range q.Weight {
			q.Weight[h] /= total
		}
		ch.Made = true
		q.Repairs = append([]RepairAction(nil), p.Repairs...)
		for r := range q.Repairs {
			for _, pr := range q.Repairs[r].Confirmations {
				if pr == (Confirmation{a.Index, o}) {
					q.Repairs[r].Confirmed = true
				}
			}
		}
		q.Barriers = raisedBy(p.Barriers, a.Index, o)
		q.pass(ch.Minutes, state)
		return &q, ch.Then[state]
	default:
		q.Repairs = append([]RepairAction(nil), p.Repairs...)
		rep := &q.Repairs[a.Index]
		rep.Done++
		atoms := newAtoms(p)
		left := make([]float64, len(atoms.row))
		atoms.repairAtoms(a.Index, p.Weight, left)
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
		q.Checks = make([]CheckAction, len(p.Checks))
		for c, ch := range p.Checks {
			ch.P = matrix(len(ch.P), len(rows))
			for o := range ch.P {
				for i, h := range rows {
					ch.P[o][i] = p.Checks[c].P[o][h]
				}
			}
			if ch.Hurt != nil {
				ch.Hurt = make([]float64, len(rows))
				for i, h := range rows {
					ch.Hurt[i] = p.Checks[c].Hurt[h]
				}
			}
			q.Checks[c] = ch
		}
		q.Barriers = liftedBy(p.Barriers, a.Index)
		q.pass(rep.Minutes, state)
		return &q, rep.Then[state]
	}
}

// pass takes the minutes of an action off what is left.
func (p *Problem) pass(minutes []float64, state int) {
	if p.Left != nil && minutes != nil {
		p.Left = new(math.Max(*p.Left-minutes[state], 0))
	}
}
