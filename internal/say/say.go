package say

import (
	"maps"
	"regexp"
	"slices"
	"sort"
	"strings"
)

// Offer is something that the text may mean: a finding, a sign or condition of the
// complaint, a repair tried, recent work, or a fact about the car. One of the six
// ids is set.
type Offer struct {
	Check     string `json:"check,omitempty"`
	Sign      string `json:"sign,omitempty"`
	Condition string `json:"condition,omitempty"`
	Repair    string `json:"repair,omitempty"`
	Work      string `json:"work,omitempty"`
	Car       string `json:"car,omitempty"` // a key of vehicle: "fan.kind"
	// Found is the check's word; "no" for a sign that is denied; "when" or "fine"
	// for a condition; what the repair changed; the value of a fact about the car.
	Found string            `json:"found,omitempty"`
	Codes []string          `json:"codes,omitempty"` // trouble codes as read
	Read  map[string]string `json:"read,omitempty"`  // readings with their unit
	Text  string            `json:"text"`            // what it stands for, in words
	Of    string            `json:"of,omitempty"`    // the part of the text that it was found in

	score float64
}

// Answer is what a text means: the offers, best first, and what no offer was found for.
type Answer struct {
	Offers  []Offer  `json:"offers"`
	Remarks []string `json:"remarks"`
}

// Limits; judgement.
const (
	longestText = 2000 // characters that are read
	mostClauses = 40
	fewest      = 0.34 // score below which nothing is offered
	enough      = 5    // offers for one clause
)

// Read says what a text means. Units are those of the shop, "us" or "metric", in
// which a number without a unit is taken.
func (x *Lexicon) Read(text, units string) Answer {
	if r := []rune(text); len(r) > longestText {
		text = string(r[:longestText])
	}
	out := Answer{Offers: []Offer{}, Remarks: []string{}}
	parts := clauses(text)
	var ranked [][]Offer
	thing := ""
	for _, part := range parts {
		offers := x.clause(part, thing, units)
		if len(offers) == 0 {
			out.Remarks = append(out.Remarks, part)
		}
		if t := thingOf(x.terms(part)); t != "" {
			thing = t
		}
		ranked = append(ranked, offers)
		// "cold after ten minutes of idling" may be two facts.
		for _, half := range both(when.Split(part, 2)) {
			ranked = append(ranked, sure(x.clause(half, thing, units)))
		}
	}
	if whole := strings.TrimSpace(text); len(parts) > 1 && len(parts) < 4 {
		ranked = append(ranked, x.clause(whole, "", units))
	}
	out.Offers = append(out.Offers, merge(ranked)...)
	return out
}

// Part is one fact of a text, with what it may mean, best first.
type Part struct {
	Text   string
	Offers []Offer // none: a remark
}

// Sure is true for an offer good enough to be taken when nobody is asked.
func (o *Offer) Sure() bool { return o.score >= 0.6 } // judgement

// Parts reads a text fact by fact, in its order: what there is to confirm.
func (x *Lexicon) Parts(text, units string) (out []Part) {
	if r := []rune(text); len(r) > longestText {
		text = string(r[:longestText])
	}
	thing := ""
	for _, part := range clauses(text) {
		whole := x.clause(part, thing, units)
		halves := when.Split(part, 2)
		var split []Part
		for _, half := range both(halves) {
			if o := sure(x.clause(half, thing, units)); len(o) > 0 {
				split = append(split, Part{half, o})
			}
		}
		switch {
		case len(split) == 2 && (len(whole) == 0 || whole[0].score < 0.9):
			out = append(out, split...)
		default:
			out = append(out, Part{part, whole})
		}
		if t := thingOf(x.terms(part)); t != "" {
			thing = t
		}
	}
	return out
}

// both are the two halves of a clause, or nothing.
func both(halves []string) []string {
	if len(halves) != 2 {
		return nil
	}
	return halves
}

// merge puts the best offer of every clause first, then the second ones, and
// joins readings of one check.
func merge(ranked [][]Offer) []Offer {
	var out []Offer
	for k := 0; k < enough; k++ {
		var row []Offer
		for _, list := range ranked {
			if k < len(list) {
				row = append(row, list[k])
			}
		}
		sort.SliceStable(row, func(a, b int) bool { return row[a].score > row[b].score })
		for _, o := range row {
			if i := slices.IndexFunc(out, func(p Offer) bool { return p.same(&o) }); i >= 0 {
				out[i].join(&o)
				continue
			}
			out = append(out, o)
		}
	}
	return out
}

