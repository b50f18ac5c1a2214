package plan

import (
	"slices"

	"weephole/cause"
	"weephole/lineup"
)

// FoundBad is a part that was looked at and found bad, and is cheap to put right:
// it is put right on the way, whatever else is wrong.
type FoundBad struct {
	Check, Word string // what showed it
	Says        string // the word, as people read it
	Cause       int    // index of what it showed
	Repair      *cause.Repair
	Cost        float64 // its bill alone, without a proof run of its own
}

// FoundBad lists what the findings since its last repair have shown to be bad and
// costs no more than the setting put-right, in the order found.
func (c *CarProblem) FoundBad(cs lineup.Case) []FoundBad {
	done := make(map[string]int) // by repair: when it was done last
	for i, ev := range cs.Events {
		if ev.Repair != "" {
			done[ev.Repair] = i + 1
		}
	}
	var list []FoundBad
	listed := make(map[string]bool)
	for i, ev := range cs.Events {
		k := c.Model.Checks.Check(ev.Check)
		if k == nil || ev.Word == "" {
			continue
		}
		w := &k.Words[max(0, k.WordIndex(ev.Word))]
		if w.Is != ev.Word || len(w.Shows()) != 1 {
			continue // several parts may be meant: not plain
		}
		s := w.Shows()[0]
		f := cause.Present{Cause: s.Cause, Site: s.Site}
		if s.Hidden >= 0 {
			f.Hidden[s.Hidden] = s.State
		}
		r := c.Model.Causes.UsualRepair(f)
		if r < 0 {
			continue
		}
		rep := &c.Model.Causes.Repairs[r]
		at, again := done[rep.ID]
		if rep.Big || again && at > i || listed[rep.ID] || c.Bill(rep) > c.Settings.PutRight.Value {
			continue
		}
		listed[rep.ID] = true
		list = append(list, FoundBad{ev.Check, ev.Word, w.Says, s.Cause, rep, c.Bill(rep)})
	}
	return list
}

// seenBad lets what was seen bad and is cheap be put right whatever its odds: need-odds ask how
// likely a part is to be bad, and that is answered. It comes after all repairs were added.
func (c *CarProblem) seenBad(cs lineup.Case) {
	c.seen = make(map[int]float64)
	for _, x := range c.FoundBad(cs) {
		if i := slices.Index(c.Repairs, x.Repair); i >= 0 {
			c.Problem.Repairs[i].NeedOdds = 0
			c.seen[i] = x.Cost
		}
	}
}
