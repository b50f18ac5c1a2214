package trace

import (
	"slices"
	"testing"
)

// The first line that fits counts: in another order the later ones would never.
func TestTheStrangestStepsAndLengthsComeFirst(t *testing.T) {
	k := clocks()
	for name, list := range map[string][]scored{"closer": k.Closer, "shorter": k.Shorter} {
		if !slices.IsSortedFunc(list, func(a, b scored) int { return int(a.At*1e6 - b.At*1e6) }) {
			t.Errorf("%s must rise: %+v", name, list)
		}
	}
	for name, list := range map[string][]scored{"farther": k.Farther, "longer": k.Longer} {
		if !slices.IsSortedFunc(list, func(a, b scored) int { return int(b.At*1e6 - a.At*1e6) }) {
			t.Errorf("%s must fall: %+v", name, list)
		}
	}
	if near, far := scoreOf(k.Closer, 0.001, false), scoreOf(k.Farther, 30, true); near != -4 || far != -1 {
		t.Errorf("rows 1 ms and 30 s apart: %g and %g, want -4 and -1", near, far)
	}
}

func TestUnitsOfTimeAreOfTheirLength(t *testing.T) {
	for _, u := range clocks().Units {
		if u.Days {
			continue
		}
		if got, ok := unitOf(u.Unit); !ok || got.dim != dimTime || got.scale != u.Scale {
			t.Errorf("%s: %g s, and the table of units has %+v", u.Name, u.Scale, got)
		}
	}
}
