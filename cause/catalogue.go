package cause

import (
	"math"
	"slices"
	"strings"

	"weephole/circuit"
)

// Index is the position of the cause with the id in Causes, or -1.
func (c *Catalogue) Index(id string) int {
	if i, ok := c.causes[id]; ok {
		return i
	}
	return -1
}

// RepairIndex is the position of the repair with the id in Repairs, or -1.
func (c *Catalogue) RepairIndex(id string) int {
	if i, ok := c.repairs[id]; ok {
		return i
	}
	return -1
}

// Cause is the cause with the id, or nil.
func (c *Catalogue) Cause(id string) *Cause {
	if i := c.Index(id); i >= 0 {
		return &c.Causes[i]
	}
	return nil
}

// Repair is the repair with the id, planned or only tried; nil where there is none.
func (c *Catalogue) Repair(id string) *Repair {
	if i := c.RepairIndex(id); i >= 0 {
		return &c.Repairs[i]
	}
	if i := slices.IndexFunc(c.attempts, func(a Attempt) bool { return a.ID == id }); i >= 0 {
		return &c.attempts[i].repair
	}
	return nil
}

// Tool is the tool with the id, or nil.
func (c *Catalogue) Tool(id string) *Tool {
	if i := slices.IndexFunc(c.Tools, func(t Tool) bool { return t.ID == id }); i >= 0 {
		return &c.Tools[i]
	}
	return nil
}

// Hazard is the hazard with the id, or nil.
func (c *Catalogue) Hazard(id string) *Hazard {
	if i := slices.IndexFunc(c.Hazards, func(h Hazard) bool { return h.ID == id }); i >= 0 {
		return &c.Hazards[i]
	}
	return nil
}

// Cautions are the sentences that must be read before a step with these hazards,
// in the order given, on a car with this kind of fan; nil is any kind. An id that is
// not in the catalogue adds nothing.
func (c *Catalogue) Cautions(hazards []string, fan *circuit.FanKind) []string {
	var out []string
	for _, h := range c.HazardsOn(hazards, fan) {
		out = append(out, h.Caution)
	}
	return out
}

// HazardsOn are those hazards themselves.
func (c *Catalogue) HazardsOn(hazards []string, fan *circuit.FanKind) (out []*Hazard) {
	for _, id := range hazards {
		if h := c.Hazard(id); h != nil && (fan == nil || FanFits(h.Fan, *fan)) {
			out = append(out, h)
		}
	}
	return out
}

// ToolNames are the names of the tools with these ids, in the order given.
func (c *Catalogue) ToolNames(ids []string) []string {
	out := []string{}
	for _, id := range ids {
		if t := c.Tool(id); t != nil {
			out = append(out, t.Name)
		}
	}
	return out
}

// Prior is the weight of the cause as fitted to known cases, in pseudo-cases.
func (c *Cause) Prior() float64 {
	if c.Fitted == nil {
		return c.Weight.Value
	}
	return c.Weight.Value * c.Fitted.Value
}

// TotalWeight is the sum of all causes' weights as fitted, in pseudo-cases.
func (c *Catalogue) TotalWeight() float64 {
	sum := 0.0
	for i := range c.Causes {
		sum += c.Causes[i].Prior()
	}
	return sum
}

// NoFault is the index of the cause "no-fault".
func (c *Catalogue) NoFault() int { return c.noFault }

// Unnamed is the index of the cause "something-else", which stands for all that the
// catalogue does not name.
func (c *Catalogue) Unnamed() int { return c.unnamed }

// UsualRepair is the index in Repairs of the usual repair of what is present,
// or -1 when there is none (no fault): that of its site or hidden state where
// it has one of its own.
func (c *Catalogue) UsualRepair(p Present) int {
	k := &c.Causes[p.Cause]
	for h := range k.Hidden {
		if s := p.Hidden[h]; s >= 0 && s < len(k.Hidden[h].States) && k.Hidden[h].States[s].repair >= 0 {
			return k.Hidden[h].States[s].repair
		}
	}
	if p.Site >= 0 && p.Site < len(k.Sites) {
		return k.Sites[p.Site].repair
	}
	return k.repair
}

