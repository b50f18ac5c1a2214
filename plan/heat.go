package plan

import (
	"math"

	"weephole/check"
	"weephole/circuit"
	"weephole/lineup"
)

// overheats gives the share of the engines that would pass the limit while a check
// is made, and the share that would within the first few minutes.
func (c *CarProblem) overheats(k *check.Check, sample *lineup.Sample) (share, soon float64) {
	s, runs := running(k)
	if !runs {
		return 0, 0
	}
	n := float64(len(sample.Records))
	for _, r := range sample.Records {
		m := r.At(circuit.Observable{Situation: s, Place: circuit.MinutesToLimit})
		if math.IsNaN(m) {
			continue
		}
		if m < k.Minutes.Typical {
			share += 1 / n
		}
		if m < c.Settings.UnfitMinutes.Value {
			soon += 1 / n
		}
	}
	return share, soon
}

// running is the situation that the engine is run in for a check, if it runs.
func running(k *check.Check) (circuit.Situation, bool) {
	switch k.State {
	case "road":
		if k.Situations().Has(circuit.Climb) {
			return circuit.Climb, true
		}
		return circuit.City, true
	case "hot-idle", "warm":
		switch {
		case k.Situations().Has(circuit.FastIdle):
			return circuit.FastIdle, true
		case k.Situations().Has(circuit.HotIdleAC):
			return circuit.HotIdleAC, true
		}
		return circuit.HotIdle, true
	case "cold-start":
		if k.Situations().Has(circuit.WarmUp) || k.Situations().Has(circuit.FastIdle) {
			return circuit.WarmUp, true
		}
	}
	return 0, false
}
