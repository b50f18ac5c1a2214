package say

import (
	_ "embed"
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"

	"weephole/cause"
	"weephole/check"
	"weephole/sheet"
)

//go:embed phrases.yaml
var phrasesSheet []byte

// same is a term and what else is said for it.
type same struct {
	At  sheet.At    `sheet:",at"`
	ID  string      `sheet:"id,required"`
	Say sheet.Words `sheet:"say,required"`
}

// phrase is what people say for a word of the catalogues.
type phrase struct {
	At    sheet.At    `sheet:",at"`
	ID    string      `sheet:"id,required"`
	Means string      `sheet:"means"` // as ID, where a shop adds to what there is
	Say   sheet.Words `sheet:"say,required"`
}

type layout struct {
	Same    []same   `sheet:"same"`
	Phrases []phrase `sheet:"phrases"`
}

// Lexicon knows what people say for the words of the catalogues. It is not
// changed after it was made and may be used from several goroutines.
type Lexicon struct {
	checks  *check.Checklist
	causes  *cause.Catalogue
	phrases map[string][]string // stems of a phrase, joined: the term
	longest int                 // stems of the longest such phrase
	targets []target
	rarity  map[string]float64
}

// target is one word that can be offered.
type target struct {
	kind, id, found string // "check", "level-cold", "low"
	read            string // a reading's id, of a check
	text            string // what it stands for
	ways            []way
}

// way is one way of saying a target.
type way struct {
	terms  map[string]bool
	sum    float64 // of the terms' rarity
	denies bool
	share  float64 // of a full score: 1 for what people say, less for the catalogue's own words
}

// Shares of a full score; judgement.
const (
	asNamed = 0.88 // the catalogue's own words
	asSaid  = 1.0
)

// New makes a lexicon of the catalogues' own words and of the phrases, with the
// sheets of a shop laid over them.
func New(checks *check.Checklist, overlays ...sheet.Source) (*Lexicon, error) {
	var l layout
	var problems sheet.Mistakes
	elsewhere := append(cause.SheetKeys(), check.SheetKeys()...)
	for _, s := range append([]sheet.Source{{Name: "phrases.yaml", Data: phrasesSheet}}, overlays...) {
		problems = append(problems, sheet.Read(s.Parsed(), &l, elsewhere...)...)
	}
	if err := problems.Err(); err != nil {
		return nil, fmt.Errorf("phrases: %w", err)
	}
	x := &Lexicon{checks: checks, causes: checks.Causes(), phrases: map[string][]string{}}
	for _, s := range l.Same {
		say := s.Say
		if s.ID != nothing && !strings.Contains(s.ID, " ") {
			say = append(sheet.Words{s.ID}, say...)
		}
		for _, text := range say {
			stems := raw(text)
			x.phrases[strings.Join(stems, " ")] = append(x.phrases[strings.Join(stems, " ")], s.ID)
			x.longest = max(x.longest, len(stems))
		}
	}
	x.catalogue()
	for _, p := range l.Phrases {
		means := p.Means
		if means == "" {
			means = p.ID
		}
		i := slices.IndexFunc(x.targets, func(t target) bool { return t.name() == means })
		if i < 0 {
			problems.Add(p.At, "id", "%q is no word of the catalogues", means)
			continue
		}
		for _, text := range p.Say {
			x.targets[i].say(x, text, asSaid)
		}
	}
	if err := problems.Err(); err != nil {
		return nil, fmt.Errorf("phrases: %w", err)
	}
	x.weigh()
	return x, nil
}

// name is how phrases.yaml calls the target.
func (t *target) name() string {
	switch {
	case t.read != "":
		return t.kind + ":" + t.id + "." + t.read
	case t.kind == "check" && t.found != "":
		return t.kind + ":" + t.id + "=" + t.found
	case t.kind == "car" && t.found != "":
		return t.kind + ":" + t.id + "=" + t.found
	}
	return t.kind + ":" + t.id
}

func (t *target) say(x *Lexicon, text string, share float64) {
	w := way{terms: x.terms(text), share: share}
	w.denies = w.terms[negation]
	if len(w.terms) > 0 {
		t.ways = append(t.ways, w)
	}
}

