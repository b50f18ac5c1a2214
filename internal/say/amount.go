package say

import (
	"regexp"
	"strconv"
	"strings"
)

// amount is a number in the text, with what kind of quantity it can be.
type amount struct {
	text  string  // as it would stand in a job file: "less than 185 °F"
	kind  string  // as a reading's What, or "distance", "year", "displacement", "any"
	value float64 // SI, °C for temperatures; of "any" the bare number
	bare  bool    // without a unit: kind is presumed by whoever takes it
	units string  // the shop's, "us" or "metric"
}

var amountPattern = regexp.MustCompile(`(?i)(less than|below|under|not even|never (?:reached|(?:\w+ ){0,2}(?:above|over|past|reaches))|not above|more than|over|above|at least|about|around|roughly|nearly|approximately|~|<|>)?\s*` +
	`([-+]?\d[\d,]*(?:\.\d+)?)\s*(k\b)?\s*(degrees?(?:\s*(?:fahrenheit|celsius|f|c))?\b|deg\s*[fc]?\b|°\s*[fc]?|[fc]\b|psi\b|bar\b|kpa\b|%|percent\b|miles?\b|mi\b|km\b|litres?\b|liters?\b|l\b|cc\b|v\s?\d{1,2}\b|minutes?\b|mins?\b|hours?\b|hrs?\b|mph\b|km/h\b|rpm\b|volts?\b|v\b|amps?\b|quarts?\b|gallons?\b|dollars?\b|years?\b|s\b)?`)

var boundWords = map[string]string{
	"less than": "less than ", "below": "less than ", "under": "less than ", "not even": "less than ", "<": "less than ",
	"more than": "more than ", "over": "more than ", "above": "more than ", "at least": "more than ", ">": "more than ",
	"about": "about ", "around": "about ", "roughly": "about ", "nearly": "about ", "approximately": "about ", "~": "about ",
}

// amounts finds the numbers of a clause.
func amounts(text, units string) (out []amount) {
	for _, m := range amountPattern.FindAllStringSubmatch(text, 20) {
		number := strings.ReplaceAll(m[2], ",", "")
		v, err := strconv.ParseFloat(number, 64)
		if err != nil || v > 1e7 {
			continue
		}
		if m[3] != "" {
			v *= 1000
		}
		bound := boundWords[strings.ToLower(m[1])]
		if lower := strings.ToLower(m[1]); strings.HasPrefix(lower, "never") || strings.HasPrefix(lower, "not ") {
			bound = "less than "
		}
		a := amountOf(bound, number, v, strings.ToLower(strings.TrimSpace(m[4])), units)
		a.units = units
		out = append(out, a)
	}
	return out
}

// amountOf makes an amount of a number and its unit.
func amountOf(bound, number string, v float64, unit, units string) amount {
	a := amount{text: bound + number, kind: "any", value: v, bare: true}
	with := func(kind, unit string, value float64) amount {
		return amount{text: bound + number + " " + unit, kind: kind, value: value}
	}
	switch {
	case unit == "" && v >= 1900 && v <= 2035 && bound == "" && !strings.Contains(number, "."):
		a.kind = "year"
	case unit == "s" && v >= 1900 && v <= 2030 && int(v)%10 == 0:
		return amount{text: number + "s", kind: "year", value: v}
	case unit == "":
	case strings.HasPrefix(unit, "deg"), strings.HasPrefix(unit, "°"), unit == "f", unit == "c":
		scale := strings.TrimSpace(strings.NewReplacer("degrees", "", "degree", "", "deg", "", "°", "").Replace(unit))
		return temperature(bound, number, v, scale, units)
	case unit == "psi":
		return with("pressure", "psi", v*6894.757293168)
	case unit == "bar":
		return with("pressure", "bar", v*1e5)
	case unit == "kpa":
		return with("pressure", "kPa", v*1e3)
	case unit == "%", unit == "percent":
		return with("share", "%", v/100)
	case strings.HasPrefix(unit, "mi") && !strings.HasPrefix(unit, "min"):
		return with("distance", "miles", v*1.609344)
	case unit == "km":
		return with("distance", "km", v)
	case strings.HasPrefix(unit, "lit"), unit == "l":
		return with("volume", "L", v)
	case unit == "cc":
		return amount{text: strconv.FormatFloat(v/1000, 'g', 3, 64) + " L", kind: "volume", value: v / 1000}
	case strings.HasPrefix(unit, "v") && len(unit) > 1 && unit[1] != 'o':
		return with("volume", "L", v) // 5.7 V8
	case strings.HasPrefix(unit, "min"):
		return with("duration", "min", v*60)
	case strings.HasPrefix(unit, "h"):
		return with("duration", "h", v*3600)
	case strings.HasPrefix(unit, "quart"):
		return with("volume", "qt", v*0.946352946)
	case strings.HasPrefix(unit, "gallon"):
		return with("volume", "gal", v*3.785411784)
	default:
		a.kind, a.bare = "other", false
	}
	return a
}

