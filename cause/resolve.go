package cause

import (
	"fmt"
	"math"

	"weephole/sheet"
)

// shareSlack is how far shares that must sum to 1 may be off, for the sake of
// rounded figures.
const shareSlack = 0.005

// resolver turns names into indexes and notes what does not fit.
type resolver struct {
	c        *Catalogue
	problems sheet.Mistakes
}

func (c *Catalogue) resolve(counts []ShopCount) sheet.Mistakes {
	r := resolver{c: c}
	c.causes = make(map[string]int, len(c.Causes))
	c.repairs = make(map[string]int, len(c.Repairs))
	for i := range c.Causes {
		c.Causes[i].index = i
		c.causes[c.Causes[i].ID] = i
	}
	for i := range c.Repairs {
		c.Repairs[i].index = i
		c.repairs[c.Repairs[i].ID] = i
	}
	for i := range c.Causes {
		r.cause(&c.Causes[i])
	}
	for i := range c.Repairs {
		r.repair(&c.Repairs[i])
	}
	for i := range c.attempts {
		r.attempt(&c.attempts[i])
	}
	for i := range c.Tools {
		r.span(c.Tools[i].At, "price", c.Tools[i].Price)
	}
	for i := range c.Hazards {
		if h := &c.Hazards[i]; h.Fan != "" {
			r.word(h.At, "fan", h.Fan, fanWords[:])
		}
	}
	r.counts(counts)
	r.whole()
	return r.problems
}

func (r *resolver) bad(at sheet.At, field, format string, args ...any) {
	r.problems.Add(at, field, format, args...)
}

// word checks that a word is one of the right ones.
func (r *resolver) word(at sheet.At, field, word string, right []string) {
	for _, w := range right {
		if w == word {
			return
		}
	}
	r.bad(at, field, "unknown word \"%s\"%s", word, sheet.Instead(word, right))
}

func (r *resolver) causeIndex(at sheet.At, field, id string) int {
	i := r.c.Index(id)
	if i < 0 {
		r.bad(at, field, "no cause is called \"%s\"%s", id, sheet.Instead(id, keys(r.c.causes)))
	}
	return i
}

func (r *resolver) repairIndex(at sheet.At, field, id string) int {
	i := r.c.RepairIndex(id)
	if i < 0 {
		r.bad(at, field, "no repair is called \"%s\"%s", id, sheet.Instead(id, keys(r.c.repairs)))
	}
	return i
}

func (r *resolver) share(at sheet.At, field string, v float64) {
	if v < 0 || v > 1 {
		r.bad(at, field, "found %g; a share is between 0 and 1", v)
	}
}

func (r *resolver) span(at sheet.At, field string, s sheet.Range) {
	if s.Low < 0 || s.Low > s.Typical || s.Typical > s.High {
		r.bad(at, field, "found low %g, typical %g, high %g; they must rise from 0 upwards", s.Low, s.Typical, s.High)
	}
}

func (r *resolver) cause(c *Cause) {
	c.repair = -1
	if c.Fitted != nil && c.Fitted.Value <= 0 {
		r.bad(c.At, "fitted.value", "found %g; a factor is above 0", c.Fitted.Value)
	}
	if c.Weight.Value <= 0 {
		r.bad(c.At, "weight.value", "found %g; a weight is above 0 (a cause that never happens need not be listed)", c.Weight.Value)
	}
	if c.Severity.Shape[0] <= 0 || c.Severity.Shape[1] <= 0 {
		r.bad(c.At, "severity.shape", "found %v; both are above 0", c.Severity.Shape)
	}
	r.word(c.At, "place", c.Place, places[:])
	if c.Fan != "" {
		r.word(c.At, "fan", c.Fan, fanWords[:])
	}
	if c.Pairs != "" {
		r.word(c.At, "pairs", c.Pairs, pairWords[:])
	}
	if c.Repair != "" {
		c.repair = r.repairIndex(c.At, "repair", c.Repair)
	}
	for i := range c.Acts {
		r.act(&c.Acts[i])
	}
	if len(c.Hidden) > MaxHidden {
		r.bad(c.At, "hidden", "found %d; there may be %d", len(c.Hidden), MaxHidden)
	}
	names := map[string]bool{}
	for i := range c.Hidden {
		r.hidden(&c.Hidden[i], names)
	}
	r.sites(c)
	for i := range c.LeadsTo {
		l := &c.LeadsTo[i]
		l.index = r.causeIndex(l.At, "cause", l.Cause)
		r.share(l.At, "share", l.Share)
		r.word(l.At, "when", l.When, consequenceWhens[:])
	}
	for i := range c.GoesWith {
		g := &c.GoesWith[i]
		g.index = r.causeIndex(g.At, "cause", g.Cause)
		r.share(g.At, "share", g.Share)
	}
	for i := range c.afterOdds {
		c.afterOdds[i] = 1
	}
	for _, a := range c.After {
		r.after(&a)
		for i, w := range workWords {
			if w == a.Work {
				c.afterOdds[i] = a.Odds
			}
		}
	}
}

