package answer

import (
	"math"
	"strings"

	"weephole/internal/job"
	"weephole/internal/work"
	"weephole/lineup"
	"weephole/quantity"
	"weephole/trace"
)

// Finding says a finding of a job in two phrases: what was done, and what it
// showed. Both are empty where it shows nothing. log is the finding's log where it
// is at hand.
func Finding(m *lineup.Model, u quantity.Units, f *job.Finding, log *trace.Trace) (what, showed string) {
	if f.Repair != "" {
		r := m.Causes.Repair(f.Repair)
		if r == nil {
			return "", ""
		}
		return "Tried: " + r.Name, changed[f.Changed]
	}
	c := m.Checks.Check(f.Check)
	if c == nil {
		return "", ""
	}
	var says []string
	if i := c.WordIndex(f.Found); i >= 0 && f.Found != job.Unknown {
		says = append(says, c.Words[i].Says)
	}
	for _, r := range f.Read {
		if k := c.ReadingIndex(r.ID); k >= 0 && r.Known() {
			says = append(says, c.Readings[k].Name+" "+Amount(u, c.Readings[k].What, r.Value))
		}
	}
	if f.Trace != "" {
		says = append(says, logged(u, f.Trace, log))
	}
	if len(says) == 0 {
		return "", ""
	}
	return Sentence(c.NameMade()), strings.Join(says, "; ")
}

// Changed says what a repair changed, by the word of the job file.
func Changed(word string) string {
	if says := changed[word]; says != "" {
		return says
	}
	return "what it changed is not known yet"
}

// changed says it of each word.
var changed = map[string]string{"nothing": "changed nothing", "better": "made it better", "worse": "made it worse", "cured": "seemed to cure it", "came back": "helped for a time"}

// logged says of a log how hot it got, where it is at hand.
func logged(u quantity.Units, name string, log *trace.Trace) string {
	hottest := math.Inf(-1)
	if log != nil && log.Name == name {
		for _, c := range log.Signals[trace.Coolant] {
			if c > hottest { // false for a gap
				hottest = c
			}
		}
	}
	if math.IsInf(hottest, 0) {
		return "logged"
	}
	return "logged; the hottest was " + u.Temperature(quantity.Temperature(hottest))
}

// Event says an event of a case in a few words.
func Event(m *lineup.Model, ev *lineup.Event) string {
	if r := m.Causes.Repair(ev.Repair); r != nil {
		if ev.Unknown {
			return r.Name + ": done"
		}
		return r.Name + ": " + changed[ev.Changed.String()]
	}
	c := m.Checks.Check(ev.Check)
	if w := c.WordIndex(ev.Word); w >= 0 {
		return c.NameMade() + ": " + c.Words[w].Says
	}
	return c.NameMade()
}

// WhatIf says what a what-if changes.
func WhatIf(m *lineup.Model, c *work.Hypothetical, s Style) []string {
	var out []string
	for i := range c.Parts {
		p := &c.Parts[i]
		switch p.Part {
		case work.IfFound:
			out = append(out, Event(m, &p.Event))
		case work.IfWith:
			out = append(out, "with this tool: "+p.Tool)
		case work.IfWithout:
			out = append(out, "without this tool: "+p.Tool)
		case work.IfQuote:
			out = append(out, "the quote is "+s.Units.Money(p.Price))
		case work.IfRate:
			out = append(out, "labour costs "+s.Units.Rate(p.Rate))
		case work.IfLeaves:
			out = append(out, "the car leaves in "+s.Units.Duration(p.Time))
		}
	}
	return out
}