// catalogue makes the targets, each with the catalogue's own words for it.
func (x *Lexicon) catalogue() {
	add := func(t target, texts ...string) {
		for _, text := range texts {
			t.say(x, text, asNamed)
		}
		x.targets = append(x.targets, t)
	}
	plain := func(id string) string { return strings.ReplaceAll(id, "-", " ") }
	for i := range x.checks.Signs {
		g := &x.checks.Signs[i]
		add(target{kind: "sign", id: g.ID, text: g.Name}, g.Name, plain(g.ID))
	}
	for i := range x.checks.Conditions {
		c := &x.checks.Conditions[i]
		add(target{kind: "condition", id: c.ID, text: c.Name}, c.Name, plain(c.ID))
	}
	for i := range x.checks.Checks {
		c := &x.checks.Checks[i]
		for _, w := range c.Words {
			add(target{kind: "check", id: c.ID, found: w.Is, text: c.Name + ": " + w.Says}, plain(c.ID)+" "+plain(w.Is), plain(c.ID)+" "+w.Says)
		}
		for k := range c.Readings {
			r := &c.Readings[k]
			add(target{kind: "check", id: c.ID, read: r.ID, text: c.Name + ": " + r.Name}, r.Name)
		}
	}
	for i := range x.causes.Repairs {
		r := &x.causes.Repairs[i]
		add(target{kind: "repair", id: r.ID, text: r.Name}, r.Name, plain(r.ID))
	}
	for _, w := range cause.WorkWords() {
		add(target{kind: "work", id: w, text: cause.WorkSays(w)}, cause.WorkSays(w))
	}
	for _, c := range carWords {
		add(target{kind: "car", id: c.key, found: c.word, text: c.says}, c.says)
	}
}

// weigh gives every term its rarity: the logarithm of how many times fewer
// targets have it than there are.
func (x *Lexicon) weigh() {
	in := map[string]int{}
	for i := range x.targets {
		seen := map[string]bool{}
		for _, w := range x.targets[i].ways {
			for t := range w.terms {
				if !seen[t] {
					seen[t] = true
					in[t]++
				}
			}
		}
	}
	x.rarity = make(map[string]float64, len(in))
	for t, n := range in {
		x.rarity[t] = math.Log(1 + float64(len(x.targets))/float64(n))
	}
	x.rarity[number] = 0.5 // some number or other: judgement
	for i := range x.targets {
		for k := range x.targets[i].ways {
			w := &x.targets[i].ways[k]
			w.sum = x.sum(w.terms)
		}
	}
}

// sum is the rarity of all terms; summed in order, so that it is the same each
// time.
func (x *Lexicon) sum(terms map[string]bool) float64 {
	list := make([]string, 0, len(terms))
	for t := range terms {
		list = append(list, t)
	}
	sort.Strings(list)
	s := 0.0
	for _, t := range list {
		s += x.rare(t)
	}
	return s
}

// rare is the rarity of a term; one that no target has weighs as the rarest.
func (x *Lexicon) rare(t string) float64 {
	if r, ok := x.rarity[t]; ok {
		return r
	}
	return unknownTerm
}

// unknownTerm is the weight of a word that no target has: it holds a score down,
// and less than one that could have matched. Judgement.
const unknownTerm = 2.0

// nothing is the id of phrases that tell nothing by themselves.
const nothing = "-"

// terms makes the terms of a text: phrases that mean the same become one, the
// longest first, and what tells nothing falls away.
func (x *Lexicon) terms(text string) map[string]bool { return x.termsOf(raw(text)) }

func (x *Lexicon) termsOf(stems []string) map[string]bool {
	out := map[string]bool{}
	for i := 0; i < len(stems); {
		n := min(x.longest, len(stems)-i)
		for ; n > 0; n-- {
			if ids, ok := x.phrases[strings.Join(stems[i:i+n], " ")]; ok {
				for _, id := range ids {
					for _, t := range strings.Fields(id) {
						if t != nothing {
							out[t] = true
						}
					}
				}
				break
			}
		}
		if n == 0 {
			if w := stems[i]; !stops[w] {
				out[w] = true
			}
			n = 1
		}
		i += n
	}
	return out
}