func (r *resolver) after(a *After) {
	r.word(a.At, "work", a.Work, workWords[:])
	if a.Odds <= 0 || a.Odds > 100 {
		r.bad(a.At, "odds", "found %g; odds are multiplied by something between 0 and 100", a.Odds)
	}
}

func (r *resolver) act(a *Act) {
	t, ok := findTarget(a.Number)
	if !ok {
		r.bad(a.At, "number", "the circuit has no number \"%s\"%s", a.Number, sheet.Instead(a.Number, targetNames()))
	}
	a.target = t
	r.word(a.At, "how", string(a.How), []string{string(Set), string(Times), string(Plus)})
	if a.Log && !(a.Mild > 0 && a.Severe > 0) {
		r.bad(a.At, "log", "mild %g and severe %g must both be above 0 for a logarithm", a.Mild, a.Severe)
	}
	if t.flag != nil && a.How != Set {
		r.bad(a.At, "how", "\"%s\" is on or off; write set, with 1 for on and 0 for off", a.Number)
	}
}

func (r *resolver) hidden(h *Hidden, names map[string]bool) {
	switch h.Name {
	case "cause", "causes", "site", "sites", "shows", "source", "mean", "spread", "otherwise":
		r.bad(h.At, "name", "\"%s\" means something else in a table of checks; choose another word", h.Name)
	}
	if names[h.Name] {
		r.bad(h.At, "name", "\"%s\" is listed twice", h.Name)
	}
	names[h.Name] = true
	sum := 0.0
	for i := range h.States {
		s := &h.States[i]
		if names[s.Is] {
			r.bad(s.At, "is", "\"%s\" is listed twice", s.Is)
		}
		names[s.Is] = true
		s.repair = -1
		if s.Repair != "" {
			s.repair = r.repairIndex(s.At, "repair", s.Repair)
		}
		r.share(s.At, "share", s.Share)
		sum += s.Share
		for k := range s.Acts {
			r.act(&s.Acts[k])
		}
		for k := range s.After {
			r.after(&s.After[k])
		}
	}
	if math.Abs(sum-1) > shareSlack {
		r.bad(h.At, "states", "the shares sum to %.3g; they must sum to 1", sum)
	}
}

func (r *resolver) sites(c *Cause) {
	if len(c.Sites) > 64 {
		r.bad(c.At, "sites", "found %d; there may be 64", len(c.Sites))
	}
	sum := 0.0
	for i := range c.Sites {
		s := &c.Sites[i]
		s.repair = r.repairIndex(s.At, "repair", s.Repair)
		r.word(s.At, "place", s.Place, places[:])
		r.share(s.At, "share", s.Share)
		sum += s.Share
	}
	if len(c.Sites) > 0 && math.Abs(sum-1) > shareSlack {
		r.bad(c.At, "sites", "the shares sum to %.3g; they must sum to 1", sum)
	}
}

func (r *resolver) repair(p *Repair) {
	r.span(p.At, "minutes", p.Minutes)
	r.span(p.At, "parts", p.Parts)
	r.share(p.At, "need-odds.value", p.NeedOdds.Value)
	r.share(p.At, "botched.value", p.Botched.Value)
	r.word(p.At, "state", p.State, repairStates[:])
	for _, id := range p.Hazards {
		r.word(p.At, "hazards", id, r.hazardIDs())
	}
	for _, id := range p.Tools {
		r.word(p.At, "tools", id, r.toolIDs())
	}
	p.cure = nil
	for i := range p.Cures {
		r.cure(p, &p.Cures[i])
	}
	for i := range p.Disturbs {
		d := &p.Disturbs[i]
		d.index = r.causeIndex(d.At, "cause", d.Cause)
		r.share(d.At, "share", d.Share)
	}
	p.on = nil
	for _, d := range p.Drives {
		r.word(d.At, "pump", d.Pump, pumpDrives[:])
		r.span(d.At, "minutes", d.Minutes)
		r.span(d.At, "parts", d.Parts)
		q := *p
		q.Name, q.Minutes, q.Parts, q.Drives, q.on = d.Name, d.Minutes, d.Parts, nil, nil
		p.on = append(p.on, q)
	}
}

