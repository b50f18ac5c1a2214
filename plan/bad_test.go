package plan_test

import (
	"testing"

	"weephole/cause"
	"weephole/lineup"
	"weephole/plan"
)

// TestWhatIsPlainlyBadAndCheapIsPutRightOnTheWay: a slack belt, a dead cap and a 92 %
// mix are, whatever else is wrong; a head gasket is not done on the way, nor what
// has been put right since.
func TestWhatIsPlainlyBadAndCheapIsPutRightOnTheWay(t *testing.T) {
	all := allEngines(t)
	m, st := defaults(t)
	for _, test := range []struct {
		name   string
		events []lineup.Event
		want   []string
	}{
		{"a slack belt", []lineup.Event{{Check: "belt-look", Word: "slack"}}, []string{"replace-belt"}},
		{"a dead cap and far too strong a mix", []lineup.Event{{Check: "cap-pressure", Word: "none"}, {Check: "freeze-point", Word: "strong"}}, []string{"replace-cap", "correct-mix"}},
		{"gas in the coolant", []lineup.Event{{Check: "combustion-gas", Word: "turned"}}, nil},
		{"a belt that was renewed since", []lineup.Event{{Check: "belt-look", Word: "slack"}, {Repair: "replace-belt", Changed: cause.Nothing}}, nil},
		{"a sound belt", []lineup.Event{{Check: "belt-look", Word: "firm"}}, nil},
	} {
		cs := lineup.Case{Events: test.events}
		car, err := plan.NewCar(m, st, plan.Workshop{}, all, cs)
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for _, x := range car.FoundBad(cs) {
			got = append(got, x.Repair.ID)
		}
		if len(got) != len(test.want) || len(got) > 0 && got[0] != test.want[0] || len(got) > 1 && got[1] != test.want[1] {
			t.Errorf("%s: %v, want %v", test.name, got, test.want)
		}
	}
}
