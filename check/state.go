package check

import (
	"slices"

	"weephole/circuit"
)

// variant is a check as it is done in another situation than its own: the same
// words and readings, taken from that situation's run.
type variant struct {
	situation circuit.Situation
	check     *Check
}

// stateSituations are the situations that a state of the engine stands for, in
// which a check of a warm standing engine may be read as well.
var stateSituations = map[string]circuit.Situation{
	"hot-idle":  circuit.HotIdle,
	"fast-idle": circuit.FastIdle,
	"hot-off":   circuit.HeatSoak,
	"road":      circuit.Motorway,
}

// standing are the situations of a warm standing engine: what is read in one of
// them can be read in the others.
var standing = []circuit.Situation{circuit.HotIdle, circuit.HotIdleAC, circuit.FastIdle}

// variants makes the check's variants, if it is read from the run of a warm
// standing engine.
func (r *resolver) variants(c *Check) {
	c.variants = nil
	own, err := circuit.ParseSituation(c.Situation)
	if err != nil || !slices.Contains(standing, own) || len(c.words) == 0 && !c.readsRun() {
		return
	}
	for _, s := range circuit.Situations() {
		if s == own || !isVariant(s) {
			continue
		}
		v := *c
		v.words = slices.Clone(c.words)
		for i := range v.words {
			v.words[i].of.move(own, s)
			v.words[i].minus.move(own, s)
		}
		v.Readings = slices.Clone(c.Readings)
		for i := range v.Readings {
			v.Readings[i].of.move(own, s)
			v.Readings[i].minus.move(own, s)
		}
		c.variants = append(c.variants, variant{s, &v})
	}
}

func isVariant(s circuit.Situation) bool {
	if s == circuit.HotIdleAC {
		return true
	}
	for _, v := range stateSituations {
		if s == v {
			return true
		}
	}
	return false
}

func (c *Check) readsRun() bool {
	return slices.ContainsFunc(c.Readings, func(m ReadingModel) bool { return m.of.ok })
}

func (o *observed) move(from, to circuit.Situation) {
	if o.ok && o.is.Situation == from {
		o.is.Situation = to
	}
}

// In is the check as it is done with the engine in the given state, and with the air
// conditioning on. It is the check itself where that is the same, and a variant where the
// run tells how it then looks. It is nil where the catalogue does not know what it would
// show. An empty state is the one that the check asks for.
func (c *Check) In(state string, airCon bool) *Check {
	own, err := circuit.ParseSituation(c.Situation)
	want := own
	switch {
	case state == "" || state == "unknown" || state == "any" || state == c.State:
	case slices.Contains(c.Also, state) || slices.Contains(c.Also, "any") || c.State == "any":
		return c
	default:
		s, ok := stateSituations[state]
		if !ok || len(c.variants) == 0 {
			return nil
		}
		want = s
	}
	if airCon && want == circuit.HotIdle {
		want = circuit.HotIdleAC
	}
	if err != nil || want == own || len(c.variants) == 0 {
		return c
	}
	for i := range c.variants {
		if c.variants[i].situation == want {
			return c.variants[i].check
		}
	}
	return c
}