// hottestC is what a number without a scale cannot be in degrees Celsius: it is
// then in degrees Fahrenheit. Judgement: no gauge goes further.
const hottestC = 160

// temperature makes a temperature; without a scale it is in the shop's.
func temperature(bound, number string, v float64, scale, units string) amount {
	bare := scale == ""
	if bare {
		scale = "c"
		if units == "us" || v > hottestC {
			scale = "f"
		}
	}
	a := amount{text: bound + number + " °" + strings.ToUpper(scale), kind: "temperature", value: v, bare: bare}
	if scale == "f" {
		a.value = (v - 32) / 1.8
	}
	return a
}

// as takes a number without a unit for a kind of quantity, in the shop's unit.
func (a amount) as(kind, units string) (amount, bool) {
	if a.kind == kind {
		return a, true
	}
	if !a.bare || a.kind != "any" && a.kind != "year" {
		return a, false
	}
	bound, number := "", a.text
	for _, b := range []string{"less than ", "more than ", "about "} {
		if rest, ok := strings.CutPrefix(a.text, b); ok {
			bound, number = b, rest
		}
	}
	us := units == "us"
	switch kind {
	case "temperature":
		return temperature(bound, number, a.value, "", units), a.value >= 30 && a.value < 400
	case "temperature-difference":
		unit := " K"
		if us {
			unit = " °F"
		}
		return amount{text: bound + number + unit, kind: kind, value: a.value}, a.value < 150
	case "pressure":
		unit := " bar"
		if us || a.value > 4 {
			unit = " psi"
		}
		return amount{text: bound + number + unit, kind: kind, value: a.value}, a.value < 40
	case "duration":
		return amount{text: bound + number + " min", kind: kind, value: a.value * 60}, a.value < 600
	case "share":
		return amount{text: bound + number + " %", kind: kind, value: a.value / 100}, a.value <= 100
	}
	return a, false
}

// reading offers what an amount may be a reading of.
func (x *Lexicon) reading(a amount, terms map[string]bool) (offers []Offer) {
	for i := range x.targets {
		t := &x.targets[i]
		switch {
		case t.read != "":
			c := x.checks.Check(t.id)
			m := &c.Readings[c.ReadingIndex(t.read)]
			b, ok := a.as(m.What, a.units)
			if !ok {
				continue
			}
			if s := x.plain(t, terms); s >= readingFewest {
				offers = append(offers, Offer{Check: t.id, Read: map[string]string{t.read: b.text}, Text: t.text + " " + b.text, score: s * readingFirst})
			}
		case t.kind == "car" && t.found == "":
			if o, ok := carNumber(t.id, a, terms); ok {
				offers = append(offers, o)
			}
		}
	}
	if b, ok := a.as("temperature", a.units); ok && (b.kind == a.kind || terms["needle"] || terms["degree"]) {
		if band := x.checks.OnScale("needle", b.value, nil); band != nil && band.Sign != "" {
			s := 0.62
			if terms["needle"] {
				s = 0.97
			}
			g := &x.checks.Signs[x.checks.SignIndex(band.Sign)]
			offers = append(offers, Offer{Sign: g.ID, Read: map[string]string{"needle": b.text}, Text: g.Name + ", " + b.text, score: s})
		}
	}
	return offers
}

const (
	readingFewest = 0.45 // score of the words around a number below which it is not offered; judgement
	readingFirst  = 1.1  // a number that fits is more than words alone; judgement
)

// plain is the score of a target's phrases without regard to negation and numbers.
func (x *Lexicon) plain(t *target, terms map[string]bool) float64 {
	words := map[string]bool{}
	for term := range terms {
		if term != number && term != negation {
			words[term] = true
		}
	}
	best, clause := 0.0, x.sum(words)
	for k := range t.ways {
		w := &t.ways[k]
		if shared := x.shared(w.terms, words); shared > 0 {
			best = max(best, w.share*2*shared/(clause+w.sum))
		}
	}
	return best
}

// carNumber is a fact about the car in numbers.
func carNumber(key string, a amount, terms map[string]bool) (Offer, bool) {
	o := Offer{Car: key, Found: a.text}
	switch key {
	case "mileage":
		if a.kind != "distance" || a.value < 2000 && !terms["mileage"] {
			return o, false
		}
		o.Text, o.score = "mileage "+a.text, 0.9
	case "year":
		if a.kind != "year" {
			return o, false
		}
		o.Text, o.score = "model year "+a.text, 0.8
	case "displacement":
		if a.kind != "volume" || a.value > 20 || terms["coolant"] || terms["top-up"] || strings.HasSuffix(a.text, "gal") || strings.HasSuffix(a.text, "qt") {
			return o, false
		}
		o.Text, o.score = "engine size "+a.text, 0.9
	case "cap":
		b, ok := a.as("pressure", a.units)
		if !ok || !terms["cap"] {
			return o, false
		}
		o.Found, o.Text, o.score = b.text, "pressure stamped on the cap "+b.text, 0.8
	default:
		return o, false
	}
	return o, true
}
