package lineup

import (
	"math"
	"sort"
)

// Reason is what one finding says for or against a cause.
type Reason struct {
	Finding int    `json:"finding"` // order in the job, from 1; 0 the complaint, -1 the quote
	What    string `json:"what"`
	// Decibans is the weight of evidence, 10*log10 of how many times likelier
	// the finding is with the cause than without it, on the cars that come with
	// this complaint, taken alone (Good 1950; 10 decibans: ten times likelier).
	Decibans float64 `json:"decibans"`
	// With and Without are the share of engines, with the cause and without it,
	// that would show what was found (words only; 0..1).
	With    float64 `json:"with,omitempty"`
	Without float64 `json:"without,omitempty"`
	// Expected gives where a reading was to be expected, in SI.
	Expected []Expectation `json:"expected,omitempty"`
}

// Expectation is the range in which a reading was to be expected with the
// cause and without it: mean minus and plus one standard deviation, in SI with
// temperatures in degC, the reading's own error included.
type Expectation struct {
	Reading string     `json:"reading"`
	Kind    string     `json:"kind"` // its dimension: temperature, pressure ...
	Read    float64    `json:"read"`
	With    [2]float64 `json:"with"`
	Without [2]float64 `json:"without"`
}

// reasonsWorth is the least weight, in decibans, that is worth a line: below 1
// deciban a finding is likelier by less than a quarter (Good 1979 calls 1
// deciban about the smallest change of belief that a person perceives).
const reasonsWorth = 1.0

// reasons lists what each piece of evidence says for and against a cause,
// weightiest first.
func (l *Lineup) reasons(index int) (pro, con []Reason) {
	p := l.pop
	base := make([]float64, p.size())
	l.complaintWeights(base)
	pro, con = []Reason{}, []Reason{}
	for j := range l.evidence {
		if j == complaintColumn {
			normaliseBase := make([]float64, p.size())
			normalise(p.logBase, normaliseBase)
			if r := l.reason(index, j, normaliseBase); math.Abs(r.Decibans) >= reasonsWorth {
				pro, con = file(r, pro, con)
			}
			continue
		}
		if r := l.reason(index, j, base); math.Abs(r.Decibans) >= reasonsWorth {
			pro, con = file(r, pro, con)
		}
	}
	sort.SliceStable(pro, func(a, b int) bool { return pro[a].Decibans > pro[b].Decibans })
	sort.SliceStable(con, func(a, b int) bool { return con[a].Decibans < con[b].Decibans })
	return pro, con
}

func file(r Reason, pro, con []Reason) ([]Reason, []Reason) {
	if r.Decibans > 0 {
		return append(pro, r), con
	}
	return pro, append(con, r)
}

// reason weighs one piece of evidence for one cause on the given ground.
func (l *Lineup) reason(index, j int, base []float64) Reason {
	p, e := l.pop, &l.evidence[j]
	r := Reason{Finding: e.finding(), What: e.label}
	var with, without, massWith, massWithout float64
	top := math.Inf(-1)
	for _, v := range p.columns[j] {
		top = math.Max(top, v)
	}
	for i, w := range base {
		v, share := w*math.Exp(p.columns[j][i]-top), l.explains(p, i, index)
		with += share * v
		massWith += share * w
		without += (1 - share) * v
		massWithout += (1 - share) * w
	}
	if massWith == 0 || massWithout == 0 || with == 0 || without == 0 {
		return r
	}
	with, without = with/massWith, without/massWithout
	r.Decibans = 10 * math.Log10(with/without)
	if e.worded && len(e.readings) == 0 && e.log == nil && e.weight == 1 {
		scale := math.Exp(top)
		r.With, r.Without = with*scale, without*scale
	}
	if e.cond == 0 && e.epoch == len(l.draw.repairs) {
		for _, rd := range e.readings {
			r.Expected = append(r.Expected, l.expectation(index, rd, base))
		}
	}
	return r
}

// expectation tells where a reading was to be expected.
func (l *Lineup) expectation(index int, rd reading, base []float64) Expectation {
	var m [2]moments
	p := l.pop
	for i, w := range base {
		s := l.subject(&p.now[i], p.records[i])
		mean, sd := rd.model.Expect(&s)
		if math.IsNaN(mean) {
			continue
		}
		k := 1
		if l.has(p, i, index) {
			k = 0
		}
		m[k].add(w, mean, sd)
	}
	return Expectation{Reading: rd.model.ID, Kind: rd.model.What, Read: rd.value, With: m[0].interval(), Without: m[1].interval()}
}

// moments gathers the mean and variance of a mixture of distributions.
type moments struct{ w, sum, square float64 }

func (m *moments) add(w, mean, sd float64) {
	m.w += w
	m.sum += w * mean
	m.square += w * (mean*mean + sd*sd)
}

func (m *moments) interval() [2]float64 {
	if m.w == 0 {
		return [2]float64{math.NaN(), math.NaN()}
	}
	mean := m.sum / m.w
	sd := math.Sqrt(math.Max(0, m.square/m.w-mean*mean))
	return [2]float64{mean - sd, mean + sd}
}
