package lineup

import (
	"math"
	"testing"

	"weephole/cause"
	"weephole/check"
)

// The sums of all causes at once are those of each cause taken alone, from whose definition
// they are made here. After a repair engines have faults that it left behind, and none.
func TestSumsOfAllCausesAreThoseOfEach(t *testing.T) {
	m, err := DefaultModel()
	if err != nil {
		t.Fatal(err)
	}
	c := check.Complaint{Signs: make([]check.Heard, len(m.Checks.Signs)), Conditions: make([]check.Heard, len(m.Checks.Conditions))}
	c.Signs[m.Checks.SignIndex("overheats")] = check.Said
	c.Trouble = m.Checks.Trouble(c.Signs)
	l, err := New(t.Context(), m, Case{Complaint: c, Events: []Event{{Repair: "replace-thermostat", Changed: cause.Better}}}, DrawOptions{Candidates: 1500, Seed: 1, KeepStill: true})
	if err != nil {
		t.Fatal(err)
	}
	p := l.pop
	reading, off := make([]float64, p.size()), make([]float64, p.size())
	for i := range reading {
		reading[i], off[i] = 90+float64(i%7), 2
		if i%11 == 0 {
			reading[i] = math.NaN()
		}
	}
	near := func(what string, c int, got, want float64) {
		if d := math.Abs(got - want); d > 1e-12*math.Abs(want) && !(math.IsNaN(got) && math.IsNaN(want)) {
			t.Errorf("%s of %s: %g, want %g", what, m.Causes.Causes[c].ID, got, want)
		}
	}
	blamed, having := l.toBlameFor(), l.having()
	with, without := blamed.sums(p.weights)
	expected, otherwise := having.intervals(p.weights, reading, off)
	for c := range m.Causes.Causes {
		sum, rest := 0.0, 0.0
		var mine, others [3]float64
		for i, w := range p.weights {
			share := l.explains(p, i, c)
			sum, rest = sum+share*w, rest+(1-share)*w
			if math.IsNaN(reading[i]) {
				continue
			}
			to := &others
			if l.has(p, i, c) {
				to = &mine
			}
			to[0], to[1], to[2] = to[0]+w, to[1]+w*reading[i], to[2]+w*(reading[i]*reading[i]+off[i]*off[i])
		}
		near("with", c, with[c], sum)
		near("without", c, without[c], rest)
		for k, want := range interval(mine[0], mine[1], mine[2]) {
			near("the reading with", c, expected[c][k], want)
		}
		for k, want := range interval(others[0], others[1], others[2]) {
			near("the reading without", c, otherwise[c][k], want)
		}
	}
}
