package check

import (
	"math"
	"strings"
	"unicode/utf8"

	"weephole/cause"
	"weephole/circuit"
	"weephole/sheet"
)

// sumSlack is how far probabilities that must sum to 1 may be off, for the sake
// of rounded figures.
const sumSlack = 0.005

// resolver turns names into indexes and notes what does not fit.
type resolver struct {
	c        *Checklist
	causes   *cause.Catalogue
	traits   []trait // by cause index
	problems sheet.Mistakes
}

func (c *Checklist) resolve() sheet.Mistakes {
	r := resolver{c: c, causes: c.causes, traits: make([]trait, len(c.causes.Causes))}
	for i := range r.traits {
		if c.causes.Causes[i].SpoilsFlow {
			r.traits[i] |= spoilsFlow
		}
		if c.causes.Causes[i].Anything {
			r.traits[i] |= anything
		}
	}
	c.byID = make(map[string]int, len(c.Checks))
	for i := range c.Checks {
		c.byID[c.Checks[i].ID] = i
	}
	at := sheet.At{File: c.sheets[0].Name}
	r.share(at, "low-coolant.value", c.LowCoolant.Value)
	r.share(at, "careless.value", c.Careless.Value)
	if len(c.Signs) > 0 && c.Quote.Value < 1 {
		r.bad(at, "quote.value", "found %g; a quote's odds are 1 or more", c.Quote.Value)
	}
	for i := range c.Checks {
		c.Checks[i].index = i
		r.check(&c.Checks[i])
	}
	for i := range c.Checks {
		r.variants(&c.Checks[i])
	}
	for i := range c.Signs {
		c.Signs[i].index = i
		r.sign(&c.Signs[i])
	}
	for i := range c.Conditions {
		k := &c.Conditions[i]
		k.index = i
		r.owner(k.At, k.Said, k.Mistaken)
		k.hot.traits, k.cold.traits = r.traits, r.traits
		k.hot.reached, k.cold.reached = 1, 1
		k.hot.alternatives = r.alternatives(k.Hot)
		k.cold.alternatives = r.alternatives(k.Cold)
		if k.hot.tabled = len(k.Table) > 0; k.hot.tabled {
			k.hot.table = r.table(k.At, k.Table, []string{"so", "not"}, true)
		}
	}
	r.signWords()
	return r.problems
}

func (r *resolver) bad(at sheet.At, field, format string, args ...any) {
	r.problems.Add(at, field, format, args...)
}

func (r *resolver) word(at sheet.At, field, word string, right []string) int {
	for i, w := range right {
		if w == word {
			return i
		}
	}
	r.bad(at, field, "unknown word \"%s\"%s", word, sheet.Instead(word, right))
	return -1
}

func (r *resolver) share(at sheet.At, field string, v float64) {
	if v < 0 || v > 1 || v != v {
		r.bad(at, field, "found %g; a share is between 0 and 1", v)
	}
}

func (r *resolver) check(c *Check) {
	r.word(c.At, "place", c.Place, cause.Places())
	r.word(c.At, "state", c.State, engineStates[:])
	for _, w := range c.Also {
		r.word(c.At, "also", w, engineStates[:])
	}
	if c.Fan != "" {
		r.word(c.At, "fan", c.Fan, cause.FanWords())
	}
	if c.Situation != "" {
		if _, err := circuit.ParseSituation(c.Situation); err != nil {
			r.bad(c.At, "situation", "%v", err)
		}
	}
	m := c.Minutes
	if m.Low < 0 || m.Low > m.Typical || m.Typical > m.High {
		r.bad(c.At, "minutes", "found low %g, typical %g, high %g; they must rise from 0 upwards", m.Low, m.Typical, m.High)
	}
	for _, id := range c.Tools {
		r.word(c.At, "tools", id, toolIDs(r.causes))
	}
	for _, id := range c.Hazards {
		r.word(c.At, "hazards", id, hazardIDs(r.causes))
	}
	r.share(c.At, "repeat.share", c.Repeat.Share)
	if len(c.Words) < 2 && len(c.Readings) == 0 {
		r.bad(c.At, "words", "a check needs two words or a reading")
	}
	if len(c.Words) > maxWords {
		r.bad(c.At, "words", "found %d; there may be %d", len(c.Words), maxWords)
		return
	}
	c.traits = r.traits
	c.lowShare = r.c.LowCoolant.Value
	r.words(c)
	r.blunder(c)
	if len(c.Words) > 0 {
		words := make([]string, len(c.Words))
		for i := range c.Words {
			words[i] = c.Words[i].Is
			if n := utf8.RuneCountInString(c.Words[i].Short); n > ShortMost {
				r.bad(c.Words[i].At, "short", "%q has %d letters; a plate of the drawing holds %d", c.Words[i].Short, n, ShortMost)
			}
			c.alarm[i] = c.Words[i].Alarm
		}
		c.table = r.table(c.At, c.Table, words, !c.physical)
		for w := range words {
			if !c.alarm[w] {
				c.table.quiet += c.table.otherwise[w]
			}
		}
	}
	ids := map[string]bool{}
	for i := range c.Readings {
		m := &c.Readings[i]
		if ids[m.ID] {
			r.bad(m.At, "id", "\"%s\" is listed twice", m.ID)
		}
		ids[m.ID] = true
		r.reading(m)
	}
}

