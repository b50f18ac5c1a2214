package say

import (
	"maps"
	"regexp"
	"slices"
	"sort"
	"strings"
)

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