// Describe names what is present, with its site: "a leak (radiator)".
func (c *Catalogue) Describe(p Present) string {
	k := &c.Causes[p.Cause]
	var b strings.Builder
	b.WriteString(k.Name)
	if p.Site >= 0 && p.Site < len(k.Sites) {
		b.WriteString(" (" + k.Sites[p.Site].Name + ")")
	}
	return b.String()
}

// Alone is true for a rare cause that is weighed beside another only where the
// catalogue names the two together.
func (c *Cause) Alone() bool { return c.Pairs == "named" }

// Index is the cause's position in its catalogue.
func (c *Cause) Index() int { return c.index }

// AfterOdds is the factor by which recent work multiplies the odds of the
// cause; 1 when the catalogue knows of none. Work is one of WorkWords.
func (c *Cause) AfterOdds(work string) float64 {
	for i, w := range workWords {
		if w == work {
			return c.afterOdds[i]
		}
	}
	return 1
}

// StateOddsAged is the factor by which work that was done so many days ago multiplies
// the odds of a hidden state among those of its cause.
func (c *Catalogue) StateOddsAged(s *HiddenState, work string, days float64) float64 {
	for i := range s.After {
		if s.After[i].Work == work {
			return c.aged(s.After[i].Odds, days)
		}
	}
	return 1
}

// AfterOddsAged is AfterOdds of work that was done so many days ago: what it may
// have left behind shows within months, a new part stays new for years. The power
// on the odds falls off exponentially.
func (c *Catalogue) AfterOddsAged(k *Cause, work string, days float64) float64 {
	return c.aged(k.AfterOdds(work), days)
}

// AfterOddsOf is the factor of all that was done. What one work may have left behind another
// leaves no second time, and a part is new once: so the largest factor counts of those that
// raise the odds, and the smallest of those that lower them.
func (c *Catalogue) AfterOddsOf(k *Cause, list []WorkDone) float64 {
	harm, good := 1.0, 1.0
	for _, d := range list {
		odds := c.AfterOddsAged(k, d.Work, d.Days)
		harm, good = math.Max(harm, odds), math.Min(good, odds)
	}
	return harm * good
}

func (c *Catalogue) aged(odds, days float64) float64 {
	fades := c.Fades.Harm.Value
	if odds < 1 {
		fades = c.Fades.Good.Value
	}
	return math.Pow(odds, math.Exp(-days/fades))
}

// Fits says whether a circuit with such a fan can have the cause.
func (c *Cause) Fits(kind circuit.FanKind) bool { return FanFits(c.Fan, kind) }

// FanFits says whether a fan of that kind is what the word asks for: "electric"
// (of any speeds), "viscous", or anything for the empty word.
func FanFits(word string, kind circuit.FanKind) bool {
	switch word {
	case "electric":
		return kind != circuit.FanViscous
	case "viscous":
		return kind == circuit.FanViscous
	}
	return true
}

// Index is the second fault's position in the catalogue.
func (c *Consequence) Index() int { return c.index }

// Index is the second fault's position in the catalogue.
func (c *Companion) Index() int { return c.index }

// Index is the repair's position in its catalogue.
func (r *Repair) Index() int { return r.index }

// Index is the position in the catalogue of the cause left behind.
func (l *Leaves) Index() int { return l.index }

// SiteIndex is the position of the site with the id, or NoSite.
func (c *Cause) SiteIndex(id string) int {
	for i := range c.Sites {
		if c.Sites[i].ID == id {
			return i
		}
	}
	return NoSite
}

// HiddenIndex is the position of the hidden with the name, or -1.
func (c *Cause) HiddenIndex(name string) int {
	for i := range c.Hidden {
		if c.Hidden[i].Name == name {
			return i
		}
	}
	return -1
}

// FindState finds a state by its word among all of the cause's hidden states.
func (c *Cause) FindState(word string) (hidden, state int, ok bool) {
	for h := range c.Hidden {
		for s := range c.Hidden[h].States {
			if c.Hidden[h].States[s].Is == word {
				return h, s, true
			}
		}
	}
	return 0, 0, false
}

func (c *Cause) siteIDs() []string {
	var ids []string
	for i := range c.Sites {
		ids = append(ids, c.Sites[i].ID)
	}
	return ids
}

// StateWords are the words of all its hidden states.
func (c *Cause) StateWords() []string {
	var words []string
	for h := range c.Hidden {
		for s := range c.Hidden[h].States {
			words = append(words, c.Hidden[h].States[s].Is)
		}
	}
	return words
}