// words resolves the conditions of a check's words.
func (r *resolver) words(c *Check) {
	c.words, c.physical = nil, false
	seen := map[string]bool{}
	for i := range c.Words {
		w := &c.Words[i]
		if seen[w.Is] || w.Is == "unknown" {
			r.bad(w.At, "is", "\"%s\" is taken; choose another word", w.Is)
		}
		seen[w.Is] = true
		r.shown(w)
		c.words = append(c.words, r.whens(w.When)...)
		c.wordEnds[i] = int16(len(c.words))
	}
	c.physical = len(c.words) > 0
	if !c.physical {
		return
	}
	for i := range c.Words {
		last := i == len(c.Words)-1
		if last && len(c.Words[i].When) > 0 {
			r.bad(c.Words[i].At, "when", "the last word takes what the others leave; it has no condition of its own")
		}
	}
}

// shown resolves what a word shows directly.
func (r *resolver) shown(w *Word) {
	w.shown = nil
	for _, name := range w.Direct {
		id, part, named := strings.Cut(name, "@")
		k := r.causes.Cause(id)
		if k == nil {
			r.bad(w.At, "direct", "no cause is called \"%s\"%s", id, sheet.Instead(id, causeIDs(r.causes)))
			continue
		}
		s := Shown{Cause: k.Index(), Site: cause.NoSite, Hidden: -1}
		if named {
			s.Site = k.SiteIndex(part)
			h, state, ok := k.FindState(part)
			switch {
			case s.Site != cause.NoSite:
			case ok:
				s.Hidden, s.State = h, state
			default:
				r.bad(w.At, "direct", "%s has no site and no state \"%s\"", id, part)
				continue
			}
		}
		w.shown = append(w.shown, s)
	}
	if len(w.Direct) > 0 && !w.Alarm {
		r.bad(w.At, "direct", "a word that shows a fault is an alarm; write alarm: true as well")
	}
}

func (r *resolver) whens(whens []When) []condition {
	var out []condition
	for _, w := range whens {
		k := condition{of: r.observe(w.At, "of", w.Of), minus: r.observe(w.At, "minus", w.Minus)}
		switch {
		case w.Above != nil && w.Below == nil:
			k.threshold, k.sign = *w.Above, 1
		case w.Below != nil && w.Above == nil:
			k.threshold, k.sign = *w.Below, -1
		default:
			r.bad(w.At, "", "write either above or below")
		}
		if w.Soft <= 0 {
			r.bad(w.At, "soft", "found %g; it is above 0: no threshold is sharp", w.Soft)
		}
		k.inverse = 1 / (w.Soft * math.Sqrt2)
		out = append(out, k)
	}
	return out
}

func (r *resolver) observe(at sheet.At, field, name string) observed {
	if name == "" {
		return observed{}
	}
	o, err := circuit.ParseObservable(name)
	if err != nil {
		r.bad(at, field, "%v", err)
		return observed{}
	}
	return observed{o, true}
}

func (r *resolver) blunder(c *Check) {
	r.share(c.At, "blunder.share", c.Blunder.Share)
	n := float64(len(c.Words))
	careless := -1
	if c.Blunder.Says != "" {
		words := make([]string, len(c.Words))
		for i := range c.Words {
			words[i] = c.Words[i].Is
		}
		careless = r.word(c.At, "blunder.says", c.Blunder.Says, words)
	}
	for w := range c.Words {
		c.blunder[w] = 1 / n
		if careless >= 0 {
			c.blunder[w] *= 1 - r.c.Careless.Value
		}
	}
	if careless >= 0 {
		c.blunder[careless] += r.c.Careless.Value
	}
	if c.Blunder.Share <= 0 {
		r.bad(c.At, "blunder.share", "found %g; it is above 0: everybody errs now and then", c.Blunder.Share)
	}
}

func causeIDs(c *cause.Catalogue) []string {
	var ids []string
	for i := range c.Causes {
		ids = append(ids, c.Causes[i].ID)
	}
	return ids
}

func toolIDs(c *cause.Catalogue) []string {
	var ids []string
	for i := range c.Tools {
		ids = append(ids, c.Tools[i].ID)
	}
	return ids
}

func hazardIDs(c *cause.Catalogue) []string {
	var ids []string
	for i := range c.Hazards {
		ids = append(ids, c.Hazards[i].ID)
	}
	return ids
}
