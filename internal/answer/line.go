package answer

import (
	"slices"

	"weephole/internal/work"
	"weephole/quantity"
)

// Line is one sentence or two about one thing; Kind says which.
type Line struct {
	Kind Kind   `json:"kind"`
	Text string `json:"text"`
}

// Kind is what a line is about.
type Kind string

// The kinds of lines.
const (
	Engines  Kind = "engines"  // how many simulated engines stand behind the figures
	Leading  Kind = "leading"  // the likeliest causes
	Overturn Kind = "overturn" // which finding would change the result
	Both     Kind = "both"     // two causes at once
	AlsoBad  Kind = "also-bad" // bad on this car, and not what it came for

	Caution   Kind = "caution"    // to be read before the step
	Doing     Kind = "step"       // what to do
	Visit     Kind = "visit"      // the visit that the step is part of
	VisitItem Kind = "visit-item" // one question of it
	Lacking   Kind = "lacking"    // tools that the shop lacks
	Support   Kind = "support"    // what a costly repair rests on
	Withheld  Kind = "waiting"    // a costly repair that must be shown first
	AskOwner  Kind = "question"
	AlsoNow   Kind = "together" // a repair worth doing at the same time
	Reasoning Kind = "why"
	Result    Kind = "outcome"  // what one result would do
	Cost      Kind = "cost"     // from here to a cured car
	StopAt    Kind = "stop"     // when to stop checking
	Switch    Kind = "switch"   // what would change the plan
	Referred  Kind = "referred" // what goes with a car that is referred

	Verdict Kind = "verdict" // of a proof or a quote
	Figures Kind = "figures"
	Reserve Kind = "reserve" // that enough cooling is left
	Open    Kind = "open"    // what may still be wrong
	Run     Kind = "run"
	Power   Kind = "power" // how often a run tells right
	Checks  Kind = "check"
	Bills   Kind = "bills"  // what it would come to
	Needed  Kind = "needed" // what would make a quote sound
)

// Warning kinds: what the reader should doubt.
const (
	FewEngines  Kind = "few-engines"
	OddFinding  Kind = "odd-finding"
	NothingFits Kind = "nothing-fits"
	StrangeLog  Kind = "strange-log" // no engine like this one makes such a log
	ComesBack   Kind = "comes-back"  // nothing fits before the car must leave
)

// Texts are the texts of the lines, those of the given kinds left out.
func Texts(lines []Line, without ...Kind) []string {
	out := []string{}
	for _, l := range lines {
		if !slices.Contains(without, l.Kind) {
			out = append(out, l.Text)
		}
	}
	return out
}

// Only are the texts of the lines of the given kinds.
func Only(lines []Line, kinds ...Kind) []string {
	out := []string{}
	for _, l := range lines {
		if slices.Contains(kinds, l.Kind) {
			out = append(out, l.Text)
		}
	}
	return out
}

// Style is how a shop wants its figures printed.
type Style struct {
	Units    quantity.Units
	Currency string // "" means USD
}

// StyleOf is the style of a job.
func StyleOf(w *work.Work) Style { return Style{w.Units, w.Currency} }

func (s Style) money(v float64) string { return Money(v, s.Currency) }
