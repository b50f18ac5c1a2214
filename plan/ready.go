package plan

import (
	"weephole/cause"
	"weephole/check"
)

// wait is the cost of a hot engine cooling down.
func (c *CarProblem) wait() float64 {
	return c.Settings.CoolDown.Value / 60 * c.Rate * c.Settings.IdleBay.Value
}

// passage is the cost of bringing the engine from a state to that which a check
// needs, and the state that the check leaves it in.
func (c *CarProblem) passage(k *check.Check, from EngineState) (cost float64, then EngineState) {
	s := c.Settings
	then = After(k, from)
	if s.begins(k.ID) && from == Cold {
		then = Warming
	}
	switch {
	case c.alongside(k, from):
		return 0, Warming
	case coolsDown(k, from):
		return c.wait(), then
	}
	switch k.State {
	case "cold-start", "road":
		if from == Drained {
			return s.Refill.Value / 60 * c.Rate, then
		}
	case "warm", "hot-idle", "hot-off":
		cost = s.warmUp(from) / 60 * c.Rate * s.WatchedRun.Value
		if from == Drained {
			cost += s.Refill.Value / 60 * c.Rate
		}
	}
	return cost, then
}

// warmUp is how many minutes are left until a warm-up is over.
func (s *Assumptions) warmUp(from EngineState) float64 {
	switch from {
	case Hot:
		return 0
	case Warming:
		return max(0, s.WarmUp.Value-s.Begun.Value)
	}
	return s.WarmUp.Value
}

// coolsDown is true where an engine in this state must cool before the check.
func coolsDown(k *check.Check, from EngineState) bool {
	if from != Hot && from != Warming {
		return false
	}
	return k.State == "cold" || k.State == "open" || k.State == "cold-start"
}

// After is the state that a check leaves the engine in.
func After(k *check.Check, from EngineState) EngineState {
	switch k.State {
	case "any":
		return from
	case "cold":
		if from == Hot || from == Warming {
			return Cold
		}
		return from
	case "open":
		return Drained
	}
	return Hot
}

// RepairWait is how many minutes pass until the engine is ready for a repair; nil is
// the run that shows that nothing is wrong.
func (c *CarProblem) RepairWait(r *cause.Repair, from EngineState) float64 {
	if r != nil && (from == Hot || from == Warming) && r.State != "any" {
		return c.Settings.CoolDown.Value
	}
	return 0
}

// Wait is how many minutes pass until the engine is ready for a check.
func (c *CarProblem) Wait(k *check.Check, from EngineState) float64 {
	s := c.Settings
	if long := s.longWait(k.ID); long != nil {
		return long.Minutes
	}
	if c.alongside(k, from) {
		return 0
	}
	if coolsDown(k, from) {
		return s.CoolDown.Value
	}
	switch k.State {
	case "warm", "hot-idle", "hot-off":
		wait := s.warmUp(from)
		if from == Drained {
			wait += s.Refill.Value
		}
		return wait
	}
	return 0
}

// alongside is true for a check that is made in the warm-up which another has begun.
func (c *CarProblem) alongside(k *check.Check, from EngineState) bool {
	_, ok := c.Settings.alongside(k.ID)
	return ok && from == Warming
}