func (r *resolver) cure(p *Repair, u *Cure) {
	r.share(u.At, "share", u.Share)
	i := r.causeIndex(u.At, "cause", u.Cause)
	if i < 0 {
		return
	}
	c := &r.c.Causes[i]
	row := cureRow{cause: i, share: u.Share, sites: math.MaxUint64}
	if len(u.Sites) > 0 {
		row.sites = 0
		for _, id := range u.Sites {
			k := c.SiteIndex(id)
			if k == NoSite {
				r.bad(u.At, "sites", "%s has no site \"%s\"%s", c.ID, id, sheet.Instead(id, c.siteIDs()))
				continue
			}
			row.sites |= 1 << uint(k)
		}
	}
	named := [MaxHidden]uint64{}
	for _, word := range u.States {
		h, s, ok := c.FindState(word)
		if !ok {
			r.bad(u.At, "states", "%s has no state \"%s\"%s", c.ID, word, sheet.Instead(word, c.StateWords()))
			continue
		}
		named[h] |= 1 << uint(s)
	}
	for h := range row.states {
		row.states[h] = named[h]
		if named[h] == 0 {
			row.states[h] = math.MaxUint64
		}
	}
	p.cure = append(p.cure, row)
}

func (r *resolver) counts(counts []ShopCount) {
	for _, n := range counts {
		i := r.causeIndex(n.At, "cause", n.Cause)
		if n.Closed < 0 {
			r.bad(n.At, "closed", "found %g; a count of jobs is 0 or more", n.Closed)
		}
		if i < 0 {
			continue
		}
		c := &r.c.Causes[i]
		w, fitted := &c.Weight, c.Prior()/c.Weight.Value
		w.Value += n.Closed / fitted // the shop's own jobs count as they are
		w.Source = fmt.Sprintf("%s; and %g closed jobs (%s)", w.Source, n.Closed, n.At.File)
	}
}

// whole checks what only the catalogue as a whole can have wrong.
func (r *resolver) whole() {
	at := sheet.At{File: r.c.sheets[0].Name}
	r.c.noFault, r.c.unnamed = r.c.Index("no-fault"), r.c.Index("something-else")
	for _, id := range []string{"no-fault", "something-else"} {
		if r.c.Index(id) < 0 {
			r.bad(at, "causes", "\"%s\" is missing; the catalogue cannot do without it", id)
		}
	}
	r.share(at, "part-bad.value", r.c.PartBad.Value)
	r.share(at, "relapse.value", r.c.Relapse.Value)
	if f := &r.c.Fades; f.Harm.Value <= 0 || f.Good.Value <= 0 || f.Untold.Value < 0 {
		r.bad(at, "fades", "found harm %g, good %g and untold %g days; the first two are above 0, the last is 0 or more", f.Harm.Value, f.Good.Value, f.Untold.Value)
	}
	t := &r.c.Tried
	for _, row := range []struct {
		key string
		TriedRow
	}{{"none-gone", t.None}, {"some-gone", t.Some}, {"all-gone", t.All}} {
		sum := row.Nothing + row.Better + row.Worse + row.Cured
		if math.Abs(sum-1) > shareSlack {
			r.bad(at, "tried."+row.key, "the shares sum to %.3g; they must sum to 1", sum)
		}
		if !(row.Back > 0 && row.Back < 1) {
			r.bad(at, "tried."+row.key, "back is %g; it lies between 0 and 1", row.Back)
		}
	}
}

func (r *resolver) hazardIDs() []string {
	var ids []string
	for i := range r.c.Hazards {
		ids = append(ids, r.c.Hazards[i].ID)
	}
	return ids
}

func (r *resolver) toolIDs() []string {
	var ids []string
	for i := range r.c.Tools {
		ids = append(ids, r.c.Tools[i].ID)
	}
	return ids
}

func keys(m map[string]int) []string {
	out := make([]string, 0, len(m))
	for k := range m {
		out = append(out, k)
	}
	return out
}
