package lineup_test

import (
	"context"
	"testing"

	"weephole/lineup"
	"weephole/lineup/lineuptest"
)

// A part that was looked at and is bad is bad, whether it explains the complaint or
// not: a look settles the first, and the circuit speaks to the second.
func TestALookAtThePartSettlesThatItIsBad(t *testing.T) {
	fine := model(t)
	coarse, err := lineuptest.Coarse() // for what is far from its bound
	if err != nil {
		t.Fatal(err)
	}
	for _, look := range []struct {
		event   lineup.Event
		cause   string
		bad     float64 // at least
		m       *lineup.Model
		engines int
	}{
		{lineup.Event{Check: "cap-pressure", Readings: []lineup.Reading{{ID: "held", Value: 0.21}}}, "cap-weak", 0.75, fine, 6000},
		{lineup.Event{Check: "shroud-look", Word: "missing"}, "shroud-missing", 0.6, coarse, 3000},
		{lineup.Event{Check: "timing-check", Word: "late"}, "excess-heat", 0.55, coarse, 3000},
		{lineup.Event{Check: "fan-run", Word: "still"}, "fan-dead", 0.8, coarse, 3000},
		{lineup.Event{Check: "belt-look", Word: "belt-off"}, "belt-slipping", 0.8, coarse, 3000},
	} {
		m := look.m
		cs := complaint(t, m, "overheats")
		cs.Events = []lineup.Event{look.event}
		l, err := lineup.New(context.Background(), m, cs, lineup.DrawOptions{Candidates: look.engines, Seed: 1})
		if err != nil {
			t.Fatal(err)
		}
		i := m.Causes.Index(look.cause)
		bad, explains := l.Bad()[i], l.Probabilities()[i]
		t.Logf("%s %s: bad %.2f, explains %.2f", look.event.Check, look.event.Word, bad, explains)
		if bad < look.bad {
			t.Errorf("%s %s: %s is bad %.2f, want %.2f", look.event.Check, look.event.Word, look.cause, bad, look.bad)
		}
	}
}

// A cap that holds nothing, with its stains round the neck and all else dry, is what lost the
// coolant. One that holds most of its rating is what a look finds on one car in twenty.
func TestASevereFaultIsSeldomBesideThePoint(t *testing.T) {
	m := model(t)
	odds := func(held float64) (weakCap, leak float64) {
		cs := complaint(t, m, "loses-coolant")
		cs.Events = []lineup.Event{
			{Check: "level-cold", Word: "low"}, {Check: "leak-look", Word: "at-cap"},
			{Check: "cap-pressure", Readings: []lineup.Reading{{ID: "held", Value: held}}},
		}
		l, err := lineup.New(t.Context(), m, cs, lineup.DrawOptions{Candidates: 3000, Seed: 1})
		if err != nil {
			t.Fatal(err)
		}
		p := l.Probabilities()
		return p[m.Causes.Index("cap-weak")], p[m.Causes.Index("coolant-low")]
	}
	dead, leakBesideDead := odds(0.10)
	worn, leakBesideWorn := odds(0.80)
	t.Logf("cap and leak: %.2f and %.2f with a tenth held, %.2f and %.2f with four fifths", dead, leakBesideDead, worn, leakBesideWorn)
	if dead < leakBesideDead {
		t.Errorf("a cap that holds a tenth explains the loss by %.2f, a leak elsewhere by %.2f", dead, leakBesideDead)
	}
	if worn/leakBesideWorn > dead/leakBesideDead/2 {
		t.Errorf("cap against leak: %.2f with four fifths held, %.2f with a tenth", worn/leakBesideWorn, dead/leakBesideDead)
	}
}
