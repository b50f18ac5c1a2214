package check

import "weephole/cause"

// truth is what makes a sign so, resolved.
type truth struct {
	alternatives [][]condition
	reached      float64 // probability that it comes as far as the run does
	table        table   // word 0: it is so
	tabled       bool
	traits       []trait // by cause index
}

// so is the probability that the sign holds on the subject. Alternatives and
// rows each bring it about on their own (noisy-or).
func (t *truth) so(s *Subject) float64 {
	if traitsOf(s, t.traits)&anything != 0 {
		return 0.5
	}
	not := 1.0
	for _, all := range t.alternatives {
		holds := 1.0
		for i := range all {
			holds *= all[i].holds(s)
		}
		not *= 1 - holds
	}
	not = 1 - t.reached*(1-not)
	if !t.tabled {
		return 1 - not
	}
	matched := false
	for i := range s.Causes {
		p := &s.Causes[i]
		if r := t.table.row(p); r != nil {
			not *= 1 - (r.mild[0] + p.Severity*r.slope[0])
			matched = true
		}
	}
	if !matched {
		not *= 1 - t.table.otherwise[0]
	}
	return 1 - not
}

// Probability is that of hearing this about something that is so with
// probability so, from an owner who mentions it with probability said when it is
// so and mistaken when it is not. One who is asked and denies it errs as often as
// one who says it without its being so.
func (h Heard) Probability(so, said, mistaken float64) float64 {
	switch h {
	case Said:
		return mistaken + (said-mistaken)*so
	case Denied:
		return (1-mistaken)*(1-so) + mistaken*so
	}
	return 1 - mistaken - (said-mistaken)*so
}

// So is the probability (0..1) that the sign holds on the subject.
func (g *Sign) So(s *Subject) float64 { return g.truth.so(s) }

// So is the probability (0..1) that the trouble shows on the subject in this
// condition. Kinds of trouble of which the catalogue says nothing give 0.5.
func (c *Condition) So(s *Subject, trouble Trouble) float64 {
	switch {
	case trouble == Hot && (c.hot.tabled || len(c.hot.alternatives) > 0):
		return c.hot.so(s)
	case trouble == Cold && len(c.cold.alternatives) > 0:
		return c.cold.so(s)
	}
	return 0.5
}

// Trouble is the kind of trouble that the signs said amount to: hot before
// cold before loss, since a car that boils also loses its coolant.
func (c *Checklist) Trouble(signs []Heard) Trouble {
	var heard [numTroubles]bool
	for i, h := range signs {
		if h == Said {
			heard[c.Signs[i].trouble] = true
		}
	}
	for t := Hot; t < Other; t++ {
		if heard[t] {
			return t
		}
	}
	return Other
}

// QuoteOdds is the factor on the odds of the cause that a quote presumes.
func (c *Checklist) QuoteOdds(presumed int, p cause.Present) float64 {
	if presumed == p.Cause {
		return c.Quote.Value
	}
	return 1
}
