package web

import (
	"fmt"
	"math"
	"net/http"

	"weephole/check"
	"weephole/internal/answer"
	"weephole/internal/job"
	"weephole/quantity"
)

// Doubts are readings of a finding that may have been meant in another unit. Nothing
// is refused: whoever read it is asked.
type Doubts struct {
	Doubts []Doubt `json:"doubts"`
}

// Doubt is one reading to be asked about.
type Doubt struct {
	Reading string `json:"reading"`
	Asks    string `json:"asks"`    // the question
	Instead string `json:"instead"` // what it would be
	Number  string `json:"number"`  // its number
	Unit    string `json:"unit"`    // its unit
	Keep    string `json:"keep"`    // what it is as typed
}

// farOut is how many widths of a healthy engine's range a reading must lie from it to
// be asked about, and within how many of them it must lie in the other unit. A reading
// that is merely odd is a finding and not a mistake. Judgement.
const (
	farOut  = 3.0
	nearIn  = 1.5
	leastOf = 0.02 // a range narrower than this share of its middle counts as so wide
)

// otherUnits are the units that are mistaken for one another.
var otherUnits = map[string][]string{
	"temperature": {"°C", "°F"}, "temperature-difference": {"K", "°F"}, "pressure": {"bar", "psi", "kPa"},
}

// getDoubts looks at a finding that is about to be entered.
func (ap *findingsAPI) getDoubts(_ http.ResponseWriter, r *http.Request) (any, error) {
	raw, err := body(r)
	if err != nil {
		return nil, err
	}
	if _, err := ap.current(r.Context(), r.PathValue("id")); err != nil {
		return nil, err // no such job here, or another shop's
	}
	out := Doubts{Doubts: []Doubt{}}
	f, err := job.ReadFinding(raw, job.Shop{}, ap.words)
	if err != nil {
		return out, nil // entering it says what is wrong
	}
	k := ap.cfg.Model.Checks.Check(f.Check)
	a, err := ap.answer(r.Context(), r.PathValue("id"))
	if err != nil || k == nil || a == nil {
		return out, err
	}
	for _, rd := range f.Read {
		m := reading(k, rd.ID)
		if m == nil || !rd.Known() {
			continue
		}
		for i := range a.Expected {
			if e := &a.Expected[i]; e.Check == k.ID && e.Reading == rd.ID && e.Healthy != nil {
				if d := doubtOf(m, &rd, e.Healthy); d != nil {
					out.Doubts = append(out.Doubts, *d)
				}
			}
		}
	}
	return out, nil
}

// doubtOf asks about a reading that a healthy engine is far from, and that would be
// near in another unit.
func doubtOf(m *check.ReadingModel, rd *job.Reading, healthy *answer.ShownFacts) *Doubt {
	middle := (healthy.Low + healthy.High) / 2
	wide := math.Max(healthy.High-healthy.Low, leastOf*math.Abs(middle))
	off := func(v float64) float64 { return math.Abs(v-middle) / wide }
	if wide <= 0 || off(rd.Value) < farOut {
		return nil
	}
	number, unit, ok := numberOf(rd.Text)
	if !ok {
		return nil
	}
	for _, other := range otherUnits[m.What] {
		if other == unit {
			continue
		}
		instead := number + " " + other
		if v, err := valueOf(m.What, instead); err == nil && off(v) <= nearIn {
			return &Doubt{Reading: m.ID, Instead: instead, Number: number, Unit: other, Keep: rd.Text,
				Asks: fmt.Sprintf("%s: %s? A healthy engine reads %s there. Was it %s?", m.Name, rd.Text, healthy.Says, instead)}
		}
	}
	return nil
}

// valueOf reads a quantity of a kind, SI with temperatures in degC.
func valueOf(kind, text string) (float64, error) {
	switch kind {
	case "temperature":
		v, err := quantity.ParseTemperature(text)
		return float64(v), err
	case "temperature-difference":
		v, err := quantity.ParseTemperatureDifference(text)
		return float64(v), err
	case "pressure":
		v, err := quantity.ParsePressure(text)
		return float64(v), err
	}
	return 0, fmt.Errorf("%q is of no kind that has two units", kind)
}

// numberOf parts a reading's text into its number and its unit.
func numberOf(text string) (number, unit string, ok bool) {
	m := numberAndUnit.FindStringSubmatch(text)
	if m == nil {
		return "", "", false
	}
	return m[1], m[2], true
}

// asTyped are the units in which a reading is answered: those in which it was typed.
func asTyped(text string, u quantity.Units) quantity.Units {
	_, unit, _ := numberOf(text)
	switch unit {
	case "°C", "°F":
		u.TemperatureIn = unit
	case "K":
		u.TemperatureIn = "°C"
	case "bar", "psi", "kPa":
		u.PressureIn = unit
	}
	return u
}