// same is true for offers that are one finding: the same word, or readings of
// the same check at places of their own.
func (o *Offer) same(p *Offer) bool {
	if o.Check != p.Check || o.Sign != p.Sign || o.Condition != p.Condition || o.Repair != p.Repair || o.Work != p.Work || o.Car != p.Car {
		return false
	}
	if len(o.Read) > 0 || len(p.Read) > 0 {
		if len(o.Read) == 0 || len(p.Read) == 0 {
			return false
		}
		for id := range p.Read {
			if v, ok := o.Read[id]; ok && v != p.Read[id] {
				return false
			}
		}
		return true
	}
	return o.Found == p.Found && slices.Equal(o.Codes, p.Codes)
}

func (o *Offer) join(p *Offer) {
	for id, v := range p.Read {
		if _, ok := o.Read[id]; !ok {
			o.Read[id] = v
			o.Text += "; " + p.Text
		}
	}
}

var (
	breaks = regexp.MustCompile(`[;\n!?]+|\.(?:\s|$)|,(?:\s|$)|,(?:[^0-9]|$)|\s+-\s+`)
	joints = regexp.MustCompile(`(?i)\s+(?:and|but|then|yet|while|although|though|however|whereas)\s+`)
)

// when is where a clause may go on to say under which conditions.
var when = regexp.MustCompile(`(?i)\s+(?:after|when|whenever|if|during|until)\s+`)

// sure are the offers that are good enough for half a clause.
func sure(offers []Offer) []Offer {
	const least = 0.6 // score; judgement
	n := 0
	for n < len(offers) && offers[n].score >= least {
		n++
	}
	return offers[:n]
}

// clauses cuts a text where one fact ends and the next may begin.
func clauses(text string) []string {
	var out []string
	for _, piece := range breaks.Split(text, -1) {
		for _, part := range joints.Split(piece, -1) {
			if part = strings.TrimSpace(part); part != "" && len(out) < mostClauses {
				out = append(out, part)
			}
		}
	}
	return out
}

// things are terms that a following clause may leave out: "upper hose 185, lower 104".
var things = []string{"hose", "upper-hose", "lower-hose", "fan", "needle", "heater", "pump", "thermostat", "belt", "cap"}

// knows is true where some term is one of the catalogues' or of the phrases'.
func (x *Lexicon) knows(terms map[string]bool) bool {
	for t := range terms {
		if _, ok := x.rarity[t]; ok && t != negation && t != number {
			return true
		}
	}
	return false
}

// nouns are terms that a clause is about: it then leaves nothing out.
var nouns = []string{"radiator", "coolant", "tank", "head-gasket", "engine-lamp", "lamp", "aircon", "heater-core", "heater-hose", "relay", "fuse", "sensor",
	"sender", "fan-switch", "fan-clutch", "smoke", "steam", "exhaust", "leak", "puddle", "oil", "timing", "housing", "freeze-plug", "plain-water", "sludge"}

// onlyThings are the things among the terms.
func onlyThings(terms map[string]bool) map[string]bool {
	out := map[string]bool{}
	for _, t := range things {
		if terms[t] {
			out[t] = true
		}
	}
	return out
}

func thingOf(terms map[string]bool) string {
	for _, t := range things {
		if terms[t] {
			if t == "upper-hose" || t == "lower-hose" {
				return "hose"
			}
			return t
		}
	}
	return ""
}

// clause offers what one clause may mean, best first.
func (x *Lexicon) clause(text, thing, units string) []Offer {
	if o := x.codes(text); o != nil {
		return []Offer{*o}
	}
	terms := x.terms(text)
	for word, id := range map[string]string{"top": "upper-hose", "bottom": "lower-hose"} {
		if terms[word] && (terms["hose"] || thing == "hose") {
			delete(terms, word)
			delete(terms, "hose")
			terms[id] = true
		}
	}
	if thing != "" && thingOf(terms) == "" && x.knows(terms) && !slices.ContainsFunc(nouns, func(t string) bool { return terms[t] }) {
		switch {
		case thing == "hose" && terms["upper"]:
			delete(terms, "upper")
			terms["upper-hose"] = true
		case thing == "hose" && terms["lower"]:
			delete(terms, "lower")
			terms["lower-hose"] = true
		default:
			terms[thing] = true
		}
	}
	// A "no" in the middle of a phrase hides it: "loses no coolant" is read without
	// it too.
	without := terms
	if terms[negation] {
		without = x.termsOf(slices.DeleteFunc(raw(text), func(s string) bool { return s == negation }))
		without[negation] = true
		maps.Copy(without, onlyThings(terms))
	}
	var offers []Offer
	for _, a := range amounts(text, units) {
		offers = append(offers, x.reading(a, terms)...)
	}
	before := isBefore(text)
	for i := range x.targets {
		t := &x.targets[i]
		if t.read != "" || t.kind == "car" && t.found == "" {
			continue
		}
		o, ok := x.score(t, terms, text, before)
		if terms[negation] {
			if p, also := x.score(t, without, text, before); also && p.score > o.score {
				o, ok = p, true
			}
		}
		if ok {
			offers = append(offers, o)
		}
	}
	sort.SliceStable(offers, func(a, b int) bool { return offers[a].score > offers[b].score })
	for i := range offers {
		offers[i].Of = text
	}
	return offers[:min(len(offers), enough)]
}

