package proof_test

import (
	"context"
	"testing"

	"weephole/cause"
	"weephole/check"
	"weephole/lineup"
)

// sure is the share of the engines that a repair should cure before a careful shop does it, and
// further how many looks it makes for that beyond the usual ones. Judgement.
const (
	sure    = 0.7
	further = 6
)

// usual are the checks that tell most about such complaints.
var usual = []string{"level-cold", "hose-temps", "fan-run", "pressure-hold", "combustion-gas", "cap-pressure", "warm-up-log", "face-sweep", "second-thermometer", "heater-output", "belt-look", "airflow-look"}

// diagnose makes the usual checks, and then looks at what is suspected, until a repair is likely
// enough to cure the car; nil where none gets there.
func (w *world) diagnose(ctx context.Context, t *testing.T, l *lineup.Lineup, s *check.Subject) (*cause.Repair, *lineup.Lineup) {
	t.Helper()
	made := make(map[string]bool)
	look := func(id string) {
		k := w.m.Checks.Check(id)
		p := make([]float64, len(k.Words))
		k.Shows(s, p)
		var err error
		if l, err = l.Extend(ctx, lineup.Event{Check: id, Word: k.Words[pick(p, w.rng.Float64())].Is}); err != nil {
			t.Fatal(err)
		}
		made[id] = true
	}
	for _, id := range usual {
		look(id)
	}
	for range further {
		if r, cures := surest(l); cures >= sure {
			return r, l
		}
		next := w.lookAt(likeliest(l), made)
		if next == "" {
			break
		}
		look(next)
	}
	if r, cures := surest(l); cures >= sure {
		return r, l
	}
	return nil, l
}

// lookAt is a check not made yet, with a word that shows this cause itself; "" for none.
func (w *world) lookAt(cause int, made map[string]bool) string {
	for i := range w.m.Checks.Checks {
		k := &w.m.Checks.Checks[i]
		if made[k.ID] || k.Trace || len(k.Words) == 0 || k.Minutes.Typical > 20 {
			continue
		}
		for j := range k.Words {
			for _, x := range k.Words[j].Shows() {
				if x.Cause == cause {
					return k.ID
				}
			}
		}
	}
	return ""
}

// surest is the repair that cures most of the engines, and the share that it cures of something;
// repairs that are a specialist's work are left out.
func surest(l *lineup.Lineup) (best *cause.Repair, share float64) {
	cat := l.Model().Causes
	for i := range cat.Repairs {
		r := &cat.Repairs[i]
		if r.ID == "send-to-specialist" {
			continue
		}
		sum := 0.0
		for _, e := range l.Engines() {
			for _, f := range e.Faults {
				if r.CureShare(f) > 0.5 {
					sum += e.Weight * (1 - l.Other())
					break
				}
			}
		}
		// Of repairs that do as much, the smaller one.
		if sum > share+0.02 || best != nil && sum > share-0.02 && r.Minutes.Typical < best.Minutes.Typical {
			best, share = r, sum
		}
	}
	return best, share
}

// likeliest is the cause that most engines have.
func likeliest(l *lineup.Lineup) int {
	by := make([]float64, len(l.Model().Causes.Causes))
	for _, e := range l.Engines() {
		if len(e.Faults) == 0 {
			by[l.Model().Causes.NoFault()] += e.Weight
		}
		for _, f := range e.Faults {
			by[f.Cause] += e.Weight
		}
	}
	best := 0
	for c, v := range by {
		if v > by[best] {
			best = c
		}
	}
	return best
}
