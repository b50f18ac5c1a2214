package say

import (
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
