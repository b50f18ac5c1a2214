package say

import (
	"slices"
	"strings"
)

// kinds are the lists of a job file, as package job calls them, and the targets
// that a wrong word in them may mean.
var kinds = map[string]string{
	"a sign": "sign", "a condition": "condition", "a check": "check", "a repair": "repair", "a kind of work": "work",
}

// FindingOf is the kind of the words of a check.
func FindingOf(check string) string { return "a finding of " + check }

// plainWords are the job file's fixed words and what else is said for them.
var plainWords = map[string]string{
	"gasoline": "petrol", "gas": "petrol", "petroleum": "petrol", "benzine": "petrol", "lpg": "gas", "propane": "gas",
	"no-change": "nothing", "no change": "nothing", "none": "nothing", "same": "nothing", "no": "nothing", "no cure": "nothing", "no-cure": "nothing", "no difference": "nothing",
	"fixed": "cured", "ok": "cured", "solved": "cured", "yes": "cured", "partly": "better", "improved": "better",
	"clutch": "viscous", "mechanical": "viscous", "fan-clutch": "viscous", "engine-driven": "belt", "belt-driven": "belt", "fixed-fan": "belt", "electric-and-viscous": "viscous-electric",
	"suv": "car", "lorry": "truck", "rv": "motorhome", "coach": "bus", "pickup-truck": "pickup", "minivan": "van",
	"dealer": "other-shop", "shop": "other-shop", "customer": "owner", "us": "here", "me": "here",
	"imperial": "us", "american": "us", "si": "metric",
}

// Near finds the word of a list that a wrong word means, "" for none: the ids of
// checks, signs, conditions, repairs and work by what people say for them, a
// check's results by their meaning, and the job file's fixed words by a table.
func (x *Lexicon) Near(kind, word string, among []string) string {
	word = strings.ToLower(strings.TrimSpace(word))
	if w, ok := plainWords[word]; ok && slices.Contains(among, w) {
		return w
	}
	if w := strings.ReplaceAll(word, " ", "-"); slices.Contains(among, w) {
		return w
	}
	text := strings.ReplaceAll(strings.ReplaceAll(word, "-", " "), "_", " ")
	if len(text) > 200 {
		return ""
	}
	terms := x.terms(text)
	best, found := nearEnough, ""
	if kinds[kind] != "" { // a part of the word itself: "gauge" of gauge-look
		for _, id := range among {
			if slices.Contains(strings.Split(id, "-"), word) && best < aPart {
				best, found = aPart, id
			}
			own := x.terms(strings.ReplaceAll(id, "-", " "))
			if s := x.overlap(own, 1, terms, nil); s > best+1e-12 {
				best, found = s, id
			}
		}
	}
	for i := range x.targets {
		t := &x.targets[i]
		id := t.id
		var without map[string]bool
		switch {
		case t.kind == "check" && t.found != "" && kind == FindingOf(t.id):
			id = t.found
			without = x.terms(strings.ReplaceAll(t.id, "-", " "))
		case kinds[kind] != t.kind:
			continue
		}
		if !slices.Contains(among, id) {
			continue
		}
		for k := range t.ways {
			if s := x.overlap(t.ways[k].terms, t.ways[k].share, terms, without); s > best+1e-12 {
				best, found = s, id
			}
		}
	}
	return found
}

// aPart is the score of a wrong word that is a whole part of a right one, such as
// "gauge" of gauge-look: judgement.
const aPart = 0.9

// nearEnough is the overlap below which no other word is named: judgement.
const nearEnough = 0.45

// overlap is the F measure of a way's terms, but for some, and other terms;
// negation is a term as any.
func (x *Lexicon) overlap(way map[string]bool, share float64, terms, without map[string]bool) float64 {
	kept := map[string]bool{}
	for t := range way {
		if !without[t] {
			kept[t] = true
		}
	}
	shared := map[string]bool{}
	for t := range kept {
		if terms[t] {
			shared[t] = true
		}
	}
	if len(shared) == 0 {
		return 0
	}
	return share * 2 * x.sum(shared) / (x.sum(terms) + x.sum(kept))
}

// IDs are the ids that can be offered of a kind: "sign", "check", "repair", ...
func (x *Lexicon) IDs(kind string) (ids []string) {
	for i := range x.targets {
		if t := &x.targets[i]; t.kind == kind && !slices.Contains(ids, t.id) {
			ids = append(ids, t.id)
		}
	}
	return ids
}
