package plan

import (
	"math"
	"slices"

	"weephole/cause"
	"weephole/check"
	"weephole/circuit"
	"weephole/lineup"
	"weephole/plan/solve"
)

// Never is what no cost buys off, by the ids of the catalogue: never.yaml.
type Never struct {
	// Level is the check that looks for coolant, Low its words for too little, and
	// Fill the check that fills the system cold and looks where it goes.
	Level string   `sheet:"level,required"`
	Low   []string `sheet:"low,required"`
	Fill  string   `sheet:"fill,required"`
	// Spoilt are words of checks after which the engine is not run at all.
	Spoilt []DirectSign `sheet:"spoilt,required"`
	// Steaming are signs of a complaint after which even a hot engine is not run
	// before its level is known.
	Steaming []string `sheet:"steaming,required"`
	// Neck are the checks that open the neck of a running engine.
	Neck []string `sheet:"neck,required"`
	// Shut are causes, and states of causes, that keep the coolant in the engine.
	Shut       []string `sheet:"shut,required"`
	ShutStates []string `sheet:"shut-states,required"`
	// Looks are quick looks at a part whose words are no direct signs.
	Looks []Look `sheet:"looks,required"`
}

// Look says which checks look at the part behind a cause.
type Look struct {
	Cause  string   `sheet:"cause,required"`
	Checks []string `sheet:"checks,required"`
	Source string   `sheet:"source,required"`
}

// runs are the states of the engine in which a check runs it, or has just run it.
var runs = []string{"cold-start", "warm", "hot-idle", "hot-off", "road"}

// Runs is true for a check that runs the engine, or has just run it.
func Runs(k *check.Check) bool { return slices.Contains(runs, k.State) }

// standing is what the case says of the engine now.
type standing struct {
	level  bool // its level is known, since the last time the system was open
	low    bool // and was too low, and has not been filled
	spoilt bool // oil and coolant have met, and nothing was done about it
}

// stands reads from the case how the engine stands.
func (c *CarProblem) stands(cs lineup.Case) standing {
	n, s := &c.Settings.never, standing{}
	for _, ev := range cs.Events {
		switch {
		case ev.Repair != "":
			if r := c.Model.Causes.Repair(ev.Repair); r != nil && r.Drained() {
				s = standing{spoilt: s.spoilt && !r.Big} // filled and bled after it
			}
		case ev.Check == n.Level && ev.Word != "":
			s.level, s.low = true, slices.Contains(n.Low, ev.Word)
		case ev.Check == n.Fill && ev.Word != "":
			s.level, s.low = true, false
		}
		s.spoilt = s.spoilt || slices.Contains(n.Spoilt, DirectSign{ev.Check, ev.Word})
	}
	return s
}

// barriers adds the rules that no cost buys off. It comes after all checks and
// repairs have been added.
func (c *CarProblem) barriers(cs lineup.Case) {
	n, now := &c.Settings.never, c.now
	place := make(map[string]int, len(c.Checks))
	var run []int
	for i, k := range c.Checks {
		place[k.ID] = i
		if Runs(k) {
			run = append(run, i)
		}
	}
	var healthy, fills []int
	for i, r := range c.Repairs {
		switch {
		case r == nil:
			healthy = append(healthy, i)
		case r.Drained():
			fills = append(fills, i)
		}
	}
	add := func(b solve.Barrier) { c.Problem.Barriers = append(c.Problem.Barriers, b) }
	at := func(id string) []int {
		if i, ok := place[id]; ok {
			return []int{i}
		}
		return nil
	}
	word := func(s DirectSign) (solve.Confirmation, bool) {
		i, ok := place[s.Check]
		if !ok {
			return solve.Confirmation{}, false
		}
		return solve.Confirmation{Check: i, Outcome: c.Checks[i].WordIndex(s.Found)}, true
	}
	// Too little coolant: filled cold first, and looked where it goes.
	low := solve.Barrier{Stands: now.low, Lifted: at(n.Fill), Refilled: fills, Checks: run, Repairs: healthy}
	for _, w := range n.Low {
		if o, ok := word(DirectSign{n.Level, w}); ok {
			low.Raised = append(low.Raised, o)
		}
	}
	add(low)
	// Oil and coolant have met: not run until that is put right.
	spoilt := solve.Barrier{Stands: now.spoilt, Refilled: fills, Checks: run, Repairs: healthy}
	for _, s := range n.Spoilt {
		if o, ok := word(s); ok {
			spoilt.Raised = append(spoilt.Raised, o)
		}
	}
	add(spoilt)
	// The level is looked at before a cold engine is started, and before a hot one
	// that steams or loses coolant is run on.
	if level := at(n.Level); !now.level && level != nil && (c.Shop.State != Hot || c.steams(cs)) {
		add(solve.Barrier{Stands: true, Lifted: level, Checks: run, Repairs: healthy})
	}
	for r, rep := range c.Repairs {
		c.lookFirst(r, rep, cs, place)
		if q := c.With[r]; q != nil {
			c.lookFirst(r, q, cs, place)
		}
	}
}

