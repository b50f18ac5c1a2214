package plan_test

import (
	"context"
	"testing"

	"weephole/check"
	"weephole/lineup"
	"weephole/plan"
)

// TestDirectSignsTellTheirCauseFromTheRest weighs every row of direct.yaml on the
// cars that come with a cooling complaint: each must make its cause direct-ratio
// times likelier against the rest of them.
func TestDirectSignsTellTheirCauseFromTheRest(t *testing.T) {
	m, st := defaults(t)
	signs, err := plan.DirectSigns()
	if err != nil {
		t.Fatal(err)
	}
	l, err := lineup.New(context.Background(), m, lineup.Case{}, lineup.DrawOptions{Candidates: 6000, Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	sample, err := l.Sample(context.Background(), 4000)
	if err != nil {
		t.Fatal(err)
	}
	for _, d := range signs {
		c := m.Causes.Index(d.Cause)
		if c < 0 {
			t.Errorf("direct.yaml: no cause %q", d.Cause)
			continue
		}
		site := -1
		for i, s := range m.Causes.Causes[c].Sites {
			if s.ID == d.Site {
				site = i
			}
		}
		if d.Site != "" && site < 0 {
			t.Errorf("direct.yaml: %s has no site %q", d.Cause, d.Site)
			continue
		}
		for _, sign := range d.ShownBy {
			k := m.Checks.Check(sign.Check)
			if k == nil || k.WordIndex(sign.Found) < 0 {
				t.Errorf("direct.yaml: %s: no check %q that comes out %q", d.Cause, sign.Check, sign.Found)
				continue
			}
			var shows, cars [2]float64 // without the fault, with it
			row := make([]float64, len(k.Words))
			for i, faults := range sample.Faults {
				k.Shows(&check.Subject{Causes: faults, Record: sample.Records[i]}, row)
				with := 0
				for _, f := range faults {
					if f.Cause == c && (site < 0 || int(f.Site) == site) {
						with = 1
					}
				}
				shows[with] += row[k.WordIndex(sign.Found)]
				cars[with]++
			}
			if ratio := shows[1] / cars[1] / (shows[0] / cars[0]); ratio < st.DirectRatio.Value {
				t.Errorf("%s %s: %s shows it only %.1f times likelier than the rest; direct-ratio is %.0f", d.Cause, d.Site, sign.Check, ratio, st.DirectRatio.Value)
			}
		}
	}
}
