package answer

import (
	"weephole/internal/work"
)

// ExpectedFacts is what a check would show: on a healthy engine like this one, and on
// engines like it with one of the leading causes and no other fault.
type ExpectedFacts struct {
	Check   string       `json:"check"`
	Reading string       `json:"reading,omitempty"` // a reading, or
	Word    string       `json:"word,omitempty"`    // a word
	Healthy *ShownFacts  `json:"healthy,omitempty"`
	Leading []ShownFacts `json:"leading"`
}

// ShownFacts is what engines of one kind would show.
type ShownFacts struct {
	Cause string  `json:"cause,omitempty"` // "" for the healthy ones
	Name  string  `json:"name,omitempty"`
	Low   float64 `json:"low,omitempty"` // of a reading, SI, temperatures in degC: mean less one standard deviation
	High  float64 `json:"high,omitempty"`
	// Probability is that of a word.
	Probability float64 `json:"probability,omitempty"`
	Says        string  `json:"says"` // in the shop's units, or "87 of 100"
}

// ForExpected puts what every check would show into words.
func ForExpected(list []work.Expected, s Style) []ExpectedFacts {
	out := make([]ExpectedFacts, 0, len(list))
	for i := range list {
		e := &list[i]
		x := ExpectedFacts{Check: e.Check, Word: e.Word, Leading: []ShownFacts{}}
		if e.Reading != nil {
			x.Reading = e.Reading.ID
		}
		if e.Healthy != nil {
			h := shows(e, e.Healthy, s)
			x.Healthy = &h
		}
		for k := range e.Leading {
			x.Leading = append(x.Leading, shows(e, &e.Leading[k], s))
		}
		out = append(out, x)
	}
	return out
}

func shows(e *work.Expected, x *work.Shows, s Style) ShownFacts {
	out := ShownFacts{Cause: x.Cause, Name: x.Name, Low: x.Low, High: x.High}
	if e.Reading != nil {
		out.Says = Span(s.Units, e.Reading.What, [2]float64{x.Low, x.High})
	} else {
		out.Probability, out.Says = x.Probability, OfHundred(x.Probability)
	}
	return out
}