// steams is true when the complaint tells of an engine that may be short of
// coolant or was driven in the red.
func (c *CarProblem) steams(cs lineup.Case) bool {
	if cs.RanHot || cs.LostCoolant {
		return true
	}
	for _, id := range c.Settings.never.Steaming {
		if i := c.Model.Checks.SignIndex(id); i >= 0 && i < len(cs.Complaint.Signs) && cs.Complaint.Signs[i] == check.Said {
			return true
		}
	}
	return false
}

// lookFirst bars a part from being replaced until a quick look at that very part
// was made, where one can be made with the tools at hand.
func (c *CarProblem) lookFirst(r int, rep *cause.Repair, cs lineup.Case, place map[string]int) {
	if rep == nil || rep.NoPart {
		return
	}
	looks := c.looks(c.mainly(c.Cures(rep)))
	last := 0
	for i, ev := range cs.Events {
		if ev.Repair == rep.ID {
			last = i + 1
		}
	}
	var quick []int
	for _, k := range looks {
		for i, ev := range cs.Events {
			if ev.Check == k.ID && i >= last {
				return // it was looked at
			}
		}
		i, ok := place[k.ID]
		if missing, _ := c.lacks(k.Tools); ok && len(missing) == 0 && k.Minutes.Typical <= c.Settings.QuickLook.Value {
			quick = append(quick, i)
		}
	}
	if len(quick) > 0 {
		c.Problem.Barriers = append(c.Problem.Barriers, solve.Barrier{Stands: true, Lifted: quick, Repairs: []int{r}})
	}
}

// Cures is, by kind, the probability that a repair takes it away.
func (c *CarProblem) Cures(r *cause.Repair) []float64 {
	out := make([]float64, len(c.Kinds))
	for k, f := range c.Kinds {
		out[k] = r.Succeeds(c.Model.Causes, f)
	}
	return out
}

// looks lists the checks that look at the part behind one of the kinds.
func (c *CarProblem) looks(kinds []int) []*check.Check {
	var list []*check.Check
	for i := range c.Model.Checks.Checks {
		k := &c.Model.Checks.Checks[i]
		if slices.ContainsFunc(kinds, func(kind int) bool { return c.looksAt(k, c.Kinds[kind]) }) {
			list = append(list, k)
		}
	}
	return list
}

// looksAt is true when a word of the check shows the fault itself, or never.yaml
// calls the check a look at its part.
func (c *CarProblem) looksAt(k *check.Check, f cause.Present) bool {
	for w := range k.Words {
		for _, s := range k.Words[w].Shows() {
			if s.Fits(f) {
				return true
			}
		}
	}
	id := c.Model.Causes.Causes[f.Cause].ID
	for _, l := range c.Settings.never.Looks {
		if l.Cause == id && slices.Contains(l.Checks, k.ID) {
			return true
		}
	}
	return false
}

// hurt is by hypothesis whether a check that opens the neck of a running engine
// meets one that would pass the limit while it lasts; nil for other checks. What
// nobody knows is taken to behave as the engines do on average.
func (c *CarProblem) hurt(k *check.Check, sample *lineup.Sample) []float64 {
	if !slices.Contains(c.Settings.never.Neck, k.ID) {
		return nil
	}
	s, ok := running(k)
	if !ok {
		s = circuit.WarmUp // from cold until the thermostat opens
	}
	out := make([]float64, len(c.Problem.Weight))
	mean := 0.0
	for i, r := range sample.Records {
		m := r.At(circuit.Observable{Situation: s, Place: circuit.MinutesToLimit})
		if shut := c.keepsShut(sample.Faults[i]); shut || !math.IsNaN(m) && m < k.Minutes.Typical {
			out[i] = 1
		}
		mean += out[i] / float64(len(sample.Records))
	}
	for i := len(sample.Records); i < len(out); i++ {
		out[i] = mean
	}
	return out
}

// keepsShut is true for an engine whose thermostat, or what takes its place, does
// not let the coolant out.
func (c *CarProblem) keepsShut(faults []cause.Present) bool {
	for _, f := range faults {
		k := &c.Model.Causes.Causes[f.Cause]
		if slices.Contains(c.Settings.never.Shut, k.ID) {
			return true
		}
		for _, state := range c.Settings.never.ShutStates {
			if h, s, ok := k.FindState(state); ok && f.Hidden[h] == s {
				return true
			}
		}
	}
	return false
}
