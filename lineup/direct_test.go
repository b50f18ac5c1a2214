package lineup_test

import (
	"context"
	"testing"

	"weephole/lineup"
)

// A part that was looked at and is bad is bad, whether it explains the complaint or
// not: a look settles the first, and the circuit speaks to the second.
func TestALookAtThePartSettlesThatItIsBad(t *testing.T) {
	m := model(t)
	for _, look := range []struct {
		event lineup.Event
		cause string
		bad   float64 // at least
	}{
		{lineup.Event{Check: "cap-pressure", Readings: []lineup.Reading{{ID: "held", Value: 0.21}}}, "cap-weak", 0.75},
		{lineup.Event{Check: "shroud-look", Word: "missing"}, "shroud-missing", 0.6},
		{lineup.Event{Check: "timing-check", Word: "late"}, "excess-heat", 0.55},
		{lineup.Event{Check: "fan-run", Word: "still"}, "fan-dead", 0.8},
		{lineup.Event{Check: "belt-look", Word: "belt-off"}, "belt-slipping", 0.8},
	} {
		cs := complaint(t, m, "overheats")
		cs.Events = []lineup.Event{look.event}
		l, err := lineup.New(context.Background(), m, cs, lineup.DrawOptions{Candidates: 6000, Seed: 1})
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
