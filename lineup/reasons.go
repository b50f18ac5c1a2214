package lineup

import (
	"math"
	"slices"
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

// reasons lists what each piece of evidence says for and against each cause, weightiest
// first.
func (l *Lineup) reasons() (pro, con [][]Reason) {
	causes, p := len(l.model.Causes.Causes), l.pop
	pro, con = make([][]Reason, causes), make([][]Reason, causes)
	for c := range causes {
		pro[c], con[c] = []Reason{}, []Reason{}
	}
	blamed, having := l.toBlameFor(), l.having()
	prior, told := make([]float64, p.size()), make([]float64, p.size())
	normalise(p.logBase, prior)
	l.complaintWeights(told)
	for j := range l.evidence {
		ground := told // a finding is weighed on the cars that come with this complaint
		if j == complaintColumn {
			ground = prior
		}
		for c, r := range l.reason(j, ground, blamed, having) {
			switch {
			case math.Abs(r.Decibans) < reasonsWorth:
			case r.Decibans > 0:
				pro[c] = append(pro[c], r)
			default:
				con[c] = append(con[c], r)
			}
		}
	}
	for c := range causes {
		sort.SliceStable(pro[c], func(a, b int) bool { return pro[c][a].Decibans > pro[c][b].Decibans })
		sort.SliceStable(con[c], func(a, b int) bool { return con[c][a].Decibans < con[c][b].Decibans })
	}
	return pro, con
}

// reason weighs one piece of evidence for each cause on the given ground.
func (l *Lineup) reason(j int, ground []float64, blamed, having *parted) []Reason {
	e, column := &l.evidence[j], l.pop.columns[j]
	top := slices.Max(column)
	fits := make([]float64, len(ground))
	for i, w := range ground {
		fits[i] = w * math.Exp(column[i]-top)
	}
	with, without := blamed.sums(fits)
	massWith, massWithout := blamed.sums(ground)
	out := make([]Reason, len(with))
	for c := range out {
		r := &out[c]
		r.Finding, r.What = e.finding(), e.label
		if massWith[c] == 0 || massWithout[c] == 0 || with[c] == 0 || without[c] == 0 {
			continue
		}
		shown, otherwise := with[c]/massWith[c], without[c]/massWithout[c]
		r.Decibans = 10 * math.Log10(shown/otherwise)
		if e.worded && len(e.readings) == 0 && e.log == nil && e.weight == 1 {
			scale := math.Exp(top)
			r.With, r.Without = shown*scale, otherwise*scale
		}
	}
	if e.cond == 0 && e.epoch == len(l.draw.repairs) {
		for _, rd := range e.readings {
			l.expectations(rd, ground, having, out)
		}
	}
	return out
}

// expectations tells each reason where a reading was to be expected.
func (l *Lineup) expectations(rd reading, ground []float64, having *parted, out []Reason) {
	p := l.pop
	mean, sd := make([]float64, p.size()), make([]float64, p.size())
	for i := range ground {
		s := l.subject(&p.now[i], p.records[i])
		mean[i], sd[i] = rd.model.Expect(&s)
	}
	with, without := having.intervals(ground, mean, sd)
	for c := range out {
		out[c].Expected = append(out[c].Expected, Expectation{Reading: rd.model.ID, Kind: rd.model.What, Read: rd.value, With: with[c], Without: without[c]})
	}
}
