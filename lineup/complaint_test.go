package lineup

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"weephole/cause"
	"weephole/check"
	"weephole/circuit"
)

// An owner who comes says something: over all that he may say of the signs, the
// probabilities of what he says sum to one, for a car that shows everything and
// for one that shows next to nothing. (A likelihood that left this out would
// hold quiet faults up against loud ones.)
func TestWhatAnOwnerMayComplainOfSumsToOne(t *testing.T) {
	m, err := DefaultModel()
	if err != nil {
		t.Fatal(err)
	}
	n := len(m.Checks.Signs)
	drill := circuit.NewDrill(circuit.Coarse)
	rapid.Check(t, func(t *rapid.T) {
		settings := *m.Settings
		settings.ComplaintPower.Value = 1 // a raised likelihood sums to less; the owner behind it must sum to one
		settings.TalkSD.Value = rapid.Float64Range(0, 2).Draw(t, "talk-sd")
		settings.TalkMean.Value = rapid.Float64Range(-2, 1).Draw(t, "talk-mean")
		m := *m
		m.Settings = &settings
		i := rapid.IntRange(0, len(m.Causes.Causes)-1).Draw(t, "cause")
		p := cause.Present{Cause: i, Site: cause.NoSite, Severity: rapid.Float64Range(0, 1).Draw(t, "severity")}
		circ := m.Table.Draw(circuit.Vehicle{}, make([]float64, m.Table.Dim()))
		m.Causes.Causes[i].Apply(p.Severity, p.Hidden[:], &circ)
		var record circuit.Record
		drill.Run(&circ, circuit.Conditions{AmbientC: 25}, circuit.AllSituations(), &record)
		s := check.Subject{Causes: []cause.Present{p}, Record: &record}

		// Twelve signs of the catalogue are as good as all, and leave few enough
		// complaints to be counted out.
		checks := *m.Checks
		checks.Signs = checks.Signs[:min(n, 12)]
		m.Checks = &checks
		c := check.Complaint{Signs: make([]check.Heard, len(checks.Signs)), Conditions: make([]check.Heard, len(checks.Conditions))}
		c.Signs[0] = check.Said
		weigher := newComplaintWeigher(&m, &c) // looks at the signs again each time that it weighs
		sum := 0.0
		for said := 1; said < 1<<len(checks.Signs); said++ {
			for k := range c.Signs {
				c.Signs[k] = check.Silent
				if said>>k&1 == 1 {
					c.Signs[k] = check.Said
				}
			}
			log, comes := weigher.logLikelihood(&m, &s)
			sum += math.Exp(log) / comes
		}
		if math.Abs(sum-1) > 1e-9 {
			t.Fatalf("cause %s: what may be said sums to %.12f", m.Causes.Causes[i].ID, sum)
		}
	})
}

// The points of talkativeness are Gauss and Hermite's points for five (Abramowitz & Stegun
// 1964, table 25.10, from memory): 0, 0.958572 and 2.020183 with weights 0.945309, 0.393619
// and 0.019953, over the root of pi.
func TestTheTalkPointsAreGaussAndHermites(t *testing.T) {
	m, err := DefaultModel()
	if err != nil {
		t.Fatal(err)
	}
	settings := *m.Settings
	settings.TalkSD.Value, settings.TalkMean.Value = 1/math.Sqrt2, 0 // log odds shift by the points themselves
	m.Settings = &settings
	e := newComplaintWeigher(m, &check.Complaint{})
	said := m.Checks.Signs[0].Said.Value
	want := map[float64]float64{-2.020183: 0.019953, -0.958572: 0.393619, 0: 0.945309, 0.958572: 0.393619, 2.020183: 0.019953}
	for k, w := range e.weights {
		p := e.signs[0][k].said
		x := math.Log(p/(1-p)) - math.Log(said/(1-said))
		found := false
		for at, weight := range want {
			found = found || math.Abs(at-x) < 1e-5 && math.Abs(weight/math.SqrtPi-w) < 1e-5
		}
		if !found {
			t.Errorf("point %.6f with weight %.6f is not in the table", x, w*math.SqrtPi)
		}
	}
}

// Silence about a sign says nothing where its kind of trouble was told in another word: who
// says that the needle stands high need not say as well that it runs hot.
func TestTroubleToldInAnotherWordIsNotPassedOverInSilence(t *testing.T) {
	m, err := DefaultModel()
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		said    []string
		sign    string
		ignored bool
	}{
		{[]string{"needle-high"}, "overheats", true},
		{[]string{"needle-high"}, "boils-over", true},
		{[]string{"needle-high", "no-heat"}, "overheats", true},
		{[]string{"needle-high", "no-heat"}, "loses-coolant", false},
		{[]string{"needle-high", "boils-over"}, "overheats", false},
		{[]string{"needle-low"}, "no-heat", true},
		{[]string{"needle-low"}, "overheats", false},
		{[]string{"puddle"}, "loses-coolant", true},
		{[]string{"oil-in-coolant"}, "overheats", false},
		{[]string{"oil-in-coolant"}, "hard-hose", false}, // what is neither heat, cold nor loss is no one kind
		{[]string{"overheats"}, "boils-over", false},
		{nil, "overheats", false},
	} {
		said := check.Complaint{Signs: make([]check.Heard, len(m.Checks.Signs))}
		for _, s := range c.said {
			said.Signs[m.Checks.SignIndex(s)] = check.Said
		}
		if got := toldOtherwise(m, &said)[m.Checks.SignIndex(c.sign)]; got != c.ignored {
			t.Errorf("%v said: silence about %s says nothing: %v, want %v", c.said, c.sign, got, c.ignored)
		}
	}
}
