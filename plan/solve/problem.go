package solve

import (
	"cmp"
	"fmt"
	"slices"
)

// Problem is a troubleshooting problem: weighted hypotheses, checks that tell
// them apart, repairs that cure them. It knows nothing of cars. Money and time
// are one number, in the currency of the costs.
type Problem struct {
	// Weight of each hypothesis; they sum to one.
	Weight []float64
	// Faults lists the kinds of fault that each hypothesis has, at most
	// MaxFaults, in increasing order; none means that nothing is wrong.
	Faults [][]int
	// Kinds is the number of kinds of fault.
	Kinds   int
	Repairs []RepairAction
	Checks  []CheckAction
	// Barriers are the rules that no cost buys off.
	Barriers []Barrier
	// GiveUp is what it costs, by kind, to hand a car with that fault to
	// somebody who is sure to cure it. With infinite cost giving up is no option.
	GiveUp []float64
	// States is the number of states that the engine can be in; costs depend
	// on them. At least 1.
	States int
	// Tries is how often the same repair may be done: a second time after a bad
	// part or botched work. At least 1.
	Tries int
	// Left is how many minutes are left for the next action; nil for no end. What
	// does not fit may not be done; what comes after the next action is not cut.
	Left *float64
}

// MaxFaults is how many faults a hypothesis may have at once.
const MaxFaults = 3

// RepairAction is an action that may cure faults; whether all faults are gone is
// seen after it, at a cost that Cost includes.
type RepairAction struct {
	Cost []float64 // by state of the engine before it
	Then []int     // state after it, by state before it
	// Minutes it takes with the wait before it, by state; nil where no end is set.
	Minutes []float64
	// Done is how often it has been done already.
	Done int
	// Cures is the probability, by kind, that it cures that fault.
	Cures []float64
	// Wrong is what it costs on top, in trust and trouble, when it has taken
	// nothing away; 0 for none.
	Wrong float64
	// NeedOdds is the probability, among what is not yet cured, that one of the
	// faults it is done for is present, below which it may not be done; 0 for none.
	NeedOdds float64
	// For lists the kinds it is done for, whose odds NeedOdds asks for; nil for
	// all that it cures. A costly repair cures much on the way that is no reason for it.
	For []int
	// Unconfirmed lists the kinds of For whose odds do not count until one of Confirmations
	// has come out, or Confirmed is true: they can be shown, so they must be.
	Unconfirmed   []int
	Confirmations []Confirmation
	Confirmed     bool
}

// Confirmation is an outcome of a check that shows directly what a repair is done for.
type Confirmation struct {
	Check, Outcome int
}

// CheckAction is an action that tells hypotheses apart and may be done once.
type CheckAction struct {
	Cost []float64 // by state of the engine before it
	Then []int     // state after it, by state before it
	// Minutes it takes with the wait before it, by state; nil where no end is set.
	Minutes []float64
	// P is the probability of each outcome for each hypothesis: P[outcome][hypothesis].
	P [][]float64
	// Made is true when it has been made already.
	Made bool
	// Far is true when it can be made only with what is not at hand.
	Far bool
	// Hurt is by hypothesis the share (0..1) of its engines that the check would
	// hurt; where more than MostHurt of all would be, it may not be made. Nil: none.
	Hurt     []float64
	MostHurt float64
}

// fits tells whether an action of so many minutes, by state, ends in time.
func (p *Problem) fits(minutes []float64, state int) bool {
	return p.Left == nil || minutes == nil || minutes[state] <= *p.Left
}

// Validate tells the first thing wrong with the problem.
func (p *Problem) Validate() error {
	if p.States < 1 {
		return fmt.Errorf("problem: %d states; there must be at least 1", p.States)
	}
	if p.Tries < 1 {
		return fmt.Errorf("problem: %d tries of a repair; there must be at least 1", p.Tries)
	}
	if len(p.GiveUp) != p.Kinds {
		return fmt.Errorf("problem: %d costs of giving up for %d kinds", len(p.GiveUp), p.Kinds)
	}
	return cmp.Or(p.validHypotheses(), p.validRepairs(), p.validChecks(), p.validBarriers())
}

func (p *Problem) validHypotheses() error {
	if len(p.Weight) != len(p.Faults) {
		return fmt.Errorf("problem: %d weights for %d hypotheses", len(p.Weight), len(p.Faults))
	}
	for h, f := range p.Faults {
		if len(f) > MaxFaults {
			return fmt.Errorf("problem: hypothesis %d has %d faults; at most %d", h, len(f), MaxFaults)
		}
		for i, k := range f {
			if k < 0 || k >= p.Kinds || i > 0 && f[i-1] >= k {
				return fmt.Errorf("problem: hypothesis %d: faults %v must be increasing kinds below %d", h, f, p.Kinds)
			}
		}
	}
	return nil
}

func (p *Problem) validRepairs() error {
	for i, r := range p.Repairs {
		if len(r.Cures) != p.Kinds || len(r.Cost) != p.States || len(r.Then) != p.States {
			return fmt.Errorf("problem: repair %d: wants %d cures, %d costs and states", i, p.Kinds, p.States)
		}
		if r.Minutes != nil && len(r.Minutes) != p.States {
			return fmt.Errorf("problem: repair %d: %d minutes; wants %d, one a state, or none", i, len(r.Minutes), p.States)
		}
		for _, k := range slices.Concat(r.For, r.Unconfirmed) {
			if k < 0 || k >= p.Kinds {
				return fmt.Errorf("problem: repair %d: kind %d of what it is done for; kinds are below %d", i, k, p.Kinds)
			}
		}
		for _, pr := range r.Confirmations {
			if !p.has(pr) {
				return fmt.Errorf("problem: repair %d: proof %+v names no outcome of a check", i, pr)
			}
		}
	}
	return nil
}

// has tells whether an outcome is one of a check of the problem.
func (p *Problem) has(c Confirmation) bool {
	return c.Check >= 0 && c.Check < len(p.Checks) && c.Outcome >= 0 && c.Outcome < len(p.Checks[c.Check].P)
}

func (p *Problem) validChecks() error {
	for i, c := range p.Checks {
		if len(c.Cost) != p.States || len(c.Then) != p.States {
			return fmt.Errorf("problem: check %d: wants %d costs and states", i, p.States)
		}
		if c.Minutes != nil && len(c.Minutes) != p.States {
			return fmt.Errorf("problem: check %d: %d minutes; wants %d, one a state, or none", i, len(c.Minutes), p.States)
		}
		if c.Hurt != nil && len(c.Hurt) != len(p.Weight) {
			return fmt.Errorf("problem: check %d hurts %d hypotheses of %d", i, len(c.Hurt), len(p.Weight))
		}
		for o, row := range c.P {
			if len(row) != len(p.Weight) {
				return fmt.Errorf("problem: check %d outcome %d: %d probabilities for %d hypotheses", i, o, len(row), len(p.Weight))
			}
		}
	}
	return nil
}

func (p *Problem) validBarriers() error {
	for i, b := range p.Barriers {
		for _, c := range slices.Concat(b.Checks, b.Lifted) {
			if c < 0 || c >= len(p.Checks) {
				return fmt.Errorf("problem: barrier %d: no check %d", i, c)
			}
		}
		for _, r := range b.Repairs {
			if r < 0 || r >= len(p.Repairs) {
				return fmt.Errorf("problem: barrier %d: no repair %d", i, r)
			}
		}
		for _, o := range b.Raised {
			if !p.has(o) {
				return fmt.Errorf("problem: barrier %d: raised by %+v, which is no outcome of a check", i, o)
			}
		}
	}
	return nil
}
