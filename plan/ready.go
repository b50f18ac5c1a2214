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
	s, rate := c.Settings, c.Rate
	warm := s.WarmUp.Value / 60 * rate * s.WatchedRun.Value
	refill := s.Refill.Value / 60 * rate
	switch k.State {
	case "any":
		return 0, from
	case "cold":
		if from == Hot {
			return c.wait(), Cold
		}
		return 0, from
	case "cold-start":
		switch from {
		case Hot:
			return c.wait(), Hot
		case Drained:
			return refill, Hot
		}
		return 0, Hot
	case "open":
		switch from {
		case Hot:
			return c.wait(), Drained
		}
		return 0, Drained
	case "road":
		if from == Drained {
			return refill, Hot
		}
		return 0, Hot
	default: // warm, hot-idle, hot-off
		switch from {
		case Cold:
			return warm, Hot
		case Drained:
			return refill + warm, Hot
		}
		return 0, Hot
	}
}

// After is the state that a check leaves the engine in.
func After(k *check.Check, from EngineState) EngineState {
	switch k.State {
	case "any":
		return from
	case "cold":
		if from == Hot {
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
	if r != nil && from == Hot && r.State != "any" {
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
	switch k.State {
	case "cold", "cold-start", "open":
		if from == Hot {
			return s.CoolDown.Value
		}
	case "warm", "hot-idle", "hot-off":
		switch from {
		case Cold:
			return s.WarmUp.Value
		case Drained:
			return s.Refill.Value + s.WarmUp.Value
		}
	}
	return 0
}
