package plan

import (
	"math"
	"slices"

	"weephole/check"
	"weephole/lineup"
)

// earlier is how a check came out before.
type earlier struct {
	times int
	word  string // last; empty where it was only read
	// doubted is true when a repair was done on it since, and changed nothing.
	doubted bool
}

// history tells which checks were made since the engine was last changed, and how often each
// repair was done. A repair that changed nothing leaves the findings before it standing,
// but doubted; a proof run may always be made again.
func history(cs lineup.Case) (made map[string]earlier, tried map[string]int) {
	made, tried = make(map[string]earlier), make(map[string]int)
	for _, ev := range cs.Events {
		switch {
		case ev.Repair == "":
			e := made[ev.Check]
			made[ev.Check] = earlier{times: e.times + 1, word: ev.Word}
		case ev.Unknown || !ev.Changed.Failed():
			tried[ev.Repair]++
			made = make(map[string]earlier)
		default:
			tried[ev.Repair]++
			for id, e := range made {
				e.doubted = true
				made[id] = e
			}
		}
	}
	return made, tried
}

// onceMore turns the outcomes of a check into those of a repeat of it. It is worth
// repeating when a repair that followed it changed nothing, or when the engines that are
// left would rather have shown something else. Nil: it is not, or it says nothing twice.
func (c *CarProblem) onceMore(k *check.Check, p [][]float64, e earlier) [][]float64 {
	w := k.WordIndex(e.word)
	if float64(e.times) >= c.Settings.MadeMost.Value || e.word == "" || w < 0 || w >= len(p) || k.ID == c.Settings.never.Level || k.ID == c.Settings.never.Fill {
		return nil // a level is another one once it was looked at and filled
	}
	if !e.doubted && !c.doubtful(p, w) {
		return nil
	}
	return repeated(p, w, k.Repeat.Share)
}

// doubtful is true of a result beside which another one is `doubtful` times likelier on the
// engines that are left.
func (c *CarProblem) doubtful(p [][]float64, result int) bool {
	mean := make([]float64, len(p))
	for o := range p {
		for h, weight := range c.Problem.Weight {
			mean[o] += weight * p[o][h]
		}
	}
	return slices.Max(mean) >= c.Settings.Doubtful.Value*mean[result]
}

// Repeats is true for a check that was made before.
func (c *CarProblem) Repeats(i int) bool { return c.again[i] }

// repeated is what a check shows that is made a second time, after it came out as outcome
// first. The same outcome counts by the check's repeat share, as the lineup counts it; what is left
// goes to the other outcomes as they stand to one another.
func repeated(p [][]float64, first int, share float64) [][]float64 {
	out := rows(len(p), len(p[first]))
	for h, one := range p[first] {
		same := math.Pow(one, share)
		if one >= 1 {
			same = 1
		}
		out[first][h] = same
		for o := range p {
			if o != first && one < 1 {
				out[o][h] = (1 - same) * p[o][h] / (1 - one)
			}
		}
	}
	return out
}
