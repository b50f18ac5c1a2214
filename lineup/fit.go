package lineup

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// Fit says how well the catalogue accounts for the findings together.
type Fit struct {
	// Verdict is "fits", "strained" (some finding surprises whatever is wrong)
	// or "nothing-fits" (the unnamed remainder explains the findings best).
	Verdict       string  `json:"verdict"`
	SomethingElse float64 `json:"something_else"` // probability of a cause that the catalogue does not name
	// Odd lists the findings that what is left of the lineup would hardly have
	// shown, the oddest first.
	Odd []Oddity `json:"odd"`
	// Logs lists the logs that hardly any engine could have made.
	Logs []StrangeLog `json:"logs,omitempty"`
}

// Oddity is a finding at odds with all the others.
type Oddity struct {
	Finding int     `json:"finding"`
	What    string  `json:"what"`
	Chance  float64 `json:"chance"` // of such a finding, or one odder, if the others are right
}

// fit judges each finding against what the others leave standing: the
// posterior predictive check with the finding itself left out (Gelman, Meng &
// Stern 1996; Marshall & Spiegelhalter 2003).
func (l *Lineup) fit() Fit {
	set, f := l.model.Settings, Fit{Verdict: "fits", SomethingElse: l.other, Odd: []Oddity{}, Logs: l.strangeLogs()}
	p := l.pop
	w := make([]float64, p.size())
	for j := range l.evidence {
		e := &l.evidence[j]
		if e.kind == complained || e.kind == quoted {
			continue
		}
		l.without(j, w)
		chance := 1.0
		switch {
		case e.log != nil:
			continue // judged by its own alternative: strangeLogs
		case len(e.readings) > 0 && e.cond == 0 && e.epoch == len(l.draw.repairs):
			for _, rd := range e.readings {
				chance = math.Min(chance, l.tail(rd, w)*float64(len(e.readings)))
			}
		case e.worded && e.weight == 1 && e.cond == 0 && e.epoch == len(l.draw.repairs):
			chance = l.rarer(e, w)
		case e.worded && e.weight == 1, e.kind == repairTried:
			chance = math.Exp(logMean(w, p.columns[j]))
		}
		if chance < set.OddChance.Value && !l.explained(j) {
			f.Odd = append(f.Odd, Oddity{Finding: e.finding(), What: e.label, Chance: chance})
		}
	}
	slices.SortStableFunc(f.Odd, func(a, b Oddity) int { return cmp.Compare(a.Chance, b.Chance) }) // the oddest first
	switch {
	case l.other > set.NothingFits.Value:
		f.Verdict = "nothing-fits"
	case len(f.Odd) > 0 || len(f.Logs) > 0:
		f.Verdict = "strained"
	}
	return f
}

// explained is true where one of the causes that stand would show finding j
// readily: a rare fault that was looked at is news, not a contradiction.
func (l *Lineup) explained(j int) bool {
	p, e, set := l.pop, &l.evidence[j], l.model.Settings
	w := make([]float64, p.size())
	for c, present := range l.present(p, p.weights) {
		if present < set.AmongAnswers.Value || c == l.model.Causes.NoFault() {
			continue
		}
		mass := 0.0
		for i := range w {
			w[i] = 0
			if l.has(p, i, c) {
				w[i] = p.weights[i]
				mass += w[i]
			}
		}
		if mass == 0 {
			continue
		}
		for i := range w {
			w[i] /= mass
		}
		shows := 0.0
		if len(e.readings) > 0 {
			shows = 1
			for _, rd := range e.readings {
				shows = math.Min(shows, l.tail(rd, w))
			}
		} else {
			shows = math.Exp(logMean(w, p.columns[j]))
		}
		if shows >= set.ShowsReadily.Value {
			return true
		}
	}
	return false
}

// without fills w with the posterior weights as they would be without evidence j.
// Nothing is done where that leaves few candidates: the chance is then a rough one.
func (l *Lineup) without(j int, w []float64) {
	p := l.pop
	logw := make([]float64, p.size())
	for i := range logw {
		logw[i] = math.Log(p.weights[i]) - p.columns[j][i]
	}
	normalise(logw, w)
}

// rarer is the chance of the word that was found or of one as rare or rarer: a
// leak at one of a dozen places is no oddity, though each place is rare.
func (l *Lineup) rarer(e *evidence, w []float64) float64 {
	p := l.pop
	row := make([]float64, len(e.check.Words))
	expected := make([]float64, len(row))
	for i, v := range w {
		s := l.subject(&p.now[i], p.records[i])
		e.check.Shows(&s, row)
		for k, q := range row {
			expected[k] += v * q
		}
	}
	chance := 0.0
	for _, q := range expected {
		if q <= expected[e.word] {
			chance += q
		}
	}
	return chance
}

// tail is the two-sided chance of a reading at least as far out, blunders
// included as far as the reading's model has them.
func (l *Lineup) tail(rd reading, w []float64) float64 {
	p := l.pop
	below, above, mass := 0.0, 0.0, 0.0
	for i, v := range w {
		s := l.subject(&p.now[i], p.records[i])
		mean, sd := rd.model.Expect(&s)
		if math.IsNaN(mean) || sd <= 0 {
			continue
		}
		c := distuv.UnitNormal.CDF((rd.value - mean) / sd)
		below += v * c
		above += v * (1 - c)
		mass += v
	}
	if mass < l.model.Settings.PredictLeast.Value { // most candidates do not predict this reading: it says nothing of fit
		return 1
	}
	tail := 2 * math.Min(below, above) / mass
	blunder := rd.model.Blunder.Share
	return blunder*0.5 + (1-blunder)*tail // of a blunder: a two-sided chance is even over 0 to 1
}