// Factors on a score; judgement.
const (
	deniedSign  = 0.93 // a sign whose phrase says the contrary of the clause
	deniedWord  = 0.45 // a check's word that does: seldom what was meant
	missingNo   = 0.40 // a phrase that denies, and a clause that does not
	workBefore  = 1.06 // work that is told of the past
	repairAfter = 1.03
)

// score compares a clause with a target's phrases: the F measure of the terms
// that they share, weighed by rarity.
func (x *Lexicon) score(t *target, terms map[string]bool, text string, before bool) (Offer, bool) {
	best, denied := 0.0, false
	whole := x.sum(terms)
	for k := range t.ways {
		w := &t.ways[k]
		shared := x.shared(w.terms, terms)
		if shared == 0 {
			continue
		}
		phrase := w.sum
		clause := whole
		factor, deny := w.share, false
		switch {
		case w.denies && terms[negation]:
			shared += x.rare(negation)
		case w.denies:
			factor *= missingNo
		case terms[negation] && t.kind == "sign":
			factor, deny = factor*deniedSign, true
			clause -= x.rare(negation)
		case terms[negation]:
			factor *= deniedWord
			clause -= x.rare(negation)
		}
		if s := factor * 2 * shared / (clause + phrase); s > best+1e-12 {
			best, denied = s, deny
		}
	}
	switch {
	case t.kind == "work" && before:
		best *= workBefore
	case t.kind == "repair" && !before:
		best *= repairAfter
	}
	if best < fewest {
		return Offer{}, false
	}
	return t.offer(best, denied, terms, text), true
}

// shared is the rarity of the terms that both have, negation apart.
func (x *Lexicon) shared(a, b map[string]bool) float64 {
	var both []string
	for term := range a {
		if b[term] && term != negation {
			both = append(both, term)
		}
	}
	sort.Strings(both) // the same sum each time
	sum := 0.0
	for _, term := range both {
		sum += x.rare(term)
	}
	return sum
}

// offer makes an offer of a target.
func (t *target) offer(score float64, denied bool, terms map[string]bool, text string) Offer {
	o := Offer{Text: t.text, score: score}
	switch t.kind {
	case "check":
		o.Check, o.Found = t.id, t.found
	case "sign":
		o.Sign = t.id
		if denied {
			o.Found, o.Text = "no", "not so: "+t.text
		}
	case "condition":
		o.Condition, o.Found = t.id, "when"
		if isFine(terms) {
			o.Found, o.Text = "fine", "fine "+t.text
		}
	case "repair":
		o.Repair, o.Found = t.id, changed(terms, text)
	case "work":
		o.Work = t.id
	case "car":
		o.Car, o.Found = t.id, t.found
	}
	return o
}

// isFine is true for a clause that says that all is well there.
func isFine(terms map[string]bool) bool { return terms["fine"] }

// changed is what the clause says that a repair did; "" where it does not say.
func changed(terms map[string]bool, text string) string {
	lower := strings.ToLower(text)
	switch {
	case terms["changed-nothing"], terms["cured"] && terms[negation]:
		return "nothing"
	case terms["worse"]:
		return "worse"
	case terms["cured"]:
		return "cured"
	case terms["better"], strings.Contains(lower, "better"):
		return "better"
	}
	return ""
}

var past = regexp.MustCompile(`(?i)\b(?:ago|last|recently|already|previous|previously|before|earlier|since|just|same (?:day|week)|had been|has been|was|were)\b`)

// isBefore is true for a clause that tells of work that was done before.
func isBefore(text string) bool { return past.MatchString(text) }

var codePattern = regexp.MustCompile(`(?i)\b([PBCU][0-9A-F]{4})\b(\s*\(?pending)?`)

// codes offers the trouble codes of a clause, nil where there are none.
func (x *Lexicon) codes(text string) *Offer {
	found := codePattern.FindAllStringSubmatch(text, 20)
	c := x.checks.Check("trouble-codes")
	if len(found) == 0 || c == nil {
		return nil
	}
	o := &Offer{Check: c.ID, Found: "unknown", Text: c.Name + ": ", Of: text, score: 1}
	for i, m := range found {
		number := strings.ToUpper(m[1])
		if w := c.CodeWord(number); w >= 0 && o.Found == "unknown" {
			o.Found = c.Words[w].Is
		}
		if m[2] != "" {
			number += " pending"
		}
		o.Codes = append(o.Codes, number)
		if i > 0 {
			o.Text += ", "
		}
		o.Text += number
	}
	if w := c.WordIndex(o.Found); w >= 0 {
		o.Text += " (" + c.Words[w].Says + ")"
	} else {
		o.Text += " (not in the catalogue: kept, not counted)"
	}
	return o
}
